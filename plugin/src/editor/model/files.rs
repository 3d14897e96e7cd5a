//! Files for the chart: what is asked for, what is under way, and what is said about it. Files
//! are read and written on threads of their own, one at a time for each panel. The panel's
//! thread; `apply`, `state` and the region import it.

pub mod kind;
mod picking;
mod work;

use self::kind::FileKind;
use self::picking::{Picking, Purpose};
use self::work::{Outcome, Performance, Which};
use crate::bridge::job::{self, Asked, Doing};
use crate::disk::dialog::{Answer, Desktop};
use crate::document::Document;
use crate::editor::model::outside::Outside;
use guidehand_exchange::import::{Imported, Line, Part};
use guidehand_exchange::kept::Kept;
use guidehand_exchange::own_voicings::OwnVoicings;
use guidehand_exchange::practice::{self, Order};
use guidehand_practice::Record;
use guidehand_theory::candidates::Register;
use guidehand_theory::melody::Melody;
use guidehand_theory::pitch::NoteNames;
use std::path::{self, Path, PathBuf};

/// What a player asks for at the files.
#[derive(Clone, Debug, PartialEq)]
pub enum FilesAction {
    /// The path is edited.
    Path(String),
    /// The chart's performance is written.
    Write(FileKind),
    /// The chart of the file is read.
    Read,
    /// The chart is read again, from the part of this name.
    ReadPart(String),
    /// The chart is read again, with the melody of this name.
    ReadLine(String),
    /// A file is picked, and its chart is read.
    Open,
    /// A file is picked, and the chart's performance is written to it.
    SaveAs(FileKind),
    /// The chart of this file is read.
    ReadFrom(PathBuf),
    /// Files are dropped on the panel: the chart of the first one is read.
    Drop(Vec<PathBuf>),
    /// The files that were used last are forgotten.
    Forget,
    /// The voicings of the file come to the player's own.
    ReadVoicings,
    /// The sessions of the file come to the player's record of practice.
    ReadRecord,
    /// A file is picked, and its sessions come to the record.
    OpenRecord,
    /// What is under way is no longer wanted.
    Cancel,
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
    /// What was done, and what could not be read, one line each.
    pub lines: Vec<String>,
}

/// A chart that takes the place of the one in hand.
#[derive(Clone, Debug, PartialEq)]
pub struct NewChart {
    /// Its text, with the English names of the notes.
    pub text: String,
    /// Its text as it was typed, and what was picked for its chords, where that is known.
    pub kept: Option<Kept>,
    /// The melody over it, one without notes if it has none. None if the melody in hand stays.
    pub melody: Option<Melody>,
}

/// What has come from a file and is to be taken over.
#[derive(Clone, Debug, PartialEq)]
pub enum Came {
    /// A chart.
    Chart(NewChart),
    /// Voicings, and the path of their file in words.
    Voicings(String, OwnVoicings),
    /// A record of practice, and the path of its file in words.
    Record(String, Record),
}

/// What is done with a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Verb {
    Read,
    Write(FileKind),
}

/// A file that is being read or written.
#[derive(Debug)]
struct UnderWay {
    verb: Verb,
    path: PathBuf,
    asked: Asked<Outcome>,
}

/// Asks for files, and remembers what came of it.
#[derive(Debug, Default)]
pub struct Files {
    /// The path as typed.
    path: String,
    /// The path that was picked, for one may hold bytes that are no text. Typing ends it.
    picked: Option<PathBuf>,
    said: Option<Said>,
    /// So many files were dropped at once, of which this is the first.
    dropped: usize,
    /// A file that already exists. It is replaced if the player asks again.
    there: Option<PathBuf>,
    /// The parts of the score that was read last from this path, if there are several with chords.
    parts: Vec<Part>,
    /// The lines of that file that can be its melody.
    lines: Vec<Line>,
    /// The seed of the next practice sheet in random order.
    seed: u64,
    under_way: Option<UnderWay>,
    picking: Option<Picking>,
    desktop: Desktop,
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

    /// The other parts of the score that was read last, each of which can be read instead.
    pub fn other_parts(&self) -> impl Iterator<Item = &str> {
        let others = self.parts.iter().filter(|part| !part.is_taken);
        others.map(|part| part.name.as_str())
    }

    /// The other lines of the file that was read last, each of which can be its melody instead.
    pub fn other_lines(&self) -> impl Iterator<Item = &str> {
        let others = self.lines.iter().filter(|line| !line.is_taken);
        others.map(|line| line.name.as_str())
    }

    /// The seed of the next practice sheet in random order.
    #[must_use]
    pub const fn seed(&self) -> u64 {
        self.seed
    }

    /// Who is asked for a file, in the desktop's place.
    #[cfg(test)]
    pub fn set_desktop(&mut self, desktop: Desktop) {
        self.desktop = desktop;
    }

    /// The path in use.
    fn target(&self) -> PathBuf {
        let typed = || PathBuf::from(self.path.trim());
        self.picked.clone().unwrap_or_else(typed)
    }

    /// What is being done with which file, in a few words.
    #[must_use]
    pub fn under_way(&self) -> Option<String> {
        let Some(UnderWay { verb, path, .. }) = &self.under_way else {
            let picking = self.picking.as_ref();
            return picking.map(|_| "Waiting for the file dialog ...".to_owned());
        };
        let verb = match verb {
            Verb::Read => "Reading",
            Verb::Write(_) => "Writing",
        };
        let name = path.file_name().unwrap_or(path.as_os_str());
        Some(format!("{verb} {} ...", name.display()))
    }

    /// Whether there is a result that has not been taken over yet.
    #[must_use]
    pub fn has_result(&self) -> bool {
        let under_way = self.under_way.as_ref();
        under_way.is_some_and(|under_way| under_way.asked.has_ended())
            || self.picking.as_ref().is_some_and(Picking::is_answered)
    }

    /// Takes over the answer of a dialog. Once a frame. Returns what the player asked for by it.
    pub fn answered(&mut self) -> Option<FilesAction> {
        let picking = self.picking.take_if(|picking| picking.is_answered())?;
        match picking.take() {
            (purpose, Some(Answer::Path(path))) => {
                self.pick(path);
                return Some(match purpose {
                    Purpose::Import => FilesAction::Read,
                    Purpose::ImportRecord => FilesAction::ReadRecord,
                    Purpose::Export(kind) => FilesAction::Write(kind),
                });
            }
            (_, Some(Answer::Nothing)) => self.say(false, "No file was picked.".to_owned()),
            (_, Some(Answer::NoDialog(missing))) => {
                let words = format!("No file dialog: {missing}. Type a path instead.");
                self.say(true, words);
            }
            (_, None) => {
                let words = "No file dialog: something went wrong inside Guidehand.";
                self.say(true, words.to_owned());
            }
        }
        None
    }

    /// Takes over what has come of a file. Once a frame. Returns what becomes part of the document.
    pub fn refresh(&mut self, outside: &mut dyn Outside) -> Option<Came> {
        let ended = |under_way: &mut UnderWay| under_way.asked.has_ended();
        let UnderWay { verb, path, asked } = self.under_way.take_if(ended)?;
        let shown = path.display().to_string();
        let outcome = asked.take();
        let has_chart = match outcome {
            Some(Outcome::Read(..)) => true,
            Some(Outcome::Written) => {
                !matches!(verb, Verb::Write(FileKind::Voicings | FileKind::Record))
            }
            _ => false,
        };
        if has_chart {
            remember(&path, outside);
        }
        match outcome {
            Some(Outcome::Read(imported, lines)) => {
                let mut said = told(&shown, &imported);
                if self.dropped > 1 {
                    let count = self.dropped;
                    let words = format!("It is the first of {count} files that were dropped.");
                    said.lines.insert(0, words);
                }
                self.said = Some(said);
                self.parts = imported.parts;
                self.lines = lines;
                let melody = imported.melody.map(|found| found.melody);
                return Some(Came::Chart(NewChart {
                    text: imported.text,
                    kept: imported.kept,
                    melody: Some(melody.unwrap_or_default()),
                }));
            }
            Some(Outcome::Voicings(voicings)) => return Some(Came::Voicings(shown, voicings)),
            Some(Outcome::Record(record)) => return Some(Came::Record(shown, record)),
            Some(Outcome::Written) => self.say(false, format!("{shown} is written.")),
            Some(Outcome::IsThere) => {
                let button = match verb {
                    Verb::Write(kind) => kind.button(),
                    Verb::Read => "again",
                };
                let words = format!("{shown} is there already; press {button} to replace it.");
                self.there = Some(path);
                self.say(true, words);
            }
            Some(Outcome::Failed(words)) => self.say(true, words),
            None => {
                let done = match verb {
                    Verb::Read => "read",
                    Verb::Write(_) => "written",
                };
                let words =
                    format!("{shown} cannot be {done}: something went wrong inside Guidehand.");
                self.say(true, words);
            }
        }
        None
    }

    /// Carries out what the player asked for. The document has its notes named so. Returns a chart
    /// that takes its place.
    pub fn apply(
        &mut self,
        action: FilesAction,
        (document, names): (&Document, NoteNames),
        outside: &mut dyn Outside,
    ) -> Option<NewChart> {
        match action {
            FilesAction::Path(path) => self.set_path(path, None),
            FilesAction::Write(_)
            | FilesAction::Read
            | FilesAction::ReadPart(_)
            | FilesAction::ReadLine(_)
            | FilesAction::ReadFrom(_)
            | FilesAction::Drop(_)
            | FilesAction::ReadVoicings
            | FilesAction::ReadRecord
                if self.under_way.is_some() =>
            {
                let words = "Another file is under way; cancel it before you ask for this one.";
                self.say(true, words.to_owned());
            }
            FilesAction::Open => self.ask(Purpose::Import, outside),
            FilesAction::OpenRecord => self.ask(Purpose::ImportRecord, outside),
            FilesAction::SaveAs(kind) => self.ask(Purpose::Export(kind), outside),
            FilesAction::ReadFrom(path) => {
                self.pick(path);
                self.read(Which::default(), outside);
            }
            FilesAction::Drop(paths) => {
                let count = paths.len();
                if let Some(path) = paths.into_iter().next() {
                    self.pick(path);
                    self.dropped = count;
                    self.read(Which::default(), outside);
                }
            }
            FilesAction::Forget => outside.set_recent_files(Vec::new()),
            FilesAction::Write(kind) => self.write(kind, (document, names), outside),
            FilesAction::Read => self.read(Which::default(), outside),
            FilesAction::ReadPart(name) => {
                let part = Some(name);
                let line = None;
                self.read(Which { part, line }, outside);
            }
            FilesAction::ReadLine(name) => {
                let part = self.parts.iter().find(|part| part.is_taken);
                let part = part.map(|part| part.name.clone());
                let line = Some(name);
                self.read(Which { part, line }, outside);
            }
            FilesAction::ReadVoicings => {
                let read = |path: &Path, doing: &Doing<Outcome>| work::read_voicings(path, doing);
                self.read_by(read, outside);
            }
            FilesAction::ReadRecord => {
                let read = |path: &Path, doing: &Doing<Outcome>| work::read_record(path, doing);
                self.read_by(read, outside);
            }
            FilesAction::Cancel => self.cancel(),
            FilesAction::Practise(order) => {
                self.seed = self.seed.wrapping_add(1);
                let register = outside.plan_for().register;
                return self.practise(&document.kept(names), order, &register);
            }
        }
        None
    }

    /// Takes another path, with its bytes if it was picked.
    fn set_path(&mut self, path: String, picked: Option<PathBuf>) {
        self.path = path;
        self.picked = picked;
        self.said = None;
        self.dropped = 0;
        self.there = None;
        self.parts.clear();
        self.lines.clear();
    }

    /// Takes a path that was picked.
    fn pick(&mut self, path: PathBuf) {
        // A file that is picked twice to be replaced is still the same.
        let there = self.there.take_if(|there| *there == path);
        self.set_path(path.display().to_string(), Some(path));
        self.there = there;
    }

    /// Opens a dialog, unless one is open.
    fn ask(&mut self, purpose: Purpose, outside: &mut dyn Outside) {
        if self.picking.is_some() {
            let words = "A file dialog is open already; answer it or cancel it first.";
            return self.say(true, words.to_owned());
        }
        let recent = outside.recent_files();
        let near = match (self.target(), recent.first()) {
            (path, Some(recent)) if path.as_os_str().is_empty() => PathBuf::from(recent),
            (path, _) => path,
        };
        match Picking::begin(purpose, &near, &self.desktop, outside) {
            Ok(picking) => {
                self.said = None;
                self.picking = Some(picking);
            }
            Err(error) => self.say(true, format!("Nothing is done: {error}.")),
        }
    }

    /// Something is said about what has come.
    pub fn tell(&mut self, said: Said) {
        self.said = Some(said);
    }

    fn say(&mut self, failed: bool, words: String) {
        self.said = Some(Said {
            words,
            failed,
            lines: Vec::new(),
        });
    }

    /// Begins to write the chart's performance. A file that already exists is replaced only if
    /// the player asks again.
    fn write(
        &mut self,
        kind: FileKind,
        (document, names): (&Document, NoteNames),
        outside: &mut dyn Outside,
    ) {
        let Some(path) = kind::named(&self.target(), kind) else {
            return self.say(true, NO_NAME.to_owned());
        };
        let performance = Performance {
            kind,
            document: document.clone(),
            names,
            record: outside.practice().record,
            plan_for: outside.plan_for(),
            settings: outside.settings(),
            bpm: f64::from(outside.song_bpm()),
        };
        let replaces = self.there.take().is_some_and(|there| there == path);
        let to = path.clone();
        let work = move |doing: &Doing<Outcome>| work::write(performance, &to, replaces, doing);
        self.begin(Verb::Write(kind), path, work, outside);
    }

    /// Begins to read the chart of the file with its melody.
    fn read(&mut self, which: Which, outside: &mut dyn Outside) {
        let read = move |path: &Path, doing: &Doing<Outcome>| work::read(path, &which, doing);
        self.read_by(read, outside);
    }

    /// Begins to read the file in this way.
    fn read_by(
        &mut self,
        read: impl FnOnce(&Path, &Doing<Outcome>) -> Outcome + Send + 'static,
        outside: &mut dyn Outside,
    ) {
        let path = self.target();
        if path.as_os_str().is_empty() {
            return self.say(true, NO_NAME.to_owned());
        }
        let from = path.clone();
        let work = move |doing: &Doing<Outcome>| read(&from, doing);
        self.begin(Verb::Read, path, work, outside);
    }

    /// Begins a job.
    fn begin(
        &mut self,
        verb: Verb,
        path: PathBuf,
        work: impl FnOnce(&Doing<Outcome>) -> Outcome + Send + 'static,
        outside: &mut dyn Outside,
    ) {
        let (asked, doing) = job::channel();
        let job = Box::new(move || {
            let outcome = work(&doing);
            doing.end(outcome);
        });
        match outside.begin(job) {
            Ok(()) => {
                self.said = None;
                self.under_way = Some(UnderWay { verb, path, asked });
            }
            Err(error) => self.say(true, format!("Nothing is done: {error}.")),
        }
    }

    /// Waits no longer for what is under way.
    fn cancel(&mut self) {
        let Some(UnderWay { verb, path, asked }) = self.under_way.take() else {
            if self.picking.take().is_some() {
                let words = "Cancelled: what is picked in the dialog no longer counts.";
                self.say(false, words.to_owned());
            }
            return;
        };
        let shown = path.display();
        let in_time = asked.cancel();
        match verb {
            Verb::Read => self.say(false, format!("Cancelled: {shown} is not read.")),
            Verb::Write(_) if in_time => {
                self.say(false, format!("Cancelled: {shown} is not written."))
            }
            Verb::Write(_) => {
                let words = format!("It was too late to cancel; {shown} may be written.");
                self.say(true, words);
            }
        }
    }

    /// The chart in all twelve keys, with what was picked for its chords in each of them.
    fn practise(&mut self, kept: &Kept, order: Order, register: &Register) -> Option<NewChart> {
        let read = kept.read();
        match read.and_then(|_| practice::with_kept(kept, order, register)) {
            Ok((sheet, lines)) => {
                self.said = Some(Said {
                    words: "The chart stands in all twelve keys; undo brings yours back."
                        .to_owned(),
                    failed: false,
                    lines,
                });
                Some(NewChart {
                    text: sheet.chart.clone(),
                    kept: Some(sheet),
                    melody: None,
                })
            }
            Err(errors) => {
                self.say(true, work::unreadable(&errors));
                None
            }
        }
    }
}

/// What is said where no path is typed.
const NO_NAME: &str = "Enter a file path above.";

/// Puts a file first among those that were used last. The folder of the host may be another one
/// next time, so its whole path is kept. One that is no text cannot be.
fn remember(path: &Path, outside: &mut dyn Outside) {
    let path = path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let Some(path) = path.to_str() else { return };
    let mut recent = outside.recent_files();
    recent.retain(|other| other != path);
    recent.insert(0, path.to_owned());
    outside.set_recent_files(recent);
}

fn told(path: &str, imported: &Imported) -> Said {
    let missed = imported.missed.len() + imported.missed_more;
    let words = match missed {
        0 => format!("{path} is read; undo brings your chart back."),
        1 => format!("{path} is read, but for one thing; undo brings your chart back."),
        _ => format!("{path} is read, but for {missed} things; undo brings your chart back."),
    };
    let lost = imported.missed.iter().map(ToString::to_string);
    let melody = imported.melody.as_ref();
    let melody = melody.map(|found| match found.melody.notes().len() {
        1 => "Its melody has 1 note.".to_owned(),
        notes => format!("Its melody has {notes} notes."),
    });
    Said {
        words,
        failed: false,
        lines: melody
            .into_iter()
            .chain(imported.remarks.iter().cloned())
            .chain(lost)
            .collect(),
    }
}

#[cfg(test)]
mod tests;
