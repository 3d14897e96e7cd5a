//! The text of a melody in another key. Imports `read`, and `pitch`.

use super::read::pitch;
use crate::pitch::{MidiNote, NoteNames};
use std::fmt::Write;

/// The text of a melody so many half steps higher, each name `fifths` further along the line of
/// fifths. Everything but the notes stays as it was typed. None if a note leaves the range of MIDI.
#[must_use]
pub fn transposed(text: &str, names: NoteNames, half_steps: i8, fifths: i8) -> Option<String> {
    let ends = |c: char| c.is_whitespace() || matches!(c, '|' | ']' | '~');
    let mut out = String::with_capacity(text.len() + 16);
    for part in text.split_inclusive(ends) {
        let word = part.trim_end_matches(ends);
        match pitch(word, names) {
            Ok((Some(before), length)) => {
                let note = before.midi()?.semitones() + i32::from(half_steps);
                let note = MidiNote::new(u8::try_from(note).ok()?)?;
                let after = before.name.along_fifths(fifths).readable().at(note);
                let name = after.name.named(names);
                // Writing to a text does not fail.
                let _written = write!(out, "{name}{}{length}", after.octave);
            }
            _ => out.push_str(word),
        }
        out.push_str(part.get(word.len()..).unwrap_or(""));
    }
    Some(out)
}
