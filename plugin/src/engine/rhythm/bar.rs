//! The bars of a performance and the chords in them, on one line of time. Imports `ticks`.

use crate::engine::ticks::{EIGHTH_TICKS, QUARTER_TICKS};
use guidehand_theory::chart::Meter;
use tinyvec::ArrayVec;

/// The longest that a chord of a pattern sounds, in ticks.
pub const LONGEST_TICKS: f64 = 2.0 * 8.0 * EIGHTH_TICKS;

/// A stretch of one chord, or of silence.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ChordSpan {
    /// Its start, in ticks of the performance.
    pub start_ticks: f64,
    /// Its end, in ticks of the performance.
    pub end_ticks: f64,
    /// The end lies on an off-beat eighth that swings.
    pub end_swings: bool,
    /// The index of the change in the chart.
    pub change: usize,
    /// There is no chord.
    pub silent: bool,
}

/// The spans around a bar: all that sound in it and in the bar before, and those that start within
/// an eighth after it.
pub type ChordSpans = ArrayVec<[ChordSpan; 64]>;

/// A bar of the performance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlayedBar {
    /// Counted from 0 at the start of the performance, through all repeats.
    pub number: i64,
    /// Its number from the first full bar, for patterns of two bars.
    pub nth: i64,
    /// Its start, in ticks of the performance.
    pub start_ticks: f64,
    /// Its time signature.
    pub meter: Meter,
    /// The time signature of the bar before; none if there is no such bar.
    pub before: Option<Meter>,
    /// How far a strike may be off its place, in ticks.
    pub lead_ticks: f64,
}

impl PlayedBar {
    /// Its length in ticks.
    #[must_use]
    pub fn length_ticks(&self) -> f64 {
        f64::from(self.meter.bar_ticks())
    }

    /// Its end, in ticks of the performance.
    #[must_use]
    pub fn end_ticks(&self) -> f64 {
        self.start_ticks + self.length_ticks()
    }

    /// The bar before. What stands before that is not known.
    #[must_use]
    pub fn earlier(&self) -> Option<PlayedBar> {
        let meter = self.before?;
        Some(PlayedBar {
            number: self.number - 1,
            nth: self.nth - 1,
            start_ticks: self.start_ticks - f64::from(meter.bar_ticks()),
            meter,
            before: None,
            lead_ticks: self.lead_ticks,
        })
    }
}

/// Whether a place in a bar, in ticks, is off the beat. The beats are quarters, or dotted quarters
/// in a meter over 8 or 16.
pub(super) fn is_off_beat(place_ticks: f64, meter: Meter) -> bool {
    let beat = if meter.unit >= 8 { 1.5 } else { 1.0 };
    place_ticks % (QUARTER_TICKS * beat) != 0.0
}
