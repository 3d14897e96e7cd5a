//! Turns sound into hops of slow samples and spectra. Imports `front` and `spectrum`.

use crate::front::{Front, Slow};
use crate::spectrum::Spectrum;

/// Slow samples in a hop.
const HOP: usize = 16;
/// The same as a `u16`, for arithmetic.
const HOP_SAMPLES: u16 = 16;
/// The number of slow samples that are kept: the longest window at the fastest slow rate.
const KEPT: usize = 528;
/// The number of slow samples over which the level of an onset is measured.
const ONSET_SAMPLES: usize = 22;
/// The number of slow samples over which the level is measured.
const LEVEL_SAMPLES: usize = 88;
/// The lowest level that is reported, in dB.
pub(crate) const FLOOR_DB: f32 = -120.0;

/// Keeps the newest sound.
#[derive(Clone, Debug)]
pub(crate) struct Ear {
    front: Front,
    spectrum: Spectrum,
    /// The last slow samples, the newest last.
    white: [f32; KEPT],
    flat: [f32; LEVEL_SAMPLES],
    filled: usize,
}

impl Ear {
    /// An ear for a sample rate between 8 and 768 kHz.
    pub(crate) fn new(rate_hz: f32) -> Ear {
        let front = Front::new(rate_hz);
        Ear {
            spectrum: Spectrum::new(front.slow_hz()),
            front,
            white: [0.0; KEPT],
            flat: [0.0; LEVEL_SAMPLES],
            filled: 0,
        }
    }

    /// Host samples in a hop.
    pub(crate) fn hop_samples(&self) -> u32 {
        u32::from(HOP_SAMPLES) * self.front.step()
    }

    /// The length of a hop, in ms.
    pub(crate) fn hop_ms(&self) -> f32 {
        narrow(1000.0 * f64::from(HOP_SAMPLES) / self.front.slow_hz())
    }

    /// The sample rate after the filters, in Hz.
    pub(crate) fn slow_hz(&self) -> f32 {
        narrow(self.front.slow_hz())
    }

    /// Takes a sample in. Returns whether it was the last of a hop.
    #[inline]
    pub(crate) fn push(&mut self, sample: f32) -> bool {
        let slow = self.front.next(sample);
        slow.is_some_and(|slow| self.keep(slow))
    }

    fn keep(&mut self, slow: Slow) -> bool {
        if self.filled == 0 {
            self.white.rotate_left(HOP);
            self.flat.rotate_left(HOP);
        }
        let left = HOP - self.filled;
        let (white, flat) = (KEPT - left, LEVEL_SAMPLES - left);
        if let (Some(w), Some(f)) = (self.white.get_mut(white), self.flat.get_mut(flat)) {
            *w = slow.white;
            *f = slow.flat;
        }
        self.filled = (self.filled + 1) % HOP;
        self.filled == 0
    }

    /// Computes the spectra of the newest sound.
    pub(crate) fn look(&mut self) {
        self.spectrum.look(&self.white);
    }

    /// The spectra that were computed last.
    pub(crate) fn spectrum(&self) -> &Spectrum {
        &self.spectrum
    }

    /// The newest whitened samples.
    pub(crate) fn white(&self) -> &[f32] {
        &self.white
    }

    /// The level of the last 5 ms after the whitening, in dB.
    pub(crate) fn white_db(&self) -> f32 {
        level_db(self.white.get(KEPT - ONSET_SAMPLES..).unwrap_or_default())
    }

    /// The level of the last 20 ms below the low-pass, in dB; a sine at full scale has -3 dB.
    pub(crate) fn flat_db(&self) -> f32 {
        level_db(&self.flat)
    }

    /// Forgets everything.
    pub(crate) fn reset(&mut self) {
        self.front.reset();
        self.white.fill(0.0);
        self.flat.fill(0.0);
        self.filled = 0;
    }
}

/// The level of these samples, in dB, never below the floor.
fn level_db(samples: &[f32]) -> f32 {
    let count = f32::from(u16::try_from(samples.len().max(1)).unwrap_or(u16::MAX));
    let power = samples.iter().map(|s| s * s).sum::<f32>() / count;
    (10.0 * (power + 1e-14).log10()).max(FLOOR_DB)
}

#[expect(clippy::cast_possible_truncation, reason = "milliseconds and hertz")]
fn narrow(x: f64) -> f32 {
    x as f32
}
