//! The questions that an exercise makes. Built where it may allocate; the audio thread reads it.
//! Imports `cell`, `exercise`, `picker` and the theory.

use crate::cell::Cell;
use crate::exercise::Exercise;
use crate::picker::Picker;
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
    /// When its chord falls, in ticks from the start of its item, or of the chart.
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
    /// All questions, item by item.
    pub questions: Vec<Asked>,
    /// What is asked in one go, in the chosen order.
    pub items: Vec<Item>,
}

/// A drill with what the audio thread remembers of it. Made and freed elsewhere.
#[derive(Debug)]
pub struct Lesson {
    /// The drill, which the panel shares.
    pub drill: Arc<Drill>,
    /// Which item comes next.
    pub picker: Picker,
}
