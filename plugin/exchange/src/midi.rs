//! Standard MIDI Files: writes scores and reads charts. `write` imports `score`; `read` and
//! `chords` import `sheet` and the theory.

pub(crate) mod chords;
pub(crate) mod read;
mod write;

pub use write::write;
