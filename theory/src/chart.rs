//! Charts: from text to bars of chords, in the order in which they are played.
//! Imports `chord` and `symbol`.
//!
//! The text is cut into words (`words`), read into bars as written and the signs
//! between them (`read`), put into the order of playing (`unfold`), and played:
//! each bar gets its ticks and its changes (`play`).

mod error;
mod play;
mod read;
mod rewrite;
#[cfg(test)]
mod tests;
mod unfold;
mod words;

pub use error::{ChartError, ChartProblem};
pub use rewrite::rewrite;

use crate::chord::Chord;
use std::fmt;
use std::ops::Range;

/// Ticks in a quarter note: every division of a beat that charts can hold is a
/// whole number of them, or is rounded down to one.
pub const TICKS_PER_QUARTER: u32 = 960;

/// The longest chart text, in bytes.
pub const LONGEST_TEXT: usize = 256 * 1024;

/// The most changes in a chart as played; `%` and repeats make many out of
/// little text.
pub const MOST_CHANGES: usize = 20_000;

/// The most bars in a chart as played.
pub const MOST_BARS: usize = 20_000;

/// The most endings of a repeat.
pub const MOST_ENDINGS: u8 = 9;

// The longest bars, as many as there may be, are counted in a `u32`.
const _: () = {
    let longest = Meter { beats: 16, unit: 2 };
    assert!(longest.bar_ticks() as u64 * MOST_BARS as u64 <= u32::MAX as u64);
};

/// A time signature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meter {
    /// Beats in a bar, 1 to 16.
    pub beats: u8,
    /// The note value of a beat: 2, 4, 8 or 16.
    pub unit: u8,
}

impl Meter {
    /// 4/4
    pub const COMMON: Meter = Meter { beats: 4, unit: 4 };

    /// A time signature, if the numbers are in range.
    #[must_use]
    pub const fn new(beats: u8, unit: u8) -> Option<Meter> {
        if beats >= 1 && beats <= 16 && matches!(unit, 2 | 4 | 8 | 16) {
            Some(Meter { beats, unit })
        } else {
            None
        }
    }

    /// Ticks in a beat.
    #[must_use]
    pub const fn beat_ticks(self) -> u32 {
        TICKS_PER_QUARTER * 4 / self.unit as u32
    }

    /// Ticks in a bar.
    #[must_use]
    pub const fn bar_ticks(self) -> u32 {
        self.beat_ticks() * self.beats as u32
    }
}

impl fmt::Display for Meter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.beats, self.unit)
    }
}

/// The name of a section: `[A]`, `[A2]` or `[A']`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Section {
    /// `A` to `Z`.
    pub letter: char,
    /// The digit after the letter, 1 to 9; 0 if there is none.
    pub digit: u8,
    /// Primes after the letter, 0 to 3; none beside a digit.
    pub primes: u8,
}

impl fmt::Display for Section {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "[{}", self.letter)?;
        if self.digit > 0 {
            write!(f, "{}", self.digit)?;
        }
        write!(f, "{:'<1$}]", "", usize::from(self.primes))
    }
}

/// A bar as it is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bar {
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// The time signature that it was written in.
    pub meter: Meter,
    /// Where it stands in the text: an index into [`Chart::written`].
    pub written: usize,
}

/// A bar as it stands in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Its chords and signs in the text, in bytes, without the bar lines and
    /// without a letter, an ending or a time signature before them.
    pub source: Range<usize>,
    /// The time signature in force.
    pub meter: Meter,
    /// The section that starts here.
    pub section: Option<Section>,
    /// `|:` stands before it.
    pub opens: bool,
    /// `:|` stands after it.
    pub closes: bool,
    /// The ending that starts here, 1 to [`MOST_ENDINGS`].
    pub ending: Option<u8>,
}

/// A letter without bars of its own: its section is played again here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recall {
    /// The section that is played again.
    pub section: Section,
    /// The letter's place in the text, in bytes.
    pub source: Range<usize>,
    /// The written bar that it stands before: an index into [`Chart::written`],
    /// or its length at the end of the chart.
    pub before: usize,
}

/// A place in the chart where a chord, or silence, begins.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The chord, or none for `N.C.`
    pub chord: Option<Chord>,
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Ticks until the next change or the end of the chart.
    pub length_ticks: u32,
    /// The symbol's place in the text, in bytes.
    pub source: Range<usize>,
    /// The bar in which it begins: an index into [`Chart::bars`].
    pub bar: usize,
}

/// A chart that has been read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chart {
    /// The bars in the order of playing; at least one, at most [`MOST_BARS`].
    pub bars: Vec<Bar>,
    /// The changes in the order of playing; the first one starts at tick 0.
    pub changes: Vec<Change>,
    /// The bars in the order of the text; each is played at least once.
    pub written: Vec<Written>,
    /// The letters that play a section again, in the order of the text.
    pub recalls: Vec<Recall>,
}

impl Chart {
    /// The time signature of the first bar.
    #[must_use]
    pub fn meter(&self) -> Meter {
        self.bars.first().map_or(Meter::COMMON, |bar| bar.meter)
    }

    /// The chart's length in ticks.
    #[must_use]
    pub fn length_ticks(&self) -> u32 {
        let last = self.bars.last();
        last.map_or(0, |bar| bar.start_ticks + bar.meter.bar_ticks())
    }

    /// The bar that is played at a tick, as an index into [`Chart::bars`]; the
    /// last one past the end.
    #[must_use]
    pub fn bar_at(&self, ticks: u32) -> usize {
        let begun = self.bars.partition_point(|bar| bar.start_ticks <= ticks);
        begun.saturating_sub(1)
    }

    /// The bar as played (from 1) and the beat in it (from 1, with its fraction)
    /// at a tick. Past the end the last time signature goes on.
    #[must_use]
    pub fn bar_and_beat(&self, ticks: u32) -> (u32, f64) {
        let index = self.bar_at(ticks);
        let bar = self.bars.get(index);
        let (start, meter) = bar.map_or((0, Meter::COMMON), |b| (b.start_ticks, b.meter));
        let since = ticks - start;
        let in_bar = f64::from(since % meter.bar_ticks());
        let number = u32::try_from(index + 1).unwrap_or(u32::MAX);
        (
            number.saturating_add(since / meter.bar_ticks()),
            1.0 + in_bar / f64::from(meter.beat_ticks()),
        )
    }
}

/// Reads a chart: bars between `|`. Chords share their bar evenly; in a bar with
/// `/` each chord or slash is one beat; `%` repeats the bar that was played
/// before; `N.C.` is silence. A time signature holds from its bar on; without
/// one it is 4/4.
///
/// `|:` and `:|` enclose a repeat, `[1`, `[2` and so on its endings. `[A]` starts
/// a section; without bars of its own it plays that section again.
///
/// A slash, and a `%` for a bar of one chord, prolong the chord; a chord that is
/// written again or repeated otherwise is struck again.
///
/// # Errors
/// Everything that is wrong, in the order of the text, each with its place, its
/// bar and what was expected there. Repeats are looked at once all their signs
/// can be read, and what only playing shows, such as a `%` for a bar of another
/// length, once the repeats are in order.
pub fn parse(text: &str) -> Result<Chart, Vec<ChartError>> {
    if text.len() > LONGEST_TEXT {
        return Err(vec![ChartError {
            source: LONGEST_TEXT..text.len(),
            bar: 1,
            problem: ChartProblem::TooLong,
        }]);
    }
    let mut reading = read::read(&words::words(text));
    let mut errors = std::mem::take(&mut reading.errors);
    if reading.bars.is_empty() && reading.steps.is_empty() && errors.is_empty() {
        return Err(vec![ChartError {
            source: 0..text.len(),
            bar: 1,
            problem: ChartProblem::EmptyChart,
        }]);
    }
    let order = if reading.torn {
        Ok(Vec::new())
    } else {
        unfold::unfold(&reading.steps)
    };
    match order.and_then(|order| play::play(&reading.bars, &order)) {
        Ok((bars, changes)) if errors.is_empty() => Ok(Chart {
            bars,
            changes,
            written: reading.bars.into_iter().map(|bar| bar.written).collect(),
            recalls: reading.recalls,
        }),
        played => {
            errors.extend(played.err().unwrap_or_default());
            errors.sort_by_key(|error| error.source.start);
            Err(errors)
        }
    }
}
