//! Samples since the last reset, whatever the song does. Used on the audio thread; imports `clock` and
//! `hand`.

use crate::engine::clock;
use crate::engine::hand::TOGETHER_SECONDS;

/// Samples since the last reset, and how many make a second.
#[derive(Clone, Copy, Debug, Default)]
pub struct Elapsed {
    /// At the start of the block.
    pub samples: u64,
    rate_hz: f64,
    /// Keys within so many samples belong together.
    pub together_samples: u64,
}

impl Elapsed {
    /// Sets the sample rate, in Hz.
    pub fn set_rate(&mut self, rate_hz: f32) {
        self.rate_hz = f64::from(rate_hz);
        let together = self.samples_of(TOGETHER_SECONDS).round();
        self.together_samples = clock::whole(together).map_or(0, u64::from);
    }

    /// Starts again from nothing, at the same rate.
    pub fn reset(&mut self) {
        self.samples = 0;
    }

    /// Seconds as samples.
    pub fn samples_of(&self, seconds: f64) -> f64 {
        seconds * self.rate_hz
    }
}
