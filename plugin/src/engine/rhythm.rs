//! When chords are struck, how long and how loud: patterns, swing, density and a
//! human touch, for one bar at a time. A bar's strikes are a function of the bar,
//! of the settings and of the tempo, and of nothing else. Imports `pattern`.

mod pattern;
mod strikes;

pub use pattern::{BAR_CELLS, Drawn, DrawnCell, Mark, Rhythm};
pub use strikes::Strikes;

use guidehand_theory::chart::{Meter, TICKS_PER_QUARTER};
use tinyvec::ArrayVec;

/// Ticks in an eighth note.
pub const EIGHTH_TICKS: f64 = 480.0;

/// Ticks in a quarter note.
const QUARTER_TICKS: f64 = TICKS_PER_QUARTER as f64;

/// The longest that a chord of a pattern sounds, in ticks.
pub const LONGEST_TICKS: f64 = 2.0 * 4.0 * EIGHTH_TICKS;

/// How a rhythm is played.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Groove {
    /// The rhythm.
    pub rhythm: Rhythm,
    /// What the user has drawn.
    pub drawn: Drawn,
    /// Where the off-beat eighth lies in its beat: 0.5 (straight) to 0.75 (hard).
    pub swing: f64,
    /// Swing grows straighter as the tempo rises past 220 bpm.
    pub swing_follows: bool,
    /// A factor for the length of chords, 0.25 to 2.
    pub length: f64,
    /// How much accents stand out, 0 to 1.
    pub accents: f64,
    /// How far a chord may be off its time, in seconds, 0 to 0.03.
    pub touch_seconds: f64,
    /// How far a chord may be off its velocity, 0 to 0.16 of the full range.
    pub touch_velocity: f64,
    /// Thins (to -1) or fills (to 1) a pattern.
    pub density: f64,
    /// Off-beats right before a change take the coming chord.
    pub ahead: bool,
    /// What varies on purpose comes from it.
    pub seed: u32,
}

impl Groove {
    /// Where the off-beat eighth lies at a tempo: as set up to 220 bpm, straight
    /// from 340 bpm on (common practice, no published source).
    #[must_use]
    pub fn off_beat(&self, bpm: f64) -> f64 {
        let swung = if self.swing_follows {
            ((340.0 - bpm) / 120.0).clamp(0.0, 1.0)
        } else {
            1.0
        };
        0.5 + (self.swing - 0.5) * swung
    }

    /// Whether the strikes of a bar depend on the tempo.
    #[must_use]
    pub fn follows_tempo(&self) -> bool {
        self.swing_follows && self.swing > 0.5 || self.touch_seconds > 0.0
    }
}

/// A stretch of one chord, or of silence.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Span {
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

/// The spans around a bar: the one before the first that starts in it, and all
/// that start in it or within an eighth after it.
pub type Spans = ArrayVec<[Span; 64]>;

/// A bar of the performance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
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

impl Bar {
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
}

/// One stroke of the hand.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Strike {
    /// When it starts, in ticks of the performance.
    pub start_ticks: f64,
    /// When it ends at the latest, in ticks of the performance.
    pub end_ticks: f64,
    /// The chord that it plays.
    pub span: Span,
    /// A factor for the velocity.
    pub loudness: f64,
    /// Added to the velocity after that, in parts of the full range.
    pub touch: f64,
}

impl Strike {
    /// The velocity, 1/127 to 1, for a base of 0 to 1.
    #[must_use]
    pub fn velocity(&self, base: f32) -> f32 {
        let velocity = f64::from(base) * self.loudness + self.touch;
        #[expect(clippy::cast_possible_truncation, reason = "within 0 to 1")]
        {
            velocity.clamp(1.0 / 127.0, 1.0) as f32
        }
    }
}

/// Whether a place in a bar, in ticks, is off the beat: off the quarters, or off
/// the dotted quarters of a meter over 8 or 16.
fn is_off_beat(place_ticks: f64, meter: Meter) -> bool {
    let beat = if meter.unit >= 8 { 1.5 } else { 1.0 };
    place_ticks % (QUARTER_TICKS * beat) != 0.0
}

#[cfg(test)]
mod tests;
