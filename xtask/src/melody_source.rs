//! The melody of a command line: `--melody NOTES`, `--melody-from FILE` and what goes with them. It
//! imports `chart_source` and `command`; `comp` imports it.

use std::path::PathBuf;

use anyhow::{Context, Result};
use guidehand_exchange::import::{self, ImportError, Wanted};
use guidehand_exchange::kept::Kept;
use guidehand_report::request::{MelodyErrors, Request};
use guidehand_theory::melody;
use lexopt::{Parser, ValueExt};

use crate::chart_source::{self, ChartSource, file_bytes};
use crate::command::{self, Misunderstood};

/// Where a melody comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MelodySource {
    /// The command line.
    Text(String),
    /// A file, and the name of a line in it.
    File {
        /// The file.
        path: PathBuf,
        /// The name of the line that is the melody.
        part: Option<String>,
    },
}

/// What a command line says of a melody, option by option.
#[derive(Debug, Default)]
pub struct MelodyAsked {
    source: Option<MelodySource>,
    part: Option<String>,
    /// An option that makes no sense without a melody.
    needed_by: Option<&'static str>,
}

impl MelodyAsked {
    /// Takes the value of `--melody`.
    pub fn text(&mut self, parser: &mut Parser) -> Result<(), lexopt::Error> {
        let text = parser.value()?.string()?;
        self.set(MelodySource::Text(text))
    }

    /// Takes the value of `--melody-from`.
    pub fn file(&mut self, parser: &mut Parser) -> Result<(), lexopt::Error> {
        let path = command::file(parser)?;
        self.set(MelodySource::File { path, part: None })
    }

    fn set(&mut self, source: MelodySource) -> Result<(), lexopt::Error> {
        match self.source.replace(source) {
            None => Ok(()),
            Some(_) => {
                Err("there is a second melody; expected one --melody or --melody-from".into())
            }
        }
    }

    /// Takes the value of `--melody-part`.
    pub fn part(&mut self, parser: &mut Parser) -> Result<(), lexopt::Error> {
        self.part = Some(parser.value()?.string()?);
        Ok(())
    }

    /// Remembers that an option needs a melody.
    pub fn needs(&mut self, option: &'static str) {
        self.needed_by.get_or_insert(option);
    }

    /// Takes the value of an option that needs a melody.
    pub fn with<T>(
        &mut self,
        parser: &mut Parser,
        option: &'static str,
        read: fn(&str) -> Result<T, String>,
    ) -> Result<T, lexopt::Error> {
        self.needs(option);
        parser.value()?.parse_with(read)
    }

    /// What was asked for.
    pub fn finish(self) -> Result<Option<MelodySource>, lexopt::Error> {
        match (self.source, self.part) {
            (Some(MelodySource::File { path, .. }), part) => {
                Ok(Some(MelodySource::File { path, part }))
            }
            (_, Some(_)) => Err("--melody-part NAME goes with --melody-from FILE".into()),
            (None, None) if self.needed_by.is_some() => {
                let option = self.needed_by.unwrap_or_default();
                Err(format!("{option} needs --melody NOTES or --melody-from FILE").into())
            }
            (source, None) => Ok(source),
        }
    }
}

impl MelodySource {
    /// Whether the chart comes from the same file.
    pub fn is_also(&self, chart: &ChartSource) -> bool {
        match (self, chart) {
            (MelodySource::File { path, .. }, ChartSource::File(other)) => path == other,
            _ => false,
        }
    }

    /// The chart of the same file, read as [`ChartSource::kept`] reads it. A pickup in which the
    /// melody sings alone is a part of it.
    pub fn chart(&self, chart: &ChartSource) -> Result<(Kept, Vec<String>)> {
        chart.kept_with(Wanted::of(self.part()))
    }

    fn part(&self) -> Option<&str> {
        match self {
            MelodySource::Text(_) => None,
            MelodySource::File { part, .. } => part.as_deref(),
        }
    }

    /// Puts the melody over the chart of a request. Returns what is to be said of its file, a line
    /// each. A chart that cannot be read has no melody, and is told of elsewhere.
    pub fn put(&self, request: &mut Request) -> Result<Vec<String>> {
        let Ok(chart) = request.read() else {
            return Ok(Vec::new());
        };
        let unreadable = |text: &str, errors| {
            let errors = MelodyErrors::new(text, errors);
            Misunderstood(format!("the melody cannot be read\n{errors}"))
        };
        let (melody, lines) = match self {
            MelodySource::Text(text) => {
                let melody = melody::parse(text, &chart);
                (
                    melody.map_err(|errors| unreadable(text, errors))?,
                    Vec::new(),
                )
            }
            MelodySource::File { path, part } => {
                let name = path.display();
                let bytes = file_bytes(path).with_context(|| format!("cannot read {name}"))?;
                let imported = import::melody(&bytes, part.as_deref(), &chart);
                let mut imported = imported.map_err(|error| match error {
                    ImportError::Melody(errors) => {
                        unreadable(&String::from_utf8_lossy(&bytes), errors)
                    }
                    error => Misunderstood(format!("{name}: {error}")),
                })?;
                let found = imported.melody.take().unwrap_or_default();
                (found.melody, chart_source::said(&imported))
            }
        };
        request.melody = Some(melody);
        Ok(lines)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_exchange::midi;
    use guidehand_exchange::score::Score;
    use guidehand_theory::chart;
    use guidehand_theory::pipeline;

    /// A melody from a file goes over the chart of a request, and its text says where it is wrong.
    #[test]
    fn a_melody_goes_over_the_chart() {
        let chart = chart::parse("| Dm7 | G7 |").unwrap();
        let text = "| F5/2 D5 | B4/1 |";
        let melody = melody::parse(text, &chart).unwrap();
        let mut score = Score::of(chart.clone(), 120.0);
        score.put_melody(&melody, &pipeline::place(&chart, None));
        let folder = tempfile::tempdir().unwrap();
        let put = |bytes: &[u8]| {
            let path = folder.path().join("melody");
            std::fs::write(&path, bytes).unwrap();
            let source = MelodySource::File { path, part: None };
            let mut request = Request::new("| Dm7 | G7 |");
            let said = source.put(&mut request)?;
            Ok::<_, anyhow::Error>((request.melody.unwrap().text(&chart), said))
        };
        let (back, said) = put(&midi::write(&score)).unwrap();
        assert_eq!(back, text);
        assert_eq!(
            said,
            ["A chart holds chords and the form; passed over: the tempo."]
        );
        assert_eq!(put(text.as_bytes()).unwrap().0, text);
        let error = put(b"| F5/2 H5/2 |").unwrap_err();
        assert!(error.is::<Misunderstood>());
        let error = error.to_string();
        assert!(error.contains("bar 1") && error.contains("^^"), "{error}");
    }
}
