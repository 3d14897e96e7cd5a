//! The files themselves: what is written to them and read from them, and what is
//! said about it. Imports `params`, `score` and `song`.

use crate::editor::model::score;
use crate::engine::planned::PlannedChart;
use crate::params::GuidehandParams;
use guidehand_exchange::import::{self, Imported, LARGEST_FILE};
use guidehand_exchange::midi;
use guidehand_exchange::musicxml::{self, Page};
use guidehand_exchange::practice::{self, Order};
use guidehand_theory::chart::{self, Chart, ChartError};
use guidehand_theory::pitch::NoteNames;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// What kind of file is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    /// Standard MIDI File, format 1.
    Midi,
    /// MusicXML 4.0.
    MusicXml,
}

impl FileKind {
    const fn ending(self) -> &'static str {
        match self {
            FileKind::Midi => "mid",
            FileKind::MusicXml => "musicxml",
        }
    }
}

/// What is said about the last file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// In one sentence.
    pub words: String,
    /// It has not come about.
    pub failed: bool,
    /// What could not be read, one line each.
    pub lines: Vec<String>,
}

/// Reads and writes, and remembers what came of it.
#[derive(Debug, Default)]
pub struct Shelf {
    said: Option<Said>,
    /// A file that is there already: asked for once more, it is replaced.
    there: Option<PathBuf>,
}

impl Shelf {
    /// What is said about the last file.
    #[must_use]
    pub const fn said(&self) -> Option<&Said> {
        self.said.as_ref()
    }

    /// Another path is typed.
    pub fn forget(&mut self) {
        *self = Shelf::default();
    }

    fn say(&mut self, failed: bool, words: String) {
        self.said = Some(Said {
            words,
            failed,
            lines: Vec::new(),
        });
    }

    /// Writes the chart's performance, at a tempo in quarter notes a minute. A
    /// file that is there is replaced only when asked for a second time.
    pub fn write(
        &mut self,
        kind: FileKind,
        path: &str,
        text: &str,
        params: &GuidehandParams,
        bpm: f32,
    ) {
        let Some(path) = named(path, kind) else {
            return self.say(true, "No file is named; expected a path above.".to_owned());
        };
        let bytes = match bytes(kind, text, params, bpm) {
            Ok(bytes) => bytes,
            Err(errors) => return self.say(true, unreadable(&errors)),
        };
        let replaces = self.there.take().is_some_and(|there| there == path);
        let shown = path.display().to_string();
        match put(&path, &bytes, replaces) {
            Ok(()) => self.say(false, format!("{shown} is written.")),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                self.there = Some(path);
                self.say(
                    true,
                    format!("{shown} is there already; press again to replace it."),
                );
            }
            Err(error) => self.say(true, format!("{shown} cannot be written: {error}.")),
        }
    }

    /// The chart in a file; none if there is none, and then it is said why.
    pub fn read(&mut self, path: &str) -> Option<String> {
        let path = path.trim();
        if path.is_empty() {
            self.say(true, "No file is named; expected a path above.".to_owned());
            return None;
        }
        let bytes = match take(Path::new(path)) {
            Ok(bytes) => bytes,
            Err(error) => {
                self.say(true, format!("{path} cannot be read: {error}."));
                return None;
            }
        };
        match import::import(&bytes) {
            Ok(imported) => {
                self.said = Some(told(path, &imported));
                Some(imported.text)
            }
            Err(error) => {
                self.say(true, format!("{path} holds no chart: {error}."));
                None
            }
        }
    }

    /// The chart in all twelve keys, with the English names of the notes.
    pub fn practise(&mut self, text: &str, names: NoteNames, order: Order) -> Option<String> {
        let english = chart::renamed(text, names, NoteNames::English);
        let read = chart::parse_with(text, names);
        match read.and_then(|_| practice::practice(&english, order)) {
            Ok(sheet) => {
                self.say(
                    false,
                    "The chart stands in all twelve keys; undo brings yours back.".to_owned(),
                );
                Some(sheet)
            }
            Err(errors) => {
                self.say(true, unreadable(&errors));
                None
            }
        }
    }
}

/// A path with the ending of its kind, if it has none.
fn named(path: &str, kind: FileKind) -> Option<PathBuf> {
    let path = PathBuf::from(path.trim());
    path.file_name()?;
    Some(match path.extension() {
        Some(_) => path,
        None => path.with_extension(kind.ending()),
    })
}

fn bytes(
    kind: FileKind,
    text: &str,
    params: &GuidehandParams,
    bpm: f32,
) -> Result<Vec<u8>, Vec<ChartError>> {
    let chart: Chart = chart::parse_with(text, params.chart.names())?;
    let song = PlannedChart::plan(&chart, params.plan_for(), 0);
    let score = score::score(chart, &song, &params.settings(), f64::from(bpm));
    Ok(match kind {
        FileKind::Midi => midi::write(&score),
        FileKind::MusicXml => {
            let page = Page {
                words: true,
                ..Page::default()
            };
            musicxml::write(&score, page).into_bytes()
        }
    })
}

fn unreadable(errors: &[ChartError]) -> String {
    let first = errors.first().map(ToString::to_string).unwrap_or_default();
    format!("The chart has errors; {first}.")
}

/// Writes a whole file or leaves the one that is there.
fn put(path: &Path, bytes: &[u8], replaces: bool) -> io::Result<()> {
    if !replaces {
        let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
        return file.write_all(bytes);
    }
    // A disk that is full must not cost what was there.
    let beside = path.with_extension("part");
    fs::write(&beside, bytes)?;
    fs::rename(&beside, path)
}

fn take(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let bound = u64::try_from(LARGEST_FILE).unwrap_or(u64::MAX);
    File::open(path)?.take(bound + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn told(path: &str, imported: &Imported) -> Said {
    let missed = imported.missed.len() + imported.missed_more;
    let words = match missed {
        0 => format!("{path} is read; undo brings your chart back."),
        1 => format!("{path} is read, but for one thing; undo brings your chart back."),
        _ => format!("{path} is read, but for {missed} things; undo brings your chart back."),
    };
    Said {
        words,
        failed: false,
        lines: imported.missed.iter().map(ToString::to_string).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bridge::chart::ChartCell;

    /// A folder of its own that goes with the test.
    struct Folder(PathBuf);

    impl Folder {
        fn new(name: &str) -> Folder {
            let folder =
                std::env::temp_dir().join(format!("guidehand-{name}-{}", std::process::id()));
            fs::create_dir_all(&folder).unwrap();
            Folder(folder)
        }

        fn file(&self, name: &str) -> String {
            self.0.join(name).display().to_string()
        }
    }

    impl Drop for Folder {
        fn drop(&mut self) {
            // What cannot be removed stays in the temporary folder.
            let _left = fs::remove_dir_all(&self.0);
        }
    }

    const CHART: &str = "| Dm7 | G7 | Cmaj7 | % |";

    #[test]
    fn what_is_written_reads_back() {
        let folder = Folder::new("writes");
        let (cell, _songs) = ChartCell::new();
        let params = GuidehandParams::new(cell);
        for (kind, name) in [(FileKind::Midi, "one"), (FileKind::MusicXml, "two.xml")] {
            let mut shelf = Shelf::default();
            shelf.write(kind, &folder.file(name), CHART, &params, 120.0);
            let said = shelf.said().unwrap().clone();
            assert!(!said.failed, "{}", said.words);
            let written = named(&folder.file(name), kind).unwrap();
            let text = shelf.read(&written.display().to_string());
            assert_eq!(text.as_deref(), Some(CHART), "{:?}", shelf.said());
        }
    }

    #[test]
    fn a_file_that_is_there_is_replaced_when_asked_twice() {
        let folder = Folder::new("replaces");
        let path = folder.file("mine.mid");
        fs::write(&path, "something else").unwrap();
        let (cell, _songs) = ChartCell::new();
        let params = GuidehandParams::new(cell);
        let mut shelf = Shelf::default();
        shelf.write(FileKind::Midi, &path, CHART, &params, 120.0);
        assert!(shelf.said().unwrap().failed);
        assert_eq!(fs::read(&path).unwrap(), b"something else");
        shelf.write(FileKind::Midi, &path, CHART, &params, 120.0);
        assert!(!shelf.said().unwrap().failed);
        assert!(fs::read(&path).unwrap().starts_with(b"MThd"));
    }

    #[test]
    fn what_cannot_be_read_is_said() {
        let folder = Folder::new("reads");
        let mut shelf = Shelf::default();
        assert_eq!(shelf.read(" "), None);
        assert_eq!(shelf.read(&folder.file("none.mid")), None);
        assert!(shelf.said().unwrap().words.contains("cannot be read"));
        let odd = folder.file("odd.mid");
        fs::write(&odd, [0, 1, 2, 3]).unwrap();
        assert_eq!(shelf.read(&odd), None);
        assert!(shelf.said().unwrap().failed);
        assert_eq!(
            shelf.practise("| H7 |", NoteNames::English, Order::Fourths),
            None
        );
        assert!(shelf.said().unwrap().words.contains("bar 1"));
    }
}
