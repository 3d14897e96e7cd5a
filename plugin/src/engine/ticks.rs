//! Note lengths in ticks, as floats. Positions are floats on the audio thread, because a sample
//! seldom falls on a whole tick. Imports nothing of the crate; anybody may import it.

use guidehand_theory::chart::TICKS_PER_QUARTER;

/// Ticks in a quarter note.
pub const QUARTER_TICKS: f64 = TICKS_PER_QUARTER as f64;

/// Ticks in an eighth note.
pub const EIGHTH_TICKS: f64 = QUARTER_TICKS / 2.0;
