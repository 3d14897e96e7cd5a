//! Converts sound from the host's rate to a slow one of about 4.4 kHz, flat and whitened. Imports
//! `biquad`.

use crate::biquad::{Biquad, steep_lowpass};

/// The intended slow rate. The real one is the host's rate divided by the nearest whole number.
const SLOW_HZ: f64 = 4410.0;
/// The low-pass lies above the harmonics that are used and well below half of the slow rate.
const LOWPASS_HZ: f64 = 1500.0;
/// Rumble and the boom of the body lie below this. Some fundamentals do too, but their harmonics
/// identify them.
const HIGHPASS_HZ: f64 = 60.0;
/// The part of the last sample that the whitening subtracts, which raises high frequencies.
const EMPHASIS: f64 = 0.8;
/// Samples that are louder than this are faulty, so they are clamped.
const LOUDEST: f32 = 8.0;

/// A sample at the slow rate.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Slow {
    /// The sound as it came in.
    pub(crate) flat: f32,
    /// The sound without rumble, and with harmonics of nearly equal level.
    pub(crate) white: f32,
}

/// The filters before the analysis.
#[derive(Clone, Debug)]
pub(crate) struct Front {
    lowpass: [Biquad; 4],
    highpass: Biquad,
    last: f64,
    /// The number of host samples for each slow sample.
    step: u32,
    due: u32,
    slow_hz: f64,
}

impl Front {
    /// Filters for a rate between 8 and 768 kHz.
    pub(crate) fn new(rate_hz: f32) -> Front {
        let rate_hz = f64::from(rate_hz);
        let step = whole(rate_hz / SLOW_HZ);
        let slow_hz = rate_hz / f64::from(step);
        Front {
            lowpass: steep_lowpass(LOWPASS_HZ, rate_hz),
            highpass: Biquad::highpass(HIGHPASS_HZ, slow_hz),
            last: 0.0,
            step,
            due: step,
            slow_hz,
        }
    }

    /// The rate behind the filters, in Hz.
    pub(crate) fn slow_hz(&self) -> f64 {
        self.slow_hz
    }

    /// The number of host samples for each slow sample.
    pub(crate) fn step(&self) -> u32 {
        self.step
    }

    /// Takes a sample in. Returns a slow sample once every `step` samples.
    #[inline]
    #[expect(clippy::cast_possible_truncation, reason = "sound fits an f32")]
    pub(crate) fn next(&mut self, sample: f32) -> Option<Slow> {
        let sample = if sample.is_finite() { sample } else { 0.0 };
        let sample = f64::from(sample.clamp(-LOUDEST, LOUDEST));
        let flat = self.lowpass.iter_mut().fold(sample, |x, s| s.next(x));
        self.due -= 1;
        if self.due > 0 {
            return None;
        }
        self.due = self.step;
        self.lowpass.iter_mut().for_each(Biquad::settle);
        self.highpass.settle();
        let high = self.highpass.next(flat);
        let white = high - EMPHASIS * self.last;
        self.last = high;
        Some(Slow {
            flat: flat as f32,
            white: white as f32,
        })
    }

    /// Forgets everything.
    pub(crate) fn reset(&mut self) {
        self.lowpass.iter_mut().for_each(Biquad::reset);
        self.highpass.reset();
        self.last = 0.0;
        self.due = self.step;
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "from 1 to a few hundred"
)]
fn whole(x: f64) -> u32 {
    x.round().clamp(1.0, 1000.0) as u32
}
