//! Standard MIDI Files: writes scores, reads charts, and reads what is played. `write` imports
//! `score`; `read` and `chords` import `sheet` and the theory; `performance` imports the
//! theory, and `melody` finds a melody in it.

pub(crate) mod chords;
mod melody;
mod open;
pub mod performance;
pub(crate) mod read;
mod write;

pub use write::write;
