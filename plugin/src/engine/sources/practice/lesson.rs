//! The lesson that is taught, and the place in it. Imports `course`, `open` and the practice crate.

use super::course::{ItemTimes, Pacing};
use super::open::HelpRule;
use crate::engine::clock;
use guidehand_practice::{Asked, Exercise, Help, Lesson, Origin, Pace, Tempo};
use guidehand_theory::judge::Accepts;

/// The place within an item.
#[derive(Clone, Copy, Debug, Default)]
pub struct Cursor {
    /// The index of the item in the drill.
    item: usize,
    first: u32,
    /// The question that is asked next.
    next: u32,
    end: u32,
    /// A question of the item was not right at first try.
    pub missed: bool,
    /// No item comes after it.
    last: bool,
}

impl Cursor {
    /// The question that is asked next, unless all of them are asked.
    pub fn peek(&self) -> Option<u32> {
        (self.next < self.end).then_some(self.next)
    }

    /// Takes the question that is asked next, and tells the one before it.
    pub fn take(&mut self) -> Option<(u32, Option<u32>)> {
        let question = self.peek()?;
        let before = (question > self.first).then(|| question - 1);
        self.next += 1;
        Some((question, before))
    }

    /// The item begins anew.
    pub const fn again(&mut self) {
        self.next = self.first;
        self.missed = false;
    }

    /// Whether a question of the item has been asked, and another one is still to come.
    pub const fn is_within(&self) -> bool {
        self.next > self.first && self.next < self.end
    }

    /// Whether a question belongs to the item.
    pub fn holds(&self, question: u32) -> bool {
        !self.last && (self.first..self.end).contains(&question)
    }

    /// Nothing comes after this item.
    pub const fn end(&mut self) {
        self.next = self.end;
        self.last = true;
    }

    /// Whether nothing comes after it.
    pub const fn is_last(&self) -> bool {
        self.last
    }
}

/// The lesson that is taught.
#[derive(Debug, Default)]
pub struct Taught {
    lesson: Option<Box<Lesson>>,
    /// It has come since the block before.
    arrived: bool,
    /// It begins at once.
    begins: bool,
    /// Items of the round, and whether one of them was missed.
    round: (usize, bool),
}

impl Taught {
    /// Takes a lesson, and returns the one before.
    pub const fn take(&mut self, lesson: Box<Lesson>, begins: bool) -> Option<Box<Lesson>> {
        self.arrived = true;
        self.begins |= begins;
        self.round = (0, false);
        self.lesson.replace(lesson)
    }

    /// Whether a lesson has come.
    pub const fn has_arrived(&self) -> bool {
        self.arrived
    }

    /// Whether the lesson that has come begins at once; none if none has come.
    pub const fn arrive(&mut self) -> Option<bool> {
        let begins = std::mem::replace(&mut self.begins, false);
        if std::mem::replace(&mut self.arrived, false) {
            Some(begins)
        } else {
            None
        }
    }

    fn exercise(&self) -> Option<&Exercise> {
        self.lesson.as_ref().map(|lesson| &lesson.drill.exercise)
    }

    /// Whether there is a lesson.
    pub const fn is_any(&self) -> bool {
        self.lesson.is_some()
    }

    /// The number of the drill.
    pub fn number(&self) -> u64 {
        self.lesson.as_ref().map_or(0, |lesson| lesson.drill.number)
    }

    /// A question.
    pub fn asked(&self, question: u32) -> Option<&Asked> {
        self.lesson.as_ref()?.drill.question(question)
    }

    /// When the next question comes.
    pub fn pace(&self) -> Option<Pace> {
        self.exercise().map(|exercise| exercise.pace)
    }

    /// How the exercise is counted, if it is in time.
    pub fn pacing(&self) -> Option<Pacing> {
        let Pace::InTime {
            tempo,
            beats_ahead,
            count_in_bars,
        } = self.pace()?
        else {
            return None;
        };
        let meter = self.lesson.as_ref()?.drill.meter;
        Some(Pacing {
            meter,
            tempo,
            beats_ahead,
            count_in_bars,
            by_chart: self.is_of_chart(),
        })
    }

    fn is_of_chart(&self) -> bool {
        self.exercise()
            .is_some_and(|exercise| exercise.origin == Origin::Chart)
    }

    /// Whether questions fall in the host's time.
    pub fn is_by_host(&self) -> bool {
        self.pacing()
            .is_some_and(|pacing| pacing.tempo == Tempo::Host)
    }

    /// Whether positions count from where the chart starts.
    pub fn is_by_chart(&self) -> bool {
        self.is_of_chart() && self.is_by_host()
    }

    /// What counts as right.
    pub fn accepts(&self) -> Accepts {
        self.exercise()
            .map_or_else(Accepts::default, |exercise| exercise.accepts)
    }

    /// Whether voice leading is judged.
    pub fn leading(&self) -> bool {
        self.exercise().is_some_and(|exercise| exercise.leading)
    }

    /// Whether the right chord sounds after the answer.
    pub fn sounds(&self) -> bool {
        self.exercise()
            .is_some_and(|exercise| exercise.answer_sounds)
    }

    /// How much help is shown at first.
    pub fn first_help(&self) -> Help {
        self.exercise()
            .map_or_else(Help::default, |exercise| exercise.help)
    }

    /// How help grows, at so many samples a second.
    pub fn help(&self, second_samples: f64) -> HelpRule {
        let second = clock::whole(second_samples.round()).map_or(0, u64::from);
        self.exercise()
            .map_or_else(HelpRule::default, |exercise| HelpRule::of(exercise, second))
    }

    /// The item that is to be asked now; none when all are done.
    pub fn current_item(&self) -> Option<Cursor> {
        let lesson = self.lesson.as_ref()?;
        let item = lesson.picker.current()?;
        let questions = &lesson.drill.items.get(item)?.questions;
        let is_any = questions.start < questions.end;
        is_any.then_some(Cursor {
            item,
            first: questions.start,
            next: questions.start,
            end: questions.end,
            missed: false,
            last: false,
        })
    }

    /// How the item in hand lies in time.
    pub fn times(&self, cursor: &Cursor) -> Option<ItemTimes> {
        let last = self.asked(cursor.end.checked_sub(1)?)?;
        let item = self.lesson.as_ref()?.drill.items.get(cursor.item)?;
        let start = f64::from(item.start_ticks);
        Some(ItemTimes {
            start_ticks: start,
            last_ticks: f64::from(last.start_ticks),
            end_ticks: start + f64::from(item.length_ticks),
        })
    }

    /// The item was answered; false when all are done.
    pub fn go_on(&mut self, right_first: bool) -> bool {
        let lesson = self.lesson.as_mut();
        lesson.is_some_and(|lesson| lesson.picker.answered(right_first).is_some())
    }

    /// Counts an item of a round. After a round without a miss the tempo grows by so much.
    pub fn count_item(&mut self, missed: bool) -> Option<f64> {
        let lesson = self.lesson.as_ref()?;
        let (items, any_missed) = (self.round.0 + 1, self.round.1 || missed);
        let over = items >= lesson.drill.items.len();
        self.round = if over {
            (0, false)
        } else {
            (items, any_missed)
        };
        match lesson.drill.exercise.pace {
            Pace::InTime {
                tempo: Tempo::Own { faster_by, .. },
                ..
            } if over && !any_missed => Some(faster_by),
            _ => None,
        }
    }

    /// How many items are done.
    pub fn done(&self) -> u32 {
        let done = self
            .lesson
            .as_ref()
            .map_or(0, |lesson| lesson.picker.done());
        u32::try_from(done).unwrap_or(u32::MAX)
    }
}
