//! Words for dressings: what each is called, how usual it is, and why. Imports `out` and
//! `tension`.

use super::out::{Out, Words, display_in_ascii};
use super::tension::goes;
use crate::degree::Degree;
use crate::dressing::{Fit, Name, Reason};
use crate::scale::Scale;
use std::fmt::{self, Write};

display_in_ascii!(Name, Fit, Reason);

impl Words for Name {
    fn write(&self, out: &mut Out) -> fmt::Result {
        match self {
            Name::Degrees(degrees) => list(degrees, out),
            Name::Plain => out.write_str("plain"),
            Name::Raised { from, to } => two(*to, " for ", *from, out),
            Name::Line { from, to } => two(*from, " then ", *to, out),
            Name::AsItSounds(degrees) if degrees.is_empty() => out.write_str("as it sounds"),
            Name::AsItSounds(degrees) => list(degrees, out),
        }
    }
}

fn list(degrees: &[Degree], out: &mut Out) -> fmt::Result {
    for (i, degree) in degrees.iter().enumerate() {
        if i > 0 {
            out.write_str(" ")?;
        }
        degree.write(out)?;
    }
    Ok(())
}

fn two(first: Degree, between: &str, second: Degree, out: &mut Out) -> fmt::Result {
    first.write(out)?;
    out.write_str(between)?;
    second.write(out)
}

/// The name of a scale: `Dorian b9`.
fn name(scale: &Scale, out: &mut Out) -> fmt::Result {
    for (i, word) in scale.name.split(' ').enumerate() {
        if i > 0 {
            out.write_str(" ")?;
        }
        if word.ends_with(|c: char| c.is_ascii_digit()) {
            out.name(word)?;
        } else {
            out.write_str(word)?;
        }
    }
    Ok(())
}

impl Words for Fit {
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.write_str(match self {
            Fit::Usual => "usual here",
            Fit::Bold => "bold here",
            Fit::AgainstMelody => "against the melody",
        })
    }
}

impl Words for Reason {
    fn write(&self, out: &mut Out) -> fmt::Result {
        match *self {
            Reason::FirstChoice(why) => {
                out.write_str("the first choice: ")?;
                why.write(out)
            }
            Reason::Choice(why) => {
                out.write_str("another choice: ")?;
                why.write(out)
            }
            Reason::Unusual(to) => write!(out, "not among the usual choices: {}", goes(to)),
            Reason::PlainFifth(why) => {
                out.write_str("the usual 9 with the natural five: ")?;
                why.write(out)
            }
            Reason::ChordTones => out.write_str("chord tones alone"),
            Reason::LeadsTo(degree) => {
                out.write_str("falls a half step to the ")?;
                degree.write(out)?;
                out.write_str(" of the next chord")
            }
            Reason::Resolves => out.write_str("the fourth resolves to the third"),
            Reason::InScale(scale) => {
                out.write_str("all its notes are in the chord's scale here, ")?;
                name(scale, out)
            }
            Reason::InKey(key) => {
                out.write_str("all its notes are in ")?;
                key.write(out)
            }
            Reason::OutsideScale(degree, scale) => {
                degree.write(out)?;
                out.write_str(" is not in the chord's scale here, ")?;
                name(scale, out)
            }
            Reason::MinorTonic => out.write_str("a minor tonic takes its sixth or either seventh"),
            Reason::ThirdOfDominant => {
                out.write_str("the sixth of a ii is the third of its dominant")
            }
            Reason::MinorLine => out.write_str("part of the line 1 7 ♭7 6 over one minor chord"),
            Reason::TakesAway(degrees) => {
                out.write_str("the symbol loses its ")?;
                let degrees: Vec<Degree> = degrees.iter().collect();
                list(&degrees, out)
            }
            Reason::NotAltered => out.write_str("the symbol asks for altered tensions alone"),
            Reason::Melody(degree, note) => {
                degree.write(out)?;
                out.write_str(" lies a half step from the melody's ")?;
                note.write(out)
            }
            Reason::Sounds => out.write_str("as the symbol or the player has it"),
        }
    }
}
