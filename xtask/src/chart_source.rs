//! Where the chart of a command line comes from: the line itself, a file, or the standard input. It
//! imports `command`; `comp`, `import`, `judge`, `melody_source` and `practice` import it.

use std::ffi::OsString;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use guidehand_exchange::import::{self, Imported, LARGEST_FILE, Wanted, Wish};
use guidehand_exchange::kept::Kept;
use guidehand_theory::pitch::NoteNames;
use lexopt::{Parser, ValueExt};

use crate::command::{self, Misunderstood};

/// The most bytes of a chart.
const MOST_BYTES: u64 = 16 * 1024 * 1024;

/// Where a chart comes from.
#[derive(Debug, PartialEq, Eq)]
pub enum ChartSource {
    /// The command line.
    Text(String),
    /// A file.
    File(PathBuf),
    /// The standard input.
    Input,
}

impl ChartSource {
    /// Takes an argument for the chart, if there is none yet; `-` is the standard input.
    pub fn argument(found: &mut Option<Self>, text: OsString) -> Result<(), lexopt::Error> {
        let text = text.string()?;
        let source = if text == "-" {
            ChartSource::Input
        } else {
            ChartSource::Text(text.clone())
        };
        set(found, source, &text)
    }

    /// Takes the value of `--file` for the chart, if there is none yet; `-` is the standard input.
    pub fn option(found: &mut Option<Self>, parser: &mut Parser) -> Result<(), lexopt::Error> {
        let path = command::file(parser)?;
        let name = format!("--file {}", path.display());
        let source = if path.as_os_str() == "-" {
            ChartSource::Input
        } else {
            ChartSource::File(path)
        };
        set(found, source, &name)
    }

    /// The chart, with what was picked for its chords where a score tells of it. Of a file that is
    /// no text the chart is read as `import` reads it, and what is to be said of that is returned,
    /// a line each.
    pub fn kept(&self) -> Result<(Kept, Vec<String>)> {
        self.kept_with(Wanted::No)
    }

    /// The same, of a file whose melody is wanted.
    pub fn kept_with(&self, melody: Wanted) -> Result<(Kept, Vec<String>)> {
        match self {
            ChartSource::Text(text) => Ok((Kept::of(text), Vec::new())),
            ChartSource::File(path) => {
                let name = path.display().to_string();
                let file = File::open(path).with_context(|| format!("cannot read {name}"))?;
                kept_in(file, &name, melody)
            }
            ChartSource::Input => kept_in(io::stdin(), "the standard input", melody),
        }
    }
}

fn set(
    found: &mut Option<ChartSource>,
    source: ChartSource,
    name: &str,
) -> Result<(), lexopt::Error> {
    if found.is_some() {
        let expected = "expected one, in quotes, as - or as --file FILE";
        return Err(format!("there is a second chart, {name:?}; {expected}").into());
    }
    *found = Some(source);
    Ok(())
}

fn kept_in(source: impl Read, name: &str, melody: Wanted) -> Result<(Kept, Vec<String>)> {
    let mut bytes = Vec::new();
    source
        .take(MOST_BYTES + 1)
        .read_to_end(&mut bytes)
        .with_context(|| format!("cannot read {name}"))?;
    if u64::try_from(bytes.len()).is_ok_and(|length| length > MOST_BYTES) {
        let error = format!("{name}: expected a chart, found more than {MOST_BYTES} bytes");
        return Err(Misunderstood(error).into());
    }
    if is_score(&bytes) {
        let part = None;
        let imported = import::read(&bytes, Wish { part, melody });
        let imported = imported.map_err(|error| Misunderstood(format!("{name}: {error}")))?;
        let lines = said(&imported);
        let kept = imported.kept.unwrap_or_default();
        let kept = Kept {
            chart: imported.text,
            names: NoteNames::English,
            ..kept
        };
        return Ok((kept, lines));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        Misunderstood(format!(
            "{name}: expected a text in UTF-8, found other bytes from byte {at} on"
        ))
    })?;
    // Editors on Windows put a mark before the text.
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    Ok((Kept::of(text), Vec::new()))
}

/// Whether a file is a score by its first bytes: MusicXML, packed or not, or a MIDI file.
fn is_score(bytes: &[u8]) -> bool {
    let text = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    let starts = |with: &str| bytes.starts_with(with.as_bytes());
    starts("MThd") || starts("RIFF") || starts("PK") || text.trim_ascii_start().starts_with(b"<")
}

/// What was done with a file that was read and what is missed, a line each.
pub fn said(imported: &Imported) -> Vec<String> {
    let missed = imported.missed.iter().map(ToString::to_string);
    let mut lines: Vec<String> = imported.remarks.iter().cloned().chain(missed).collect();
    if imported.missed_more > 0 {
        lines.push(format!("and {} things more", imported.missed_more));
    }
    lines
}

/// The bytes of a file, or of the standard input for `-`. No more of them than can be read.
pub fn file_bytes(path: &Path) -> io::Result<Vec<u8>> {
    let most = u64::try_from(LARGEST_FILE).unwrap_or(u64::MAX);
    let mut bytes = Vec::new();
    let source: &mut dyn Read = if path == Path::new("-") {
        &mut io::stdin()
    } else {
        &mut File::open(path)?
    };
    source.take(most + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_exchange::musicxml::{self, Page};
    use guidehand_exchange::score::Score;
    use guidehand_theory::candidates::Register;
    use guidehand_theory::shape::Texture;

    fn read(bytes: &[u8]) -> Result<(Kept, Vec<String>)> {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("chart");
        std::fs::write(&path, bytes)?;
        ChartSource::File(path).kept()
    }

    #[test]
    fn a_text_is_read_as_it_is() {
        let (kept, said) = read("\u{feff}| C6 |\n".as_bytes()).unwrap();
        assert_eq!((kept, said.len()), (Kept::of("| C6 |\n"), 0));
        let error = read(b"| C6 |\xff").unwrap_err();
        assert!(error.is::<Misunderstood>());
    }

    #[test]
    fn a_page_brings_what_was_picked() {
        let pin = serde_json::json!({"chord": 1, "symbol": "G7", "notes": [53, 57, 59, 64]});
        let kept = Kept {
            pins: vec![serde_json::from_value(pin).unwrap()],
            ..Kept::of("|  Dm7|G7|")
        };
        let setting = (Texture::FourNotes, Register::DEFAULT);
        let score = Score::planned_around(kept.read().unwrap(), 120.0, None, setting, Some(&kept));
        let page = musicxml::write(&score, Page::default());
        let (again, said) = read(page.as_bytes()).unwrap();
        assert_eq!(again, kept);
        assert!(
            said.iter().any(|line| line.contains("1 pinned voicing")),
            "{said:?}"
        );
        let error = read(b"<html>").unwrap_err();
        assert!(error.is::<Misunderstood>());
    }
}
