//! What is wrong with a chart, in words. Imports `chart`.

use crate::chart::{
    ChartError, ChartProblem, LONGEST_TEXT, MOST_BARS, MOST_CHANGES, MOST_ENDINGS, MOST_JUMPS,
    MOST_SHARES, MOST_TIMES,
};
use std::fmt;

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
            ChartProblem::Beats(..)
            | ChartProblem::Crowded(_)
            | ChartProblem::NothingToRepeat(_)
            | ChartProblem::PercentNotAlone
            | ChartProblem::PercentLength(..)
            | ChartProblem::EmptyBar
            | ChartProblem::PickupPlace
            | ChartProblem::PickupLength(..)
            | ChartProblem::PickupAlone
            | ChartProblem::Even => bar(self, f),
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
            | ChartProblem::TimesOfEndings(_) => form(self, f),
            ChartProblem::TurnPlace(_)
            | ChartProblem::JumpTwice
            | ChartProblem::JumpInRepeat(_)
            | ChartProblem::TooManyJumps
            | ChartProblem::NoSegno(_)
            | ChartProblem::NoFine(_)
            | ChartProblem::NoWayToCoda(_)
            | ChartProblem::NoCoda
            | ChartProblem::ToCodaUnused
            | ChartProblem::NeverPlayed => road(self, f),
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

/// The words for what stands in a bar.
fn bar(problem: &ChartProblem, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    match problem {
        ChartProblem::Beats(found, expected) => write!(
            f,
            "a bar with slashes needs a chord or a slash for each beat: found {found}, \
                 expected {expected}"
        ),
        ChartProblem::Crowded(found) => {
            write!(
                f,
                "{found} chords in one bar; expected at most {MOST_SHARES}"
            )
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
        _ => Ok(()),
    }
}

/// The words for repeats, endings and sections.
fn form(problem: &ChartProblem, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    match problem {
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
fn road(problem: &ChartProblem, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    match problem {
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
