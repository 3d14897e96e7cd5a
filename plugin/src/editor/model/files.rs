//! Files for the chart: what is asked for, what is under way, and what is said about it. Files
//! are read and written on threads of their own, one at a time for each panel. The panel's
//! thread; `apply`, `state` and the region import it.

pub mod kind;
mod work;

use self::kind::FileKind;
use self::work::{Outcome, Performance};
use crate::bridge::job::{self, Asked, Doing};
use crate::document::Document;
use crate::editor::model::outside::Outside;
use guidehand_exchange::import::{Imported, Part};
use guidehand_exchange::kept::Kept;
use guidehand_exchange::own_voicings::OwnVoicings;
use guidehand_exchange::practice::{self, Order};
use guidehand_theory::candidates::Register;
use guidehand_theory::pitch::NoteNames;
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
    /// The chart is read again, from the part of this name.
    ReadPart(String),
    /// The voicings of the file come to the player's own.
    ReadVoicings,
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
}

/// What has come from a file and is to be taken over.
#[derive(Clone, Debug, PartialEq)]
pub enum Came {
    /// A chart.
    Chart(NewChart),
    /// Voicings, and the path of their file in words.
    Voicings(String, OwnVoicings),
}

/// What is done with a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Verb {
    Read,
    Write,
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
    said: Option<Said>,
    /// A file that already exists. It is replaced if the player asks again.
    there: Option<PathBuf>,
    /// The parts of the score that was read last from this path, if there are several with chords.
    parts: Vec<Part>,
    /// The seed of the next practice sheet in random order.
    seed: u64,
    under_way: Option<UnderWay>,
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

    /// The seed of the next practice sheet in random order.
    #[must_use]
    pub const fn seed(&self) -> u64 {
        self.seed
    }

    /// What is being done with which file, in a few words.
    #[must_use]
    pub fn under_way(&self) -> Option<String> {
        let UnderWay { verb, path, .. } = self.under_way.as_ref()?;
        let verb = match verb {
            Verb::Read => "Reading",
            Verb::Write => "Writing",
        };
        let name = path.file_name().unwrap_or(path.as_os_str());
        Some(format!("{verb} {} ...", name.display()))
    }

    /// Whether there is a result that has not been taken over yet.
    #[must_use]
    pub fn has_result(&self) -> bool {
        let under_way = self.under_way.as_ref();
        under_way.is_some_and(|under_way| under_way.asked.has_ended())
    }

    /// Takes over what has come of a file. Once a frame. Returns what becomes part of the document.
    pub fn refresh(&mut self) -> Option<Came> {
        let ended = |under_way: &mut UnderWay| under_way.asked.has_ended();
        let UnderWay { verb, path, asked } = self.under_way.take_if(ended)?;
        let shown = path.display().to_string();
        match asked.take() {
            Some(Outcome::Read(imported)) => {
                self.said = Some(told(&shown, &imported));
                self.parts = imported.parts;
                return Some(Came::Chart(NewChart {
                    text: imported.text,
                    kept: imported.kept,
                }));
            }
            Some(Outcome::Voicings(voicings)) => return Some(Came::Voicings(shown, voicings)),
            Some(Outcome::Written) => self.say(false, format!("{shown} is written.")),
            Some(Outcome::IsThere) => {
                let words = format!("{shown} is there already; press again to replace it.");
                self.there = Some(path);
                self.say(true, words);
            }
            Some(Outcome::Failed(words)) => self.say(true, words),
            None => {
                let done = match verb {
                    Verb::Read => "read",
                    Verb::Write => "written",
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
            FilesAction::Path(path) => {
                self.path = path;
                self.said = None;
                self.there = None;
                self.parts.clear();
            }
            FilesAction::Write(_)
            | FilesAction::Read
            | FilesAction::ReadPart(_)
            | FilesAction::ReadVoicings
                if self.under_way.is_some() =>
            {
                let words = "Another file is under way; cancel it before you ask for this one.";
                self.say(true, words.to_owned());
            }
            FilesAction::Write(kind) => self.write(kind, (document, names), outside),
            FilesAction::Read => self.read(None, outside),
            FilesAction::ReadPart(name) => self.read(Some(name), outside),
            FilesAction::ReadVoicings => {
                let read = |path: &Path, doing: &Doing<Outcome>| work::read_voicings(path, doing);
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
        let Some(path) = kind::named(&self.path, kind) else {
            return self.say(true, NO_NAME.to_owned());
        };
        let performance = Performance {
            kind,
            document: document.clone(),
            names,
            plan_for: outside.plan_for(),
            settings: outside.settings(),
            bpm: f64::from(outside.song_bpm()),
        };
        let replaces = self.there.take().is_some_and(|there| there == path);
        let to = path.clone();
        let work = move |doing: &Doing<Outcome>| work::write(performance, &to, replaces, doing);
        self.begin(Verb::Write, path, work, outside);
    }

    /// Begins to read the chart of the file, from the part of this name if one is given.
    fn read(&mut self, part: Option<String>, outside: &mut dyn Outside) {
        let read =
            move |path: &Path, doing: &Doing<Outcome>| work::read(path, part.as_deref(), doing);
        self.read_by(read, outside);
    }

    /// Begins to read the file in this way.
    fn read_by(
        &mut self,
        read: impl FnOnce(&Path, &Doing<Outcome>) -> Outcome + Send + 'static,
        outside: &mut dyn Outside,
    ) {
        let path = PathBuf::from(self.path.trim());
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
            return;
        };
        let shown = path.display();
        let in_time = asked.cancel();
        match verb {
            Verb::Read => self.say(false, format!("Cancelled: {shown} is not read.")),
            Verb::Write if in_time => {
                self.say(false, format!("Cancelled: {shown} is not written."))
            }
            Verb::Write => {
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
const NO_NAME: &str = "No file is named; expected a path above.";

fn told(path: &str, imported: &Imported) -> Said {
    let missed = imported.missed.len() + imported.missed_more;
    let words = match missed {
        0 => format!("{path} is read; undo brings your chart back."),
        1 => format!("{path} is read, but for one thing; undo brings your chart back."),
        _ => format!("{path} is read, but for {missed} things; undo brings your chart back."),
    };
    let lost = imported.missed.iter().map(ToString::to_string);
    Said {
        words,
        failed: false,
        lines: imported.remarks.iter().cloned().chain(lost).collect(),
    }
}

#[cfg(test)]
mod tests;
