//! The bars of a performance and the chords in them, on one line of time. Imports `ticks`.

use crate::engine::ticks::{EIGHTH_TICKS, QUARTER_TICKS};
use guidehand_theory::chart::Meter;
use tinyvec::ArrayVec;

/// The longest place of a pattern, in eighths.
pub const LONGEST_EIGHTHS: u8 = 16;

/// The longest that a chord of a pattern sounds, in ticks.
pub const LONGEST_TICKS: f64 = 2.0 * LONGEST_EIGHTHS as f64 * EIGHTH_TICKS;

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

/// What ends with a bar.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Ends {
    /// Nothing.
    #[default]
    Nothing,
    /// A section, or the chart, which starts again.
    Section,
    /// The performance.
    Song,
}

/// The place of a bar in the form.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct InForm {
    /// Its number in its section, from 0.
    pub in_section: u32,
    /// What ends with it.
    pub ends: Ends,
}

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
    /// Its place in the form.
    pub form: InForm,
    /// The time signature and the place of the bar before; none if there is no such bar.
    pub before: Option<(Meter, InForm)>,
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
        let (meter, form) = self.before?;
        Some(PlayedBar {
            number: self.number - 1,
            nth: self.nth - 1,
            start_ticks: self.start_ticks - f64::from(meter.bar_ticks()),
            meter,
            form,
            before: None,
            lead_ticks: self.lead_ticks,
        })
    }
}

/// Where the second half of a bar begins, in eighths. There is none in bars whose beats come in no
/// halves, such as those of three.
pub(super) const fn half_of(meter: Meter) -> Option<u8> {
    match (meter.beats, meter.unit) {
        (4, 4) | (2, 2) => Some(4),
        (5, 4) | (12, 8) => Some(6),
        (6, 8) => Some(3),
        _ => None,
    }
}

/// Whether a place in a bar, in ticks, is off the beat. The beats are quarters, or dotted quarters
/// in a meter over 8 or 16.
pub(super) fn is_off_beat(place_ticks: f64, meter: Meter) -> bool {
    let beat = if meter.unit >= 8 { 1.5 } else { 1.0 };
    place_ticks % (QUARTER_TICKS * beat) != 0.0
}
