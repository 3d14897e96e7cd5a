//! When chords are struck, how long and how loud: patterns, swing, density, variation and a human
//! touch, for one bar at a time. The strikes of a bar depend on the bar, the settings and the tempo,
//! and on nothing else. Runs on the audio thread, and in the panel when a score is written. Imports
//! `clock`, `ticks` and the theory.

mod bar;
mod chance;
mod form;
mod groove;
mod pattern;
mod strike;
mod strikes;
mod styles;
mod variation;

pub use bar::{ChordSpan, ChordSpans, Ends, InForm, LONGEST_TICKS, PlayedBar};
pub use groove::Groove;
pub use pattern::{BAR_CELLS, Drawn, DrawnEighth, Rhythm};
pub use strike::Strike;
pub use strikes::Strikes;
pub use styles::Feel;

#[cfg(test)]
mod tests;
