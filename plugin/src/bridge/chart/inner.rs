//! What the lock of a cell guards: the text, and how far it has been read and planned. Any
//! thread but the audio thread runs it, and nothing here takes long. `shared` and `cell` import it.

use super::progress::{Charted, Depth, PlanStep, Progress};
use super::read::{ReadChart, ReadResult, Reading, Unread};
use super::saved::{self, Unknown};
use crate::engine::planned::{Enters, PlannedChart};
use guidehand_theory::pitch::NoteNames;
use std::sync::Arc;

/// The most texts that are remembered unread. There are more only where nobody reads them.
const MOST_UNREAD: usize = 32;

/// What the lock of a cell guards.
pub struct Inner {
    /// The text as typed.
    pub text: Arc<str>,
    /// Its number.
    pub text_edition: u64,
    /// It has not been read yet.
    pub unread: bool,
    /// The texts that may sound if it cannot be read, as in [`Unread`].
    pub before: Vec<Arc<str>>,
    /// The last text that could be read, if the text as typed could not.
    pub sounding: Option<Arc<str>>,
    pub original: Option<Arc<str>>,
    /// The language of the notes as it is saved.
    pub names: Option<String>,
    pub later: Unknown,
    /// Counts the texts, those that are tried too.
    pub edition: u64,
    /// The text of the chart that is planned, in the language in force.
    pub main_text: Option<Arc<str>>,
    pub progress: Progress,
    /// A texture is being planned.
    pub planning: bool,
    pub latest: Arc<ReadChart>,
    /// Charts of older texts that the panel may still hold.
    pub outdated: Vec<ReadResult>,
}

/// One piece of work.
pub enum Task {
    Read(Unread),
    Plan(PlanStep),
}

impl Inner {
    pub fn note_names(&self) -> NoteNames {
        saved::note_names(self.names.as_deref())
    }

    /// The number of the next text.
    pub const fn count(&mut self) -> u64 {
        self.edition += 1;
        self.edition
    }

    /// Replaces the text, and gives the new one's number. `sounding` is the text that sounds
    /// if the new one has errors. Without it, the last text that could be read goes on
    /// sounding.
    pub fn begin(&mut self, text: Arc<str>, sounding: Option<Arc<str>>) -> u64 {
        let before = std::mem::replace(&mut self.text, text);
        if let Some(sounding) = sounding {
            self.before = vec![sounding];
        } else if self.unread {
            self.before.push(before);
            if self.before.len() > MOST_UNREAD {
                self.before.remove(1);
            }
        } else {
            self.before = vec![self.sounding.take().unwrap_or(before)];
        }
        self.sounding = None;
        self.unread = true;
        self.progress.tried = None;
        self.text_edition = self.count();
        self.text_edition
    }

    pub fn unread(&self) -> Option<Unread> {
        let sounds = self.before.first().zip(self.main_text.as_ref());
        let known = sounds.is_some_and(|(sounds, main)| Arc::ptr_eq(sounds, main));
        let main = self.progress.main.as_ref().filter(|_| known);
        self.unread.then(|| Unread {
            edition: self.text_edition,
            text: self.text.clone(),
            names: self.note_names(),
            before: self.before.clone(),
            known: main.map(|main| main.chart.clone()),
        })
    }

    pub fn next(&self, depth: Depth) -> Option<Task> {
        match self.unread() {
            Some(unread) => Some(Task::Read(unread)),
            None => self.progress.next(depth).map(Task::Plan),
        }
    }

    /// Takes over what has been read. A reading of a text that has been replaced is dropped,
    /// and so is a second reading of the same text. Gives older charts that nobody holds any
    /// more, to be freed here and after the lock: freeing a long one takes longer than a frame
    /// of the panel may.
    #[must_use]
    pub fn take(&mut self, reading: Reading) -> Vec<ReadResult> {
        if !self.unread || reading.edition != self.text_edition {
            return Vec::new();
        }
        self.unread = false;
        self.before.clear();
        let edition = self.text_edition;
        let (sounding, chart) = match (&reading.chart, reading.sounding) {
            (Err(_), Some((text, chart))) => (Some(text), chart),
            (chart, _) => (None, chart.as_ref().ok().cloned()),
        };
        self.main_text = Some(sounding.as_ref().unwrap_or(&self.text).clone());
        self.sounding = sounding;
        let latest = Arc::new(ReadChart {
            edition,
            text: self.text.clone(),
            names: self.note_names(),
            chart: reading.chart,
            planned: None,
        });
        let outdated = std::mem::replace(&mut self.latest, latest);
        self.outdated.push(outdated.chart.clone());
        let main = self.progress.main.take();
        let same = |main: &Charted| chart.as_ref().is_some_and(|c| Arc::ptr_eq(c, &main.chart));
        self.progress.main = match main.filter(same) {
            Some(mut main) => {
                main.anew(edition, Enters::AtOnce);
                Some(main)
            }
            None => chart.map(|chart| Charted::new(edition, chart, Enters::AtOnce)),
        };
        let sent = self.progress.send_main();
        self.show(sent);
        drop(outdated);
        let free = |chart: &mut ReadResult| match chart {
            Ok(chart) => Arc::strong_count(chart) == 1,
            Err(unreadable) => Arc::strong_count(unreadable) == 1,
        };
        self.outdated.extract_if(.., free).collect()
    }

    /// Takes over what a step has planned. It is late, and is dropped, while a newer text waits
    /// to be read.
    pub fn put(&mut self, step: &PlanStep, planned: Option<PlannedChart>) {
        if !self.unread {
            let new = self.progress.put(step, planned);
            self.show(new);
        }
    }

    /// Shows a new plan of the text's own chart to the panel.
    pub fn show(&mut self, planned: Option<Arc<PlannedChart>>) {
        if planned.is_some() && self.latest.chart.is_ok() {
            self.latest = Arc::new(ReadChart {
                planned,
                ..(*self.latest).clone()
            });
        }
    }
}
