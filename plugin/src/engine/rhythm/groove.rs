//! How a rhythm is played, as the user has set it. Imports `pattern` and
//! `styles`.

use super::pattern::{Drawn, Rhythm};
use super::styles::Feel;

/// How a rhythm is played.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Groove {
    /// The rhythm.
    pub rhythm: Rhythm,
    /// What the user has drawn.
    pub drawn: Drawn,
    /// Where the off-beat eighth lies in its beat: 0.5 (straight) to 0.75 (hard).
    pub swing: f64,
    /// Swing becomes straighter as the tempo rises past 220 bpm.
    pub swing_follows: bool,
    /// A factor for the length of chords, 0.25 to 2.
    pub length: f64,
    /// How much accents stand out, 0 to 1.
    pub accents: f64,
    /// How far a chord may be off its time, in seconds, 0 to 0.03.
    pub touch_seconds: f64,
    /// How far a chord may be off its velocity, 0 to 0.16 of the full range.
    pub touch_velocity: f64,
    /// Thins a pattern (down to -1) or fills it (up to 1).
    pub density: f64,
    /// Off-beats right before a change take the coming chord.
    pub ahead: bool,
    /// How freely patterns, lengths and velocities vary: 0 (exactly as written) to 1.
    pub variation: f64,
    /// Everything that varies on purpose is drawn from this seed.
    pub seed: u32,
}

impl Groove {
    /// Where the off-beat eighth lies at a tempo: in the middle in a straight style, and otherwise
    /// as set up to 220 bpm, straight from 340 bpm on (common practice, no published source).
    #[must_use]
    pub fn off_beat(&self, bpm: f64) -> f64 {
        if !self.swings() {
            return 0.5;
        }
        let swung = if self.swing_follows {
            ((340.0 - bpm) / 120.0).clamp(0.0, 1.0)
        } else {
            1.0
        };
        0.5 + (self.swing - 0.5) * swung
    }

    /// Whether its off-beats may swing.
    #[must_use]
    pub fn swings(&self) -> bool {
        self.rhythm.feel() != Feel::Straight && self.swing > 0.5
    }

    /// Whether the strikes of a bar depend on the tempo.
    #[must_use]
    pub fn follows_tempo(&self) -> bool {
        self.swing_follows && self.swings() || self.touch_seconds > 0.0
    }
}
