//! Words for what is wrong with a shape that a player makes. Imports `out`.

use super::out::{Out, Words, display_in_ascii};
use crate::own_shape::{MOST_OCTAVES, ShapeError};
use crate::voicing::MOST_NOTES;
use std::fmt::{self, Write};

display_in_ascii!(ShapeError);

impl Words for ShapeError {
    fn write(&self, out: &mut Out) -> fmt::Result {
        match self {
            ShapeError::TooFewNotes => out.write_str("a shape needs at least two notes"),
            ShapeError::TooManyNotes => write!(out, "a shape holds at most {MOST_NOTES} notes"),
            ShapeError::TooHigh(at) => {
                let note = at + 1;
                write!(
                    out,
                    "note {note} lies more than {MOST_OCTAVES} octaves above its next place"
                )
            }
            ShapeError::NotOfFamily { at, degree, family } => {
                write!(out, "note {}: ", at + 1)?;
                out.name(degree)?;
                out.write_str(" never sounds over ")?;
                out.name(family.name())?;
                out.write_str(" chords")
            }
            ShapeError::TooWide => out.write_str("the shape is wider than a keyboard"),
            ShapeError::NoFamily => out.write_str("this chord belongs to no family of shapes"),
        }
    }
}
