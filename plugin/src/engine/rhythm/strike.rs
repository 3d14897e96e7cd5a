//! One stroke of the hand. Imports `bar`.

use super::bar::ChordSpan;

/// One stroke of the hand.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Strike {
    /// When it starts, in ticks of the performance.
    pub start_ticks: f64,
    /// When it ends at the latest, in ticks of the performance.
    pub end_ticks: f64,
    /// The chord that it plays.
    pub span: ChordSpan,
    /// A factor for the velocity.
    pub loudness: f64,
    /// Added to the velocity after that, in parts of the full range.
    pub touch: f64,
}

impl Strike {
    /// Whether there is room for it to sound. One without room keeps its place in the order.
    #[must_use]
    pub fn sounds(&self) -> bool {
        self.end_ticks > self.start_ticks
    }

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
