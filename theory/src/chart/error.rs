//! What can be wrong with a chart, in plain words. Imports the limits of `chart`.

use super::{LONGEST_TEXT, MOST_BARS, MOST_CHANGES, MOST_ENDINGS, Meter, Section};
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
    /// Two bar lines with nothing between them.
    EmptyBar,
    /// No chord at all.
    EmptyChart,
    /// Signs at a bar line that are none.
    BarLine(String),
    /// Something in square brackets that is neither a section nor an ending.
    Mark(String),
    /// A section letter or an ending that is not at the start of a bar.
    MarkPlace(String),
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
            ChartProblem::EmptyBar => {
                f.write_str("an empty bar; expected a chord, % (repeat the bar) or N.C. (silence)")
            }
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
            | ChartProblem::NotWritten(_) => self.form(f),
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
            _ => Ok(()),
        }
    }
}

impl std::error::Error for ChartError {}
