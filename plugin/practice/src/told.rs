//! What there is to tell of a drill: why there is none, and what of the exercise cannot be asked. The words
//! for it stand here alone. Imports the theory.

use chrono::{DateTime, Utc};
use guidehand_theory::chord::Chord;
use guidehand_theory::symbol::{Sign, Symbol};
use std::fmt;

/// Why a chord cannot be asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LeftOut {
    /// No hand of the player's reaches the notes.
    Span,
    /// The notes do not lie in the register in the position that is asked for.
    Register,
    /// The texture has no such position for it.
    Position,
}

/// What of an exercise cannot be asked, or asks for care.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// Chords are left out.
    LeftOut {
        /// Why.
        why: LeftOut,
        /// How many.
        count: usize,
        /// The first of them.
        first: Chord,
    },
    /// Chords span more than the hand takes at ease.
    Wide {
        /// How many.
        count: usize,
        /// The widest span of one hand, in half steps.
        span: u8,
    },
    /// The chart ends before the last bar that is asked for.
    EndsBefore {
        /// The bars that it has.
        bars: u32,
    },
    /// There is more than one drill holds.
    Cut {
        /// So many questions are asked.
        kept: usize,
    },
}

/// Why there is no drill.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoDrill {
    /// No family is listed.
    NoFamilies,
    /// No key is listed.
    NoKeys,
    /// There is no chart, or no chord in it.
    NoChords,
    /// The chart ends before the first bar that is asked for.
    BeyondEnd {
        /// The bars that the chart has.
        bars: u32,
    },
    /// There are no chords in the bars that are asked for.
    SilentBars,
    /// Nothing of it is due.
    NothingDue {
        /// When the first of it will be.
        next: Option<DateTime<Utc>>,
    },
    /// Every chord is left out.
    NothingLeft(Vec<Told>),
}

/// A span in the words of players.
fn span(half_steps: u8) -> &'static str {
    match half_steps {
        0..=12 => "an octave",
        13 => "a minor ninth",
        14 => "a ninth",
        15 => "a minor tenth",
        16 => "a tenth",
        17 => "an eleventh",
        _ => "more than an eleventh",
    }
}

impl fmt::Display for Told {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Told::LeftOut { why, count, first } => {
                let chord = Symbol(first, Sign::Ascii);
                match count {
                    0 | 1 => write!(f, "{chord} is left out: ")?,
                    2 => write!(f, "{chord} and one more chord are left out: ")?,
                    _ => write!(f, "{chord} and {} more chords are left out: ", count - 1)?,
                }
                f.write_str(match why {
                    LeftOut::Span => "the span asked for exceeds yours. Take a smaller texture.",
                    LeftOut::Register => {
                        "the register has no place for this position. Take the other position or a \
                         wider register."
                    }
                    LeftOut::Position => {
                        "this texture does not have the position. Take either position or another \
                         texture."
                    }
                })
            }
            Told::Wide { count, span: wide } => {
                let (wide, chords) = (span(*wide), if *count == 1 { "chord" } else { "chords" });
                write!(
                    f,
                    "{count} {chords} span up to {wide}, more than your hand takes at ease: rest the \
                     hand now and then, or take a smaller texture."
                )
            }
            Told::EndsBefore { bars } => {
                write!(
                    f,
                    "The chart ends with bar {bars}, and so does the practice."
                )
            }
            Told::Cut { kept } => write!(
                f,
                "This is more than can be asked at one time: the first {kept} chords are."
            ),
        }
    }
}

impl fmt::Display for NoDrill {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoDrill::NoFamilies => f.write_str("No chord is chosen: choose at least one."),
            NoDrill::NoKeys => f.write_str("No key is chosen: choose at least one."),
            NoDrill::NoChords => f.write_str("The chart has no chords to ask for."),
            NoDrill::BeyondEnd { bars } => write!(
                f,
                "The chart ends with bar {bars}, before the bars that are chosen."
            ),
            NoDrill::SilentBars => f.write_str("There are no chords in the bars that are chosen."),
            NoDrill::NothingDue { next: None } => f.write_str("Nothing of this is due."),
            NoDrill::NothingDue { next: Some(next) } => write!(
                f,
                "Nothing of this is due before {}.",
                next.format("%Y-%m-%d")
            ),
            NoDrill::NothingLeft(told) => f.write_str(&sentences(told)),
        }
    }
}

impl std::error::Error for NoDrill {}

/// One sentence after the other.
pub(crate) fn sentences(told: &[Told]) -> String {
    let all: Vec<String> = told.iter().map(ToString::to_string).collect();
    all.join(" ")
}
