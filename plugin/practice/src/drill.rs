//! The questions that an exercise makes. Built where it may allocate; the audio thread reads it.
//! Imports `answered`, `cell`, `choice`, `exercise`, `picker` and the theory.

use crate::answered::Answered;
use crate::cell::Cell;
use crate::choice::Origin;
use crate::exercise::Exercise;
use crate::picker::{Picker, Standing};
use guidehand_theory::chart::Meter;
use guidehand_theory::judge::Question;
use guidehand_theory::key::Key;
use std::ops::Range;
use std::sync::Arc;

/// A question in a drill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// What is asked.
    pub question: Question,
    /// Where the record counts it; none for a chord of no family.
    pub cell: Option<Cell>,
    /// When its chord falls, in ticks: in a list from the start of its item, and in a chart from the start
    /// of the chart.
    pub start_ticks: u32,
    /// How long it lasts, in ticks.
    pub length_ticks: u32,
    /// The chart's change that it asks for, if it comes from the chart.
    pub change: Option<usize>,
}

/// What is asked in one go.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Its questions, as indices of [`Drill::questions`].
    pub questions: Range<u32>,
    /// Its key.
    pub key: Key,
    /// Where it starts, in ticks: 0 in a list, and in a chart the place of its first bar.
    pub start_ticks: u32,
    /// Its length in ticks.
    pub length_ticks: u32,
}

/// The questions that an exercise makes.
#[derive(Clone, Debug, PartialEq)]
pub struct Drill {
    /// Tells it from every other drill of the instance.
    pub number: u64,
    /// What it was made from.
    pub exercise: Exercise,
    /// The time signature: of a list 4/4, of a chart that of its first bar.
    pub meter: Meter,
    /// All questions, item by item.
    pub questions: Vec<Asked>,
    /// What is asked in one go, in the chosen order: a chord or a progression of a list in one key, or a
    /// chart once through. None is empty.
    pub items: Vec<Item>,
}

impl Drill {
    /// The question at this index.
    #[must_use]
    pub fn question(&self, index: u32) -> Option<&Asked> {
        self.questions.get(usize::try_from(index).ok()?)
    }

    /// Where an answer counts, and the grip from which the hand came. None for a chord of no family.
    #[must_use]
    pub fn cells(&self, answered: &Answered) -> Option<(Cell, Option<Cell>)> {
        let asked = self.question(answered.question)?;
        let mut cell = asked.cell?;
        if asked.question.either_position {
            cell.position = answered.position;
        }
        let before = answered
            .before
            .and_then(|before| self.question(before)?.cell);
        Some((cell, before))
    }
}

/// A drill with what the audio thread remembers of it. Made and freed elsewhere.
#[derive(Debug)]
pub struct Lesson {
    /// The drill, which the panel shares.
    pub drill: Arc<Drill>,
    /// Which item comes next.
    pub picker: Picker,
}

impl Lesson {
    /// The first item of a drill is asked next. The standings are those of its items.
    #[must_use]
    pub fn new(drill: Arc<Drill>, standings: Vec<Standing>) -> Lesson {
        let in_order = drill.exercise.origin == Origin::Chart;
        let picker = Picker::new(standings, in_order, drill.exercise.seed);
        Lesson { drill, picker }
    }
}
