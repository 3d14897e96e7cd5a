//! Standard MIDI Files: scores out, charts in. `write` imports `score`; `read` and
//! `chords` import `sheet` and the theory.

pub(crate) mod chords;
pub(crate) mod read;
mod write;

pub use write::write;
