//! Words for what there is to tell of a voicing that a player has placed. Imports `out`.

use super::out::{Out, Words, display_in_ascii};
use crate::pin::{Edge, Misfit, NotesError, Verdict};
use crate::voicing::MOST_NOTES;
use std::fmt::{self, Write};

display_in_ascii!(NotesError, Misfit, Verdict);

impl Words for NotesError {
    fn write(&self, out: &mut Out) -> fmt::Result {
        match self {
            NotesError::NoNotes => out.write_str("no notes: play or add at least one"),
            NotesError::TooMany(count) => {
                write!(out, "{count} notes: a voicing holds at most {MOST_NOTES}")
            }
        }
    }
}

impl Words for Misfit {
    fn write(&self, out: &mut Out) -> fmt::Result {
        match self {
            Misfit::NoThird(degree) | Misfit::NoSeventh(degree) => {
                out.write_str("the guide tone ")?;
                out.name(degree)?;
                out.write_str(" is missing")
            }
            Misfit::NoPlace(note) => {
                out.name(note)?;
                out.write_str(" has no place in this chord")
            }
            Misfit::Against {
                note,
                degree,
                written,
            } => {
                out.name(note)?;
                out.write_str(" is the ")?;
                out.name(degree)?;
                out.write_str(", but the chord has ")?;
                out.name(written)
            }
        }
    }
}

impl Words for Verdict {
    fn write(&self, out: &mut Out) -> fmt::Result {
        match self {
            Verdict::Misfit(misfit) => misfit.write(out),
            Verdict::Clash {
                note,
                degree,
                against,
            } => {
                out.name(note)?;
                out.write_str(", the ")?;
                out.name(degree)?;
                out.write_str(", rubs against the ")?;
                out.name(against)
            }
            Verdict::MinorNinth { low, high } => {
                out.name(low)?;
                out.write_str(" and ")?;
                out.name(high)?;
                out.write_str(" lie a minor ninth apart")
            }
            Verdict::SharpNineInside => {
                out.write_str("the ♯9 lies a half step under the third; it sits better on top")
            }
            Verdict::Stretch { span, at_ease } => {
                let (span, at_ease) = (interval(*span), interval(*at_ease));
                write!(
                    out,
                    "a hand spans {span}, more than {at_ease}; never force a stretch"
                )
            }
            Verdict::TwoHands { span, at_most } => {
                let (span, at_most) = (interval(*span), interval(*at_most));
                write!(
                    out,
                    "it spans {span}, more than {at_most}, and takes two hands; never force a \
                     stretch"
                )
            }
            Verdict::TooWide { span, at_most } => {
                let (span, at_most) = (interval(*span), interval(*at_most));
                write!(
                    out,
                    "a hand of two would span {span}, more than {at_most}; never force a stretch"
                )
            }
            Verdict::LowInterval { low, high } => {
                out.name(low)?;
                out.write_str(" and ")?;
                out.name(high)?;
                out.write_str(" lie too low to sound clear together")
            }
            Verdict::OutOfRegister { note, edge } => {
                out.name(note)?;
                out.write_str(match edge {
                    Edge::Bottom => " lies below the register",
                    Edge::Top => " lies above the register",
                })
            }
            Verdict::RootSounds => out.write_str("the root sounds; the bass has it"),
        }
    }
}

/// The name of an interval of so many semitones.
fn interval(semitones: u8) -> String {
    let simple = match semitones {
        12 => "an octave",
        13 => "a minor ninth",
        14 => "a ninth",
        15 => "a minor tenth",
        16 => "a tenth",
        17 => "an eleventh",
        18 => "an augmented eleventh",
        19 => "a twelfth",
        24 => "two octaves",
        _ => return format!("{semitones} half steps"),
    };
    simple.to_owned()
}
