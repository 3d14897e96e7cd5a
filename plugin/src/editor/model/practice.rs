//! What the page of practice remembers, and what a player asks for there. The exercise and the record
//! themselves lie outside. The panel's thread; `pages` keeps it, `apply` and `state` change it, and
//! the regions read it. Imports `chart`, `harmonies` and `outside`.

use crate::bridge::practice::{PracticeAsk, ReadPractice};
use crate::editor::model::chart::ChartText;
use crate::editor::model::files::Said;
use crate::editor::model::harmonies::place;
use crate::editor::model::outside::Outside;
use crate::editor::view::record::{self, RecordLook};
use guidehand_practice::{Exercise, Record};
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::voicing::Position;
use std::sync::Arc;

/// Practice without a rest, in minutes, after which one is due.
pub const REST_AFTER_MINUTES: u16 = 20;

/// Which side of the page is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Face {
    /// What is practised, and how.
    #[default]
    Exercise,
    /// What has come of it.
    Record,
}

/// Which number stands in a place of the table.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Number {
    /// Right at first try, of a hundred.
    #[default]
    Right,
    /// The seconds to the right answer.
    Seconds,
}

/// Which part of the record is shown, and which number of it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// One dressing of dominants; every one if none.
    pub dressing: Option<DegreeSet>,
    /// One position; every one if none.
    pub position: Option<Position>,
    /// Its number.
    pub number: Number,
}

/// What a player asks for at the page, or on the stage while it is in force.
#[derive(Clone, Debug, PartialEq)]
pub enum PracticeAction {
    /// The other side of the page.
    Face(Face),
    /// Another exercise.
    Exercise(Box<Exercise>),
    /// The bars of the chart whose chords are selected in its text.
    SelectedBars,
    /// Something of the drill that runs.
    Ask(PracticeAsk),
    /// Another part of the record is shown.
    Filter(Filter),
    /// The record is emptied.
    Reset,
    /// What the last press or file did to the record is undone.
    BringBack,
    /// The player has read that a rest is due.
    Rest,
}

/// What has been done to the record, for it can be undone.
#[derive(Clone, Debug)]
struct Done {
    /// The record before.
    before: Arc<Record>,
    /// The record after.
    after: Arc<Record>,
    /// It was emptied, and not joined with another one.
    emptied: bool,
}

/// What the page remembers.
#[derive(Debug, Default)]
pub struct PracticePage {
    face: Face,
    filter: Filter,
    done: Option<Done>,
    /// What is shown of the record, and of which record it is.
    look: Option<(Arc<Record>, Filter)>,
    shown: RecordLook,
    /// So many rests were due when the player read of it last.
    rests_read: u16,
}

impl PracticePage {
    /// Which side is shown.
    #[must_use]
    pub const fn face(&self) -> Face {
        self.face
    }

    /// Which part of the record is shown.
    #[must_use]
    pub const fn filter(&self) -> Filter {
        self.filter
    }

    /// What is shown of the record.
    #[must_use]
    pub const fn look(&self) -> &RecordLook {
        &self.shown
    }

    /// Whether what was done to the record last can be undone. A record that was emptied comes
    /// back whatever has been practised since; one that was joined does while it is the same.
    #[must_use]
    pub fn can_bring_back(&self, record: &Arc<Record>) -> bool {
        let done = self.done.as_ref();
        done.is_some_and(|done| done.emptied || Arc::ptr_eq(&done.after, record))
    }

    /// The minutes of practice to tell of while a rest is due that the player has not read of.
    #[must_use]
    pub const fn rest_due(&self, minutes: u16) -> Option<u16> {
        let due = minutes / REST_AFTER_MINUTES;
        if due > self.rests_read {
            Some(due * REST_AFTER_MINUTES)
        } else {
            None
        }
    }

    /// Follows how long has been practised, with a new start of which the rests begin anew, and the
    /// record while it is shown. Once a frame.
    pub fn follow(&mut self, minutes: u16, outside: &dyn Outside) {
        self.rests_read = self.rests_read.min(minutes / REST_AFTER_MINUTES);
        if self.face != Face::Record {
            return;
        }
        let record = outside.practice().record;
        let same = |(shown, filter): &(Arc<Record>, Filter)| {
            Arc::ptr_eq(shown, &record) && *filter == self.filter
        };
        if !self.look.as_ref().is_some_and(same) {
            self.shown = record::look(&record, self.filter.dressing, self.filter.position);
            self.look = Some((record, self.filter));
        }
    }

    /// Carries out what the player asked for, after so many minutes of practice.
    pub fn apply(
        &mut self,
        action: PracticeAction,
        (chart, minutes): (&ChartText, u16),
        outside: &mut dyn Outside,
    ) {
        match action {
            PracticeAction::Face(face) => self.face = face,
            PracticeAction::Exercise(exercise) => take(&outside.practice(), *exercise, outside),
            PracticeAction::SelectedBars => {
                if let Some(bars) = selected_bars(chart) {
                    let read = outside.practice();
                    let exercise = Exercise {
                        bars: Some(bars),
                        ..read.exercise.as_ref().clone()
                    };
                    take(&read, exercise, outside);
                }
            }
            PracticeAction::Ask(ask) => outside.practise(ask),
            PracticeAction::Filter(filter) => self.filter = filter,
            PracticeAction::Reset => {
                let before = outside.practice().record;
                self.put(before, Record::default(), true, outside);
            }
            PracticeAction::BringBack => self.bring_back(outside),
            PracticeAction::Rest => self.rests_read = minutes / REST_AFTER_MINUTES,
        }
    }

    fn put(
        &mut self,
        before: Arc<Record>,
        after: Record,
        emptied: bool,
        outside: &mut dyn Outside,
    ) {
        outside.set_record(after);
        self.done = Some(Done {
            before,
            after: outside.practice().record,
            emptied,
        });
    }

    fn bring_back(&mut self, outside: &mut dyn Outside) {
        let record = outside.practice().record;
        if !self.can_bring_back(&record) {
            return;
        }
        let Some(Done {
            before, emptied, ..
        }) = self.done.take()
        else {
            return;
        };
        // What has been practised since the record was emptied stays.
        let back = if emptied {
            before.merge(&record).ok()
        } else {
            Some(before.as_ref().clone())
        };
        if let Some(back) = back {
            outside.set_record(back);
        }
    }

    /// Joins the record with that of a file, and says what came of it.
    pub fn join(&mut self, path: &str, other: &Record, outside: &mut dyn Outside) -> Said {
        let before = outside.practice().record;
        let joined = match before.merge(other) {
            Ok(joined) => joined,
            Err(full) => {
                return Said {
                    words: format!("{path} is not taken in: {full}."),
                    failed: true,
                    lines: Vec::new(),
                };
            }
        };
        let (held, came) = (sessions(other), sessions(&joined) - sessions(&before));
        if came > 0 {
            self.put(before, joined, false, outside);
        }
        let words = match (came, held) {
            (_, 0) => format!("{path} holds a record without sessions."),
            (0, 1) => format!("{path} brings nothing new: its session is in your record."),
            (0, _) => format!("{path} brings nothing new: its sessions are in your record."),
            (1, _) => format!("1 session came in from {path}; Bring back undoes it."),
            _ => format!("{came} sessions came in from {path}; Bring back undoes it."),
        };
        Said {
            words,
            ..Said::default()
        }
    }
}

fn sessions(record: &Record) -> usize {
    record.sessions().len()
}

/// Hands another exercise on, unless it is the same.
fn take(read: &ReadPractice, exercise: Exercise, outside: &mut dyn Outside) {
    if *read.exercise != exercise {
        outside.set_exercise(exercise);
    }
}

/// The first and the last bar as played, from 1, of the chords that are selected in the chart's text.
fn selected_bars(chart: &ChartText) -> Option<(u16, u16)> {
    let read = chart.chart()?;
    let changes = read
        .changes
        .get(place::at_text(read, &chart.selection()?)?)?;
    let number = |bar: usize| u16::try_from(bar + 1).ok();
    Some((number(changes.first()?.bar)?, number(changes.last()?.bar)?))
}

#[cfg(test)]
mod tests;
