//! What the lock of a cell guards: the document, which one is in force, and how far both have been
//! read and planned. Any thread but the audio thread runs it, and nothing here takes long. `shared`
//! and `cell` import it.

use super::progress::{Charted, Depth, PlanStep, Progress};
use super::read::{
    Finished, InForce, LeadSheet, MelodyResult, ReadChart, ReadResult, Reading, Unread, WithText,
};
use super::saved;
use crate::document::{Document, Unknown};
use crate::engine::planned::{Enters, PlannedChart};
use guidehand_theory::pitch::NoteNames;
use std::sync::Arc;
use std::time::Instant;

/// The most finished texts that are remembered unread. There are more only where nobody reads them.
const MOST_UNREAD: usize = 32;

/// What the lock of a cell guards.
pub struct Inner {
    /// The text in the hands of the player, with what was picked for its chords.
    pub document: Document,
    /// Its number.
    pub text_edition: u64,
    /// It has not been read yet.
    pub unread: bool,
    /// When it comes into force by itself. None if it is finished, or has errors.
    pub rests_at: Option<Instant>,
    /// When it takes over from the chart that plays, once it is in force.
    pub enters: Enters,
    /// The document in force: the last one whose text was finished and could be read. It is
    /// `document` itself unless that text is still being typed or has errors.
    pub in_force: Finished,
    /// Texts that were finished after it and have not been read, the oldest first.
    pub newer: Vec<Finished>,
    pub original: Option<Document>,
    /// The language of the notes as it is saved.
    pub names: Option<String>,
    pub later: Unknown,
    /// Counts the texts, those that are tried too.
    pub edition: u64,
    pub progress: Progress,
    /// What the melody as typed reads as over the chart that is tried.
    pub tried_melody: MelodyResult,
    /// A texture is being planned.
    pub planning: bool,
    pub latest: Arc<ReadChart>,
    /// Charts of older texts that the panel may still hold.
    pub outdated: Vec<ReadResult>,
}

/// When a new text comes into force.
#[derive(Clone, Copy, Debug)]
pub enum Comes {
    /// As soon as it has been read; it takes over then.
    Finished(Enters),
    /// Once typing has rested, which is then.
    Typed(Instant),
}

/// One piece of work.
pub enum Task {
    Read(Unread),
    Plan(Box<PlanStep>),
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

    /// Replaces the text, and gives the new one's number. What is tried is forgotten.
    pub fn begin(&mut self, document: Document, comes: Comes) -> u64 {
        if self.progress.tried.take().is_some() {
            self.enter_again();
        }
        let before = std::mem::replace(&mut self.document, document);
        if self.unread && self.rests_at.is_none() {
            self.newer.push(Finished {
                edition: self.text_edition,
                document: before,
                enters: self.enters,
            });
            if self.newer.len() > MOST_UNREAD {
                self.newer.remove(0);
            }
        }
        (self.rests_at, self.enters) = match comes {
            Comes::Finished(enters) => (None, enters),
            Comes::Typed(rests_at) => (Some(rests_at), Enters::AtTheBarLine),
        };
        self.unread = true;
        self.text_edition = self.count();
        self.text_edition
    }

    /// Own voicings are not those of a text: a text that sounds while the one in hand has errors
    /// has those of the document in hand.
    fn with_own(&mut self, mut finished: Finished) -> Finished {
        let own = self.document.own.clone();
        if finished.document.own.shapes() != own.shapes() {
            finished.edition = self.count();
            finished.enters = self.enters;
        }
        finished.document.own = own;
        finished
    }

    /// Another text is in force, whose chart has still to be read.
    pub fn force(&mut self, document: Document, enters: Enters) {
        self.in_force = Finished {
            edition: self.count(),
            document,
            enters,
        };
        self.newer.clear();
    }

    /// The chart of the text in force, as far as it is known.
    fn main(&self) -> Option<&Charted> {
        let main = self.progress.main.as_ref();
        main.filter(|main| main.edition == self.in_force.edition)
    }

    /// The document in hand as it comes into force, with its chart. Where it has errors it is the one
    /// in force.
    pub fn in_hand(&self) -> InForce {
        match &self.progress.coming {
            Some(coming) => {
                let finished = Finished {
                    edition: coming.edition,
                    document: coming.document.clone(),
                    enters: coming.enters,
                };
                (finished, Some(coming.sheet.clone()))
            }
            None => {
                let sheet = self.main().map(|main| main.sheet.clone());
                (self.in_force.clone(), sheet)
            }
        }
    }

    pub fn unread(&self) -> Option<Unread> {
        self.unread.then(|| Unread {
            edition: self.text_edition,
            text: self.document.text.clone(),
            melody: self.document.melody.clone(),
            names: self.note_names(),
            finished: self.rests_at.is_none(),
            in_force: self.in_force.clone(),
            known: self.main().map(|main| main.sheet.clone()),
            newer: self.newer.clone(),
        })
    }

    pub fn next(&self, depth: Depth) -> Option<Task> {
        match self.unread() {
            Some(unread) => Some(Task::Read(unread)),
            None => self.progress.next(depth).map(Box::new).map(Task::Plan),
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
        self.newer.clear();
        if let Some((finished, sheet)) = reading.before {
            let finished = self.with_own(finished);
            self.put_in_force(finished, sheet);
        }
        let melody = reading.melody;
        let in_force = match &melody {
            Ok(melody) => (self.document.melody.clone(), melody.clone()),
            Err(_) => reading.melody_before.unwrap_or_default(),
        };
        let chart = self.come(reading.chart, in_force);
        let latest = Arc::new(ReadChart {
            edition: self.text_edition,
            text: self.document.text.clone(),
            picks: self.document.picks.clone(),
            own: self.document.own.clone(),
            melody_text: self.document.melody.clone(),
            names: self.note_names(),
            chart,
            melody,
            planned: None,
            waits: self.progress.coming.is_some(),
        });
        let outdated = std::mem::replace(&mut self.latest, latest);
        self.outdated.push(outdated.chart.clone());
        if self.progress.coming.is_none() {
            let planned = self.main().and_then(|main| main.published().cloned());
            self.show(planned);
        }
        drop(outdated);
        let free = |chart: &mut ReadResult| match chart {
            Ok(chart) => Arc::strong_count(chart) == 1,
            Err(unreadable) => Arc::strong_count(unreadable) == 1,
        };
        self.outdated.extract_if(.., free).collect()
    }

    /// The text in hand reads as this, with this melody in force over it. It comes into force, or
    /// waits until typing rests. Where it has errors, the one in force stays. Returns its chart: that
    /// of the text in force, if both are the same text.
    fn come(&mut self, chart: ReadResult, (text, melody): WithText) -> ReadResult {
        self.progress.coming = None;
        let Ok(chart) = chart else {
            self.rests_at = None;
            return chart;
        };
        let document = self.document.with_melody(text);
        let in_force = &self.in_force.document;
        let plays_on = self.enters == Enters::AtTheBarLine && document.plays_as(in_force);
        if let Some(main) = self.main().filter(|_| plays_on) {
            let chart = main.sheet.chart.clone();
            self.rests_at = None;
            self.in_force.document = document;
            return Ok(chart);
        }
        // The same text with other pins or another melody is the same chart.
        let same_text = document.text == in_force.text;
        let known = self.main().filter(|_| same_text);
        let chart = known.map_or(chart, |main| main.sheet.chart.clone());
        let sheet = LeadSheet {
            chart: chart.clone(),
            melody,
        };
        if self.rests_at.is_some() {
            let coming = Charted::new(self.text_edition, document, sheet, self.enters);
            self.progress.coming = Some(coming);
        } else {
            let finished = Finished {
                edition: self.text_edition,
                document,
                enters: self.enters,
            };
            self.put_in_force(finished, Some(sheet));
        }
        Ok(chart)
    }

    /// A finished text comes into force. Nothing changes if it is there already.
    fn put_in_force(&mut self, finished: Finished, sheet: Option<LeadSheet>) {
        self.in_force = finished;
        if self.main().is_none() {
            let Finished {
                edition,
                ref document,
                enters,
            } = self.in_force;
            let charted = |sheet| Charted::new(edition, document.clone(), sheet, enters);
            self.progress.main = sheet.map(charted);
        }
    }

    /// The text in hand is finished, and comes into force as soon as it has been read.
    pub fn finish(&mut self) {
        if self.rests_at.take().is_none() || self.unread {
            return;
        }
        let Some(coming) = self.progress.coming.take() else {
            return;
        };
        self.in_force = Finished {
            edition: coming.edition,
            document: coming.document.clone(),
            enters: self.enters,
        };
        self.progress.main = Some(coming);
        self.latest = Arc::new(ReadChart {
            waits: false,
            ..(*self.latest).clone()
        });
        let sent = self.progress.send_main();
        self.show(sent);
    }

    /// A text that was typed comes into force, if typing has rested by now.
    pub fn rest(&mut self, now: Instant) {
        if !self.unread && self.rests_at.is_some_and(|at| at <= now) {
            self.finish();
        }
    }

    /// The chart of the text in force enters anew, in the place of one that was tried.
    pub fn enter_again(&mut self) {
        let known = self.main().is_some();
        let edition = self.count();
        if known {
            self.in_force.edition = edition;
        }
        if let Some(main) = &mut self.progress.main {
            main.anew(edition, Enters::AtTheBarLine);
        }
        let sent = self.progress.send_main();
        self.show(sent);
    }

    /// What is tried becomes the chart, and sounds on without a break. The text before it is
    /// remembered as the original, unless there is one.
    pub fn keep(&mut self) {
        let Some(charted) = self.progress.tried.take() else {
            return;
        };
        let in_force = charted.document.clone();
        // What was typed of a melody stays as it was typed.
        let document = in_force.with_melody(self.document.melody.clone());
        let before = std::mem::replace(&mut self.document, document.clone());
        self.original.get_or_insert(before);
        self.unread = false;
        self.newer.clear();
        self.text_edition = charted.edition;
        self.in_force = Finished {
            edition: charted.edition,
            document: in_force,
            enters: charted.enters,
        };
        self.latest = Arc::new(ReadChart {
            edition: charted.edition,
            text: document.text,
            picks: document.picks,
            own: document.own,
            melody_text: document.melody,
            names: self.note_names(),
            chart: Ok(charted.sheet.chart.clone()),
            melody: self.tried_melody.clone(),
            planned: charted.published().cloned(),
            waits: false,
        });
        self.progress.main = Some(charted);
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
    fn show(&mut self, planned: Option<Arc<PlannedChart>>) {
        if planned.is_some() && self.latest.chart.is_ok() {
            self.latest = Arc::new(ReadChart {
                planned,
                ..(*self.latest).clone()
            });
        }
    }
}
