//! Pitches: spelled names (letter and accidental), pitch classes, MIDI notes, and the
//! intervals between them. Imports nothing of the crate; every other file may import it.

mod language;
mod letter;
mod name;
mod note;
mod spelled;

pub use language::{Named, NoteNames};
pub use letter::{Interval, Letter};
pub use name::NoteName;
pub use note::{MidiNote, PitchClass};
pub use spelled::SpelledPitch;
