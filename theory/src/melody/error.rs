//! What can be wrong with the text of a melody. `words` puts it into words. Imports `chart`.

use crate::chart::Meter;
use std::ops::Range;

/// One thing that is wrong with the text of a melody.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MelodyError {
    /// Its place in the text, in bytes.
    pub source: Range<usize>,
    /// The bar that it stands in, counted as players count: from 1, or 0 for a pickup.
    pub bar: u32,
    /// What is wrong.
    pub problem: MelodyProblem,
}

/// The kinds of trouble in the text of a melody.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MelodyProblem {
    /// A word that is neither a note nor a rest.
    Note(String),
    /// A note without an octave, or so low or high that no key plays it.
    Octave(String),
    /// A length that is no note value and no number of ticks.
    Length(String),
    /// A bar that its notes and rests do not fill, or that they overfill: their ticks, and the
    /// meter of the bar.
    Bar(u32, Meter),
    /// A tie that does not stand between two notes on one key.
    Tie,
    /// More bars than the chart has: their number in the chart.
    Bars(usize),
    /// The text is longer than a melody can be.
    TooLong,
    /// There are more notes than a melody can hold.
    TooMany,
}

impl std::error::Error for MelodyError {}
