//! Melodies: notes in time over a chart, one at a time. Their small text, and which of their notes
//! the chords under them must agree with. Imports `chart` and `pitch`.
//!
//! `length` holds the note values, `read` and `print` go from text to melody and back, `transpose` moves a
//! text to another key, and `weight` tells the notes that matter to a chord from those that pass.

mod error;
mod length;
mod line;
mod print;
mod read;
#[cfg(test)]
mod tests;
mod transpose;
mod weight;

pub use error::{MelodyError, MelodyProblem};
pub use line::{Melody, MelodyNote};
pub use read::parse;
pub use transpose::transposed;

/// The most notes in a melody.
pub const MOST_NOTES: usize = 20_000;

/// The longest text of a melody, in bytes.
pub const LONGEST_TEXT: usize = 256 * 1024;
