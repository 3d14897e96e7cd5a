//! The gain and the limiter that the sum of the voices passes through. Runs on the audio thread.
//! Imports `decay`; only `tone` imports it.

use super::decay::fall_by_60_db;

/// How long a step of the gain takes until 60 dB of it are done.
const GAIN_GLIDE_SECONDS: f32 = 0.04;

/// The smallest step of a glide. Without it the steps would shrink until rounding swallows them, and
/// the glide would never arrive.
const LEAST_STEP: f32 = 1.0e-6;

/// A value that follows its target sample by sample.
pub(super) struct Glide {
    now: f32,
    share: f32,
}

impl Glide {
    /// Starts at 0.
    pub fn new(sample_rate_hz: f32) -> Self {
        Self {
            now: 0.0,
            share: 1.0 - fall_by_60_db(GAIN_GLIDE_SECONDS * sample_rate_hz),
        }
    }

    /// Takes a value at once.
    pub fn jump(&mut self, target: f32) {
        self.now = target;
    }

    /// Takes one sample's step towards the target, and returns the value.
    pub fn towards(&mut self, target: f32) -> f32 {
        let way = target - self.now;
        let step = (way.abs() * self.share).max(LEAST_STEP);
        self.now = if way.abs() <= step {
            target
        } else {
            self.now + step.copysign(way)
        };
        self.now
    }
}

/// Peaks up to here (-8.5 dBFS) pass unchanged.
const KNEE: f32 = 0.375;

/// No peak exceeds this (-6.02 dBFS).
const CEILING: f32 = 0.5;

/// Time in which the limiter's excess over the knee falls by 60 dB.
const LIMITER_RELEASE_SECONDS: f32 = 2.0;

/// Turns the level down as peaks rise over the knee. It follows a peak at once and releases slowly,
/// so that it changes the level and does not bend the wave.
///
/// Arithmetic keeps the ceiling: `peak` is at least the size of the sample, and `bent(peak)` lies
/// below the ceiling for every peak. So the sample times `bent(peak) / peak` lies below it too.
pub(super) struct Limiter {
    /// The highest recent peak, never under the knee.
    peak: f32,
    release_factor: f32,
}

impl Limiter {
    /// Starts open.
    pub fn new(sample_rate_hz: f32) -> Self {
        Self {
            peak: KNEE,
            release_factor: fall_by_60_db(LIMITER_RELEASE_SECONDS * sample_rate_hz),
        }
    }

    /// Forgets all peaks.
    pub fn open(&mut self) {
        self.peak = KNEE;
    }

    /// The gain for a sample of this size (not negative). Both channels get the same.
    pub fn gain_for(&mut self, size: f32) -> f32 {
        let excess = (self.peak - KNEE) * self.release_factor;
        self.peak = (KNEE + excess).max(size);
        let excess = self.peak - KNEE;
        let width = CEILING - KNEE;
        let bent = KNEE + width * excess / (width + excess);
        bent / self.peak
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limiter_leaves_what_is_under_the_knee_untouched() {
        let mut limiter = Limiter::new(48_000.0);
        for size in [0.0, 1.0e-30, 0.2, KNEE] {
            assert_eq!(limiter.gain_for(size).to_bits(), 1.0_f32.to_bits());
        }
    }

    #[test]
    fn limiter_bounds_every_size() {
        let mut size = KNEE;
        while size < 1.0e6 {
            let mut limiter = Limiter::new(48_000.0);
            let first = size * limiter.gain_for(size);
            let second = size * limiter.gain_for(size);
            assert!(first <= 0.500_001 && second <= 0.500_001, "size {size}");
            assert!(first >= KNEE, "size {size}: turned down to {first}");
            size *= 1.01;
        }
    }

    #[test]
    fn limiter_opens_again() {
        let mut limiter = Limiter::new(48_000.0);
        limiter.gain_for(4.0);
        for _ in 0..48_000 * 6 {
            limiter.gain_for(0.0);
        }
        assert!(limiter.gain_for(0.2) > 0.999);
    }

    #[test]
    fn glide_arrives_and_takes_its_time() {
        let mut glide = Glide::new(48_000.0);
        let mut before = glide.towards(1.0);
        for _ in 0..9_600 {
            let now = glide.towards(1.0);
            assert!(now >= before && now - before < 0.005);
            before = now;
        }
        assert_eq!(before.to_bits(), 1.0_f32.to_bits());
        for _ in 0..4_800 {
            before = glide.towards(0.0);
        }
        assert_eq!(before.to_bits(), 0.0_f32.to_bits());
    }
}
