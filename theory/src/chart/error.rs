//! What can be wrong with a chart, in plain words. Imports the limits of `chart`.

use super::{
    Jump, LONGEST_TEXT, MOST_BARS, MOST_CHANGES, MOST_ENDINGS, MOST_JUMPS, MOST_TIMES, Meter,
    Section,
};
use crate::symbol::SymbolError;
use std::fmt;
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
    /// A symbol that is no chord.
    Symbol(String, SymbolError),
    /// A time signature out of range, or not at the start of a bar.
    Meter(String),
    /// Bars with slashes count a beat for each sign: found and expected.
    Beats(usize, u8),
    /// More chords in a bar than it can hold.
    Crowded(usize),
    /// A slash, a percent sign or `:|` with nothing before it to repeat.
    NothingToRepeat(&'static str),
    /// `%` shares its bar with something else.
    PercentNotAlone,
    /// `%` for a bar of another length: that bar's meter, and the one in force.
    PercentLength(Meter, Meter),
    /// An empty bar, which repeats the one before, at the beginning.
    EmptyBar,
    /// A pickup that does not stand before the first bar.
    PickupPlace,
    /// A pickup that is not shorter than its meter: its beats, and the meter.
    PickupLength(usize, Meter),
    /// No full bar after the pickup.
    PickupAlone,
    /// `even` for something else than chords.
    Even,
    /// No chord at all.
    EmptyChart,
    /// Signs at a bar line that are none.
    BarLine(String),
    /// Something in square brackets that is neither a section nor an ending.
    Mark(String),
    /// A section letter, an ending or another mark that is not at the start of a bar.
    MarkPlace(String),
    /// A sign of the road that is not at the end of a bar.
    TurnPlace(String),
    /// A second D.C. or D.S. at one place.
    JumpTwice,
    /// How often a repeat is played, out of range or not after a repeat.
    Times(String),
    /// How often a repeat with endings is played.
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
    /// An ending out of order: found and expected.
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

impl fmt::Display for ChartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "bar {}: {}", self.bar, self.problem)
    }
}

impl fmt::Display for ChartProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ChartProblem::Symbol(text, error) => write!(f, "\"{text}\" is not a chord: {error}"),
            ChartProblem::Meter(text) => write!(
                f,
                "\"{text}\" is no time signature here; expected 1 to 16 over 2, 4, 8 or 16, \
                 at the start of a bar"
            ),
            ChartProblem::Beats(found, expected) => write!(
                f,
                "a bar with slashes needs a chord or a slash for each beat: found {found}, \
                 expected {expected}"
            ),
            ChartProblem::Crowded(found) => {
                write!(f, "{found} chords in one bar; expected at most 16")
            }
            ChartProblem::NothingToRepeat(sign) => write!(
                f,
                "\"{sign}\" has nothing before it to repeat; expected a chord"
            ),
            ChartProblem::PercentNotAlone => {
                f.write_str("\"%\" repeats a whole bar; expected it alone in its bar")
            }
            ChartProblem::PercentLength(before, now) => write!(
                f,
                "\"%\" in {now} would repeat a bar of {before}; expected the chords of this bar"
            ),
            ChartProblem::EmptyBar => f.write_str(
                "an empty bar repeats the one before it; expected a chord or N.C. (silence) \
                 in the first one",
            ),
            ChartProblem::PickupPlace => {
                f.write_str("a pickup stands before all other bars; expected it there")
            }
            ChartProblem::PickupLength(found, meter) => write!(
                f,
                "a pickup of {found} beats in {meter}; expected fewer chords and slashes, a beat \
                 each"
            ),
            ChartProblem::PickupAlone => {
                f.write_str("a pickup and no bar after it; expected at least one")
            }
            ChartProblem::Even => f.write_str(
                "\"even\" for slashes or a repeated bar; expected chords alone, which share the \
                 bar evenly",
            ),
            ChartProblem::EmptyChart => {
                f.write_str("no chords; expected bars such as | Dm7 | G7 |")
            }
            ChartProblem::BarLine(text) => write!(
                f,
                "\"{text}\" is no bar line; expected |, ||, |], |: or :| (a repeat), or :|:"
            ),
            ChartProblem::Mark(_)
            | ChartProblem::MarkPlace(_)
            | ChartProblem::NeverClosed
            | ChartProblem::RepeatInRepeat
            | ChartProblem::EndingOutside(_)
            | ChartProblem::EndingOrder(..)
            | ChartProblem::EndingOpen(_)
            | ChartProblem::EndingEmpty(_)
            | ChartProblem::EndingAlone
            | ChartProblem::NotWritten(_)
            | ChartProblem::Times(_)
            | ChartProblem::TimesOfEndings(_) => self.form(f),
            ChartProblem::TurnPlace(_)
            | ChartProblem::JumpTwice
            | ChartProblem::JumpInRepeat(_)
            | ChartProblem::TooManyJumps
            | ChartProblem::NoSegno(_)
            | ChartProblem::NoFine(_)
            | ChartProblem::NoWayToCoda(_)
            | ChartProblem::NoCoda
            | ChartProblem::ToCodaUnused
            | ChartProblem::NeverPlayed => self.road(f),
            ChartProblem::TooMany => {
                write!(f, "too many chords; expected at most {MOST_CHANGES}")
            }
            ChartProblem::TooManyBars => write!(
                f,
                "too many bars; expected at most {MOST_BARS} with all repeats"
            ),
            ChartProblem::TooLong => write!(
                f,
                "the chart is too long; expected at most {LONGEST_TEXT} bytes"
            ),
        }
    }
}

impl ChartProblem {
    /// The words for repeats, endings and sections.
    fn form(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ChartProblem::Mark(text) => write!(
                f,
                "\"{text}\" is no section and no ending; expected [A] to [Z], perhaps with a \
                 digit or primes, or [1 to [{MOST_ENDINGS}"
            ),
            ChartProblem::MarkPlace(text) => {
                write!(f, "\"{text}\" in a bar; expected it at the start of a bar")
            }
            ChartProblem::NeverClosed => f.write_str(
                "\"|:\" is never closed; expected \":|\" before the next section or the end",
            ),
            ChartProblem::RepeatInRepeat => {
                f.write_str("\"|:\" in a repeat; expected \":|\" before it")
            }
            ChartProblem::EndingOutside(number) => write!(
                f,
                "\"[{number}\" is outside of a repeat; expected bars to repeat, then [1 and its \
                 bars, then \":|\" and [2"
            ),
            ChartProblem::EndingOrder(_, expected) if *expected > MOST_ENDINGS => {
                write!(f, "too many endings; expected at most {MOST_ENDINGS}")
            }
            ChartProblem::EndingOrder(found, expected) => {
                write!(f, "\"[{found}\" is out of order; expected \"[{expected}\"")
            }
            ChartProblem::EndingOpen(number) => write!(
                f,
                "\"[{number}\" in the ending before it; expected \":|\" between them"
            ),
            ChartProblem::EndingEmpty(number) => {
                write!(f, "\"[{number}\" has no bars; expected at least one")
            }
            ChartProblem::EndingAlone => {
                f.write_str("\"[1\" is the only ending; expected \"[2\" after its \":|\"")
            }
            ChartProblem::NotWritten(section) => write!(
                f,
                "{section} has no bars; expected them here or at an earlier {section}"
            ),
            ChartProblem::Times(text) => write!(
                f,
                "\"{text}\" says how often a repeat is played; expected x2 to x{MOST_TIMES}, right \
                 after \":|\""
            ),
            ChartProblem::TimesOfEndings(text) => write!(
                f,
                "\"{text}\" after an ending; expected an ending for each time, [1, [2 and so on"
            ),
            _ => Ok(()),
        }
    }

    /// The words for the signs of the road.
    fn road(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ChartProblem::TurnPlace(text) => {
                write!(
                    f,
                    "\"{text}\" before a chord; expected it at the end of a bar"
                )
            }
            ChartProblem::JumpTwice => {
                f.write_str("two jumps at one place; expected a bar between them")
            }
            ChartProblem::JumpInRepeat(jump) => write!(
                f,
                "\"{jump}\" in a repeat; expected it after \":|\", or in the last ending"
            ),
            ChartProblem::TooManyJumps => {
                write!(f, "too many D.C. and D.S.; expected at most {MOST_JUMPS}")
            }
            ChartProblem::NoSegno(jump) => {
                write!(
                    f,
                    "\"{jump}\" has nowhere to go; expected \"Segno\" before it"
                )
            }
            ChartProblem::NoFine(jump) => write!(
                f,
                "\"{jump}\" finds no end; expected \"Fine\" after a bar on its way"
            ),
            ChartProblem::NoWayToCoda(jump) => write!(
                f,
                "\"{jump}\" finds no way to the coda; expected \"To Coda\" after a bar on its way"
            ),
            ChartProblem::NoCoda => {
                f.write_str("\"To Coda\" leads nowhere; expected \"Coda\" before a later bar")
            }
            ChartProblem::ToCodaUnused => f.write_str(
                "no jump comes by \"To Coda\"; expected \"D.C. al Coda\" or \"D.S. al Coda\" \
                 after it",
            ),
            ChartProblem::NeverPlayed => f.write_str(
                "this is never played; expected it on the road: before the jump, or from \
                 \"Coda\" on",
            ),
            _ => Ok(()),
        }
    }
}

impl std::error::Error for ChartError {}
