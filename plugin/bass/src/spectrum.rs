//! The levels of the newest sound by frequency, with `realfft`. Imports nothing of the crate.
//!
//! Two windows end with the newest sample. They rise slowly and fall quickly, so that the newest
//! sound counts most. The short window shows a note that has just begun, the long one a note that
//! goes on.

use std::f64::consts::PI;
use std::fmt;
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

/// The windows.
pub(crate) const WINDOWS: usize = 2;
/// Their lengths, in ms.
const WINDOWS_MS: [f64; WINDOWS] = [46.0, 93.0];
/// The number of slow samples in a transform. The windows fill only a part of it, which makes its
/// bins narrow.
pub(crate) const LENGTH: usize = 2048;
/// No level is reported from this frequency on, in Hz.
const HIGHEST_HZ: f64 = 1600.0;
/// The lowest power that counts, where a sine without any other sound has the power 1. Its
/// logarithm is the lowest level.
const NOTHING: f32 = 0.03;

/// The spectra of the newest sound.
#[derive(Clone)]
pub(crate) struct Spectrum {
    transform: Arc<dyn RealToComplex<f32>>,
    views: [View; WINDOWS],
    padded: Vec<f32>,
    output: Vec<Complex<f32>>,
    scratch: Vec<Complex<f32>>,
    /// The number of bins for each Hz.
    fineness: f32,
}

/// What one window shows.
#[derive(Clone)]
struct View {
    window: Vec<f32>,
    /// Scales the power of a sine without any other sound to 1.
    scale: f32,
    /// The logarithm of the power at each bin, as a part of all of the power.
    levels: Vec<f32>,
    /// All of the power under the window.
    power: f32,
}

impl fmt::Debug for Spectrum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Spectrum").finish_non_exhaustive()
    }
}

impl Spectrum {
    /// Spectra for a slow rate.
    pub(crate) fn new(slow_hz: f64) -> Spectrum {
        let transform = RealFftPlanner::new().plan_fft_forward(LENGTH);
        let fineness = of_usize(LENGTH) / slow_hz;
        let bins = whole(HIGHEST_HZ.min(0.45 * slow_hz) * fineness).min(LENGTH / 2);
        Spectrum {
            views: WINDOWS_MS.map(|ms| View::new(whole(ms * slow_hz / 1000.0), bins)),
            padded: transform.make_input_vec(),
            output: transform.make_output_vec(),
            scratch: transform.make_scratch_vec(),
            transform,
            fineness: narrow(fineness),
        }
    }

    /// Analyses the newest samples. There are at least as many as in the longest window.
    pub(crate) fn look(&mut self, newest: &[f32]) {
        for view in &mut self.views {
            let count = view.window.len();
            let Some(start) = newest.len().checked_sub(count) else {
                return;
            };
            let mut energy = 1e-12;
            self.padded.fill(0.0);
            let samples = newest.iter().skip(start).zip(&view.window);
            for (to, (sample, weight)) in self.padded.iter_mut().zip(samples) {
                *to = sample * weight;
                energy += *to * *to;
            }
            // It fails only for wrong lengths.
            let done = self.transform.process_with_scratch(
                &mut self.padded,
                &mut self.output,
                &mut self.scratch,
            );
            debug_assert!(done.is_ok());
            view.power = 0.5 * energy * view.scale;
            let scale = view.scale / energy;
            for (level, bin) in view.levels.iter_mut().zip(&self.output) {
                *level = (bin.norm_sqr() * scale + NOTHING).ln();
            }
        }
    }

    /// The level at a frequency. Above the highest frequency it is the lowest level.
    #[inline]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a few thousand bins"
    )]
    pub(crate) fn level(&self, window: usize, hz: f32) -> f32 {
        let bin = (hz * self.fineness + 0.5) as usize;
        let view = self.views.get(window);
        let level = view.and_then(|v| v.levels.get(bin)).copied();
        level.unwrap_or_else(|| NOTHING.ln())
    }

    /// The power at a frequency in the long window.
    pub(crate) fn power(&self, hz: f32) -> f32 {
        let all = self.views.last().map_or(0.0, |v| v.power);
        all * (self.level(WINDOWS - 1, hz).exp() - NOTHING).max(0.0)
    }
}

impl View {
    fn new(count: usize, bins: usize) -> View {
        let turn = |n: usize| (of_usize(n + 1) / of_usize(count + 1)).powi(2);
        let window: Vec<f32> = (0..count).map(|n| narrow((PI * turn(n)).sin())).collect();
        let square: f32 = window.iter().map(|w| w * w).sum();
        View {
            window,
            scale: 2.0 / square,
            levels: vec![NOTHING.ln(); bins],
            power: 0.0,
        }
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a few thousand"
)]
fn whole(x: f64) -> usize {
    x.round() as usize
}

#[expect(clippy::cast_precision_loss, reason = "a few thousand")]
fn of_usize(n: usize) -> f64 {
    n as f64
}

#[expect(clippy::cast_possible_truncation, reason = "waves and hertz")]
fn narrow(x: f64) -> f32 {
    x as f32
}
