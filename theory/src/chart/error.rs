//! What can be wrong with a chart. `words` puts it into words. Imports `marks` and `meter`.

use super::{Jump, Meter, Section};
use crate::symbol::SymbolError;
use std::ops::Range;

/// One thing that is wrong with a chart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartError {
    /// Its place in the text, in bytes.
    pub source: Range<usize>,
    /// The bar it stands in, counted in the text from 1.
    pub bar: u32,
    /// What is wrong.
    pub problem: ChartProblem,
}

/// The kinds of trouble in a chart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ChartProblem {
    /// A symbol that is not a chord.
    Symbol(String, SymbolError),
    /// A time signature out of range, or not at the start of a bar.
    Meter(String),
    /// A bar with slashes that has not one sign for each beat: the number found, and the number
    /// expected.
    Beats(usize, u8),
    /// More chords in a bar than it can hold.
    Crowded(usize),
    /// A slash, a percent sign or `:|` with nothing before it to repeat.
    NothingToRepeat(&'static str),
    /// `%` shares its bar with something else.
    PercentNotAlone,
    /// `%` for a bar of another length: the meter of that bar, and the meter in force.
    PercentLength(Meter, Meter),
    /// An empty bar at the beginning. An empty bar repeats the one before it.
    EmptyBar,
    /// A pickup that does not stand before the first bar.
    PickupPlace,
    /// A pickup that is not shorter than its meter: its beats, and the meter.
    PickupLength(usize, Meter),
    /// No full bar after the pickup.
    PickupAlone,
    /// `even` for something other than chords.
    Even,
    /// No chord at all.
    EmptyChart,
    /// Signs that look like a bar line but are none.
    BarLine(String),
    /// Something in square brackets that is neither a section nor an ending.
    Mark(String),
    /// A section letter, an ending or another mark that is not at the start of a bar.
    MarkPlace(String),
    /// A sign of the road that is not at the end of a bar.
    TurnPlace(String),
    /// A second D.C. or D.S. at one place.
    JumpTwice,
    /// A number of times for a repeat that is out of range, or that does not stand after a
    /// repeat.
    Times(String),
    /// A number of times for a repeat with endings.
    TimesOfEndings(String),
    /// A D.C. or D.S. in a repeat.
    JumpInRepeat(Jump),
    /// More jumps than a chart can hold.
    TooManyJumps,
    /// D.S. without a segno before it.
    NoSegno(Jump),
    /// `al Fine` without a `Fine` on its way.
    NoFine(Jump),
    /// `al Coda` without a `To Coda` on its way.
    NoWayToCoda(Jump),
    /// `To Coda` without a coda after it.
    NoCoda,
    /// `To Coda` that no jump comes by.
    ToCodaUnused,
    /// A bar or a letter that the road never leads to.
    NeverPlayed,
    /// `|:` without `:|`.
    NeverClosed,
    /// `|:` inside of a repeat.
    RepeatInRepeat,
    /// An ending of this number with no repeat that it could end.
    EndingOutside(u8),
    /// An ending out of order: the number found, and the number expected.
    EndingOrder(u8, u8),
    /// An ending of this number starts before the one before it is closed.
    EndingOpen(u8),
    /// An ending of this number without bars.
    EndingEmpty(u8),
    /// A first ending without a second one.
    EndingAlone,
    /// A section that has no bars, here or before.
    NotWritten(Section),
    /// The text is longer than a chart can be.
    TooLong,
    /// There are more chords than a chart can hold.
    TooMany,
    /// There are more bars than a chart can hold.
    TooManyBars,
}

impl std::error::Error for ChartError {}
