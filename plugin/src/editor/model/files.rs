//! Files for the chart: what is written to them and read from them, and what is said
//! about it. The panel's thread; `apply` and the region import it.

pub mod disk;

use self::disk::FileKind;
use crate::editor::model::outside::Outside;
use crate::editor::model::score;
use crate::engine::planned::PlannedChart;
use guidehand_exchange::import::{self, Imported};
use guidehand_exchange::midi;
use guidehand_exchange::musicxml::{self, Page};
use guidehand_exchange::practice::{self, Order};
use guidehand_theory::chart::{self, Chart, ChartError};
use guidehand_theory::pitch::NoteNames;
use std::io;
use std::path::{Path, PathBuf};

/// What a player asks for at the files.
#[derive(Clone, Debug, PartialEq)]
pub enum FilesAction {
    /// The path is edited.
    Path(String),
    /// The chart's performance is written.
    Write(FileKind),
    /// The chart of the file is read.
    Read,
    /// The chart is written out in all twelve keys.
    Practise(Order),
}

/// What is said about the last file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// In one sentence.
    pub words: String,
    /// It failed.
    pub failed: bool,
    /// What could not be read, one line each.
    pub lines: Vec<String>,
}

/// Reads and writes, and remembers what came of it.
#[derive(Debug, Default)]
pub struct Files {
    /// The path as typed.
    path: String,
    said: Option<Said>,
    /// A file that already exists. It is replaced if the player asks again.
    there: Option<PathBuf>,
    /// The seed of the next practice sheet in random order.
    seed: u64,
}

impl Files {
    /// The path as typed.
    #[must_use]
    pub fn path(&self) -> &str {
        &self.path
    }

    /// What is said about the last file.
    #[must_use]
    pub const fn said(&self) -> Option<&Said> {
        self.said.as_ref()
    }

    /// The seed of the next practice sheet in random order.
    #[must_use]
    pub const fn seed(&self) -> u64 {
        self.seed
    }

    /// Carries out what the player asked for. `text` is the chart's text, with its
    /// notes named so. Returns a chart that takes its place, with the English names of
    /// the notes.
    pub fn apply(
        &mut self,
        action: FilesAction,
        (text, names): (&str, NoteNames),
        outside: &dyn Outside,
    ) -> Option<String> {
        match action {
            FilesAction::Path(path) => {
                self.path = path;
                self.said = None;
                self.there = None;
                None
            }
            FilesAction::Write(kind) => {
                self.write(kind, text, outside);
                None
            }
            FilesAction::Read => self.read(),
            FilesAction::Practise(order) => {
                self.seed = self.seed.wrapping_add(1);
                self.practise(text, names, order)
            }
        }
    }

    fn say(&mut self, failed: bool, words: String) {
        self.said = Some(Said {
            words,
            failed,
            lines: Vec::new(),
        });
    }

    /// Writes the chart's performance. A file that already exists is replaced only if
    /// the player asks again.
    fn write(&mut self, kind: FileKind, text: &str, outside: &dyn Outside) {
        let Some(path) = disk::named(&self.path, kind) else {
            return self.say(true, "No file is named; expected a path above.".to_owned());
        };
        let bytes = match bytes(kind, text, outside) {
            Ok(bytes) => bytes,
            Err(errors) => return self.say(true, unreadable(&errors)),
        };
        let replaces = self.there.take().is_some_and(|there| there == path);
        let shown = path.display().to_string();
        match disk::write(&path, &bytes, replaces) {
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

    /// The chart of the file; none if there is none, and then it is said why.
    fn read(&mut self) -> Option<String> {
        let path = self.path.trim().to_owned();
        if path.is_empty() {
            self.say(true, "No file is named; expected a path above.".to_owned());
            return None;
        }
        let bytes = match disk::read(Path::new(&path)) {
            Ok(bytes) => bytes,
            Err(error) => {
                self.say(true, format!("{path} cannot be read: {error}."));
                return None;
            }
        };
        match import::import(&bytes) {
            Ok(imported) => {
                self.said = Some(told(&path, &imported));
                Some(imported.text)
            }
            Err(error) => {
                self.say(true, format!("{path} holds no chart: {error}."));
                None
            }
        }
    }

    /// The chart in all twelve keys, with the English names of the notes.
    fn practise(&mut self, text: &str, names: NoteNames, order: Order) -> Option<String> {
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

/// The bytes of a file of a kind.
fn bytes(kind: FileKind, text: &str, outside: &dyn Outside) -> Result<Vec<u8>, Vec<ChartError>> {
    let chart: Chart = chart::parse_with(text, outside.chart().names)?;
    let song = PlannedChart::plan(&chart, outside.plan_for(), 0);
    let score = score::score(
        chart,
        &song,
        &outside.settings(),
        f64::from(outside.song_bpm()),
    );
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
    use crate::editor::model::recorder::Recorder;
    use std::fs;

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
        let outside = Recorder::default();
        for (kind, name) in [(FileKind::Midi, "one"), (FileKind::MusicXml, "two.xml")] {
            let mut files = Files {
                path: folder.file(name),
                ..Files::default()
            };
            files.write(kind, CHART, &outside);
            let said = files.said().unwrap().clone();
            assert!(!said.failed, "{}", said.words);
            let written = disk::named(&folder.file(name), kind).unwrap();
            files.path = written.display().to_string();
            let text = files.read();
            assert_eq!(text.as_deref(), Some(CHART), "{:?}", files.said());
        }
    }

    #[test]
    fn a_file_that_is_there_is_replaced_when_asked_twice() {
        let folder = Folder::new("replaces");
        let path = folder.file("mine.mid");
        fs::write(&path, "something else").unwrap();
        let outside = Recorder::default();
        let mut files = Files {
            path: path.clone(),
            ..Files::default()
        };
        files.write(FileKind::Midi, CHART, &outside);
        assert!(files.said().unwrap().failed);
        assert_eq!(fs::read(&path).unwrap(), b"something else");
        files.write(FileKind::Midi, CHART, &outside);
        assert!(!files.said().unwrap().failed);
        assert!(fs::read(&path).unwrap().starts_with(b"MThd"));
    }

    #[test]
    fn what_cannot_be_read_is_said() {
        let folder = Folder::new("reads");
        let mut files = Files {
            path: " ".to_owned(),
            ..Files::default()
        };
        assert_eq!(files.read(), None);
        files.path = folder.file("none.mid");
        assert_eq!(files.read(), None);
        assert!(files.said().unwrap().words.contains("cannot be read"));
        let odd = folder.file("odd.mid");
        fs::write(&odd, [0, 1, 2, 3]).unwrap();
        files.path = odd;
        assert_eq!(files.read(), None);
        assert!(files.said().unwrap().failed);
        assert_eq!(
            files.practise("| H7 |", NoteNames::English, Order::Fourths),
            None
        );
        assert!(files.said().unwrap().words.contains("bar 1"));
    }
}
