//! How well each pitch explains a short window of sound. Imports nothing of ours.
//!
//! A pitch is a model: its first harmonics in unknown amplitude and phase, over noise. The score
//! of a pitch is the logarithm of the likelihood of the window under its model, with amplitudes
//! and noise level integrated out (a Gaussian prior over the harmonics). Unlike a peak of a
//! spectrum or of a difference function, it works on little more than one period, it counts
//! every harmonic, and it prices the many harmonics of a low pitch, so that an octave below does
//! not win by fitting everything.

use std::f64::consts::PI;

/// Pitches for each semitone.
pub(crate) const FINENESS: usize = 3;
/// The MIDI number of the first pitch is this less one step.
const FIRST_NOTE: f64 = 22.0;
/// From a third of a semitone below note 22 to as much above note 68.
pub(crate) const PITCHES: usize = 46 * FINENESS + 3;
/// Harmonics of a low pitch.
const HARMONICS: u8 = 12;
/// Harmonics above are left out.
const HIGHEST_HARMONIC_HZ: f64 = 750.0;
/// How far the harmonics are expected to stand above the noise, as power.
const EXPECTED_RATIO: f64 = 30.0;
/// The part of a window's energy that no model is asked to explain.
const UNEXPLAINED: f32 = 1e-3;
/// How much of a sample is news: the filter in front leaves about half of the slow band, so that
/// samples beside each other are not independent, and noise would pass for harmonics.
const INFORMED: f32 = 0.55;
/// Rows are padded to a multiple of this, so that products run in parallel.
const LANES: usize = 8;
/// Half of the longest window, in slow samples.
pub(crate) const HALF_LIMIT: usize = 128;

/// The score of every pitch; 0 is what noise scores.
pub(crate) type Scores = [f32; PITCHES];

/// The models of all pitches for one length of window.
#[derive(Clone, Debug)]
pub(crate) struct Bank {
    half: usize,
    padded: usize,
    /// For each pitch, the rows of its even and of its odd part, each `padded` long.
    rows: Vec<f32>,
    pitches: Vec<Pitch>,
}

#[derive(Clone, Copy, Debug)]
struct Pitch {
    harmonics: usize,
    /// Half the logarithm of the determinant: what the model's freedom costs.
    price: f32,
}

impl Bank {
    /// The bank of windows of `window_ms`, cut to an even number of slow samples.
    pub(crate) fn new(window_ms: f64, slow_hz: f64) -> Bank {
        let half = half_of(window_ms, slow_hz);
        let padded = half.next_multiple_of(LANES);
        let mut bank = Bank {
            half,
            padded,
            rows: Vec::new(),
            pitches: Vec::with_capacity(PITCHES),
        };
        for index in 0..PITCHES {
            bank.add(frequency_hz(index), slow_hz);
        }
        bank
    }

    /// How many slow samples a window holds.
    pub(crate) fn window(&self) -> usize {
        2 * self.half
    }

    fn add(&mut self, pitch_hz: f64, slow_hz: f64) {
        let fits = |k: &u8| f64::from(*k) * pitch_hz < HIGHEST_HARMONIC_HZ;
        let harmonics: Vec<f64> = (1..=HARMONICS).filter(fits).map(f64::from).collect();
        let turn = 2.0 * PI * pitch_hz / slow_hz;
        let variance = EXPECTED_RATIO / (2.0 * of_usize(harmonics.len()));
        let mut price = 0.0;
        // About the middle of the window cosines are even and sines are odd, so that the two
        // parts are apart, and half of each row says all.
        for wave in [f64::cos, f64::sin] {
            let mut rows: Vec<Vec<f64>> = harmonics
                .iter()
                .map(|k| {
                    let at = |i| wave(k * turn * (of_usize(i) - of_usize(self.half) + 0.5));
                    (0..self.half).map(at).collect()
                })
                .collect();
            price += whiten(&mut rows, variance);
            for row in rows {
                self.rows.extend(row.iter().map(|x| narrow(*x)));
                self.rows
                    .extend(std::iter::repeat_n(0.0, self.padded - self.half));
            }
        }
        self.pitches.push(Pitch {
            harmonics: harmonics.len(),
            price: narrow(0.5 * price),
        });
    }

    /// Scores the window that ends with the last of `white`. Returns false, with scores
    /// untouched, when there are too few samples.
    pub(crate) fn score(&self, white: &[f32], scores: &mut Scores) -> bool {
        let Some(start) = white.len().checked_sub(self.window()) else {
            return false;
        };
        let Some((head, tail)) = white
            .get(start..)
            .and_then(|w| w.split_at_checked(self.half))
        else {
            return false;
        };
        let mut even = [0.0_f32; HALF_LIMIT];
        let mut odd = [0.0_f32; HALF_LIMIT];
        let mut energy = 1e-12_f32;
        let folds = even.iter_mut().zip(&mut odd);
        for ((e, o), (a, b)) in folds.zip(head.iter().zip(tail.iter().rev())) {
            *e = a + b;
            *o = a - b;
            energy += a * a + b * b;
        }
        let mut rows = self.rows.chunks_exact(self.padded);
        let weight = -INFORMED * narrow(of_usize(self.half));
        for (score, pitch) in scores.iter_mut().zip(&self.pitches) {
            let explained = captured(rows.by_ref().take(pitch.harmonics), &even)
                + captured(rows.by_ref().take(pitch.harmonics), &odd);
            let rest = ((energy - explained) / energy).max(0.0) + UNEXPLAINED;
            *score = weight * rest.ln() - pitch.price;
        }
        true
    }
}

/// The MIDI number of a pitch, at A4 = 440 Hz.
pub(crate) fn number(index: usize) -> f64 {
    FIRST_NOTE + (of_usize(index) - 1.0) / of_usize(FINENESS)
}

fn frequency_hz(index: usize) -> f64 {
    440.0 * ((number(index) - 69.0) / 12.0).exp2()
}

/// The energy of a half window within a model.
#[inline]
fn captured<'a>(rows: impl Iterator<Item = &'a [f32]>, half: &[f32]) -> f32 {
    rows.map(|row| {
        let product = dot(row, half);
        product * product
    })
    .sum()
}

#[inline]
fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut lanes = [0.0_f32; LANES];
    for (a, b) in a.chunks_exact(LANES).zip(b.chunks_exact(LANES)) {
        for ((lane, a), b) in lanes.iter_mut().zip(a).zip(b) {
            *lane += a * b;
        }
    }
    lanes.iter().sum()
}

/// Replaces half rows V by the rows of L⁻¹ V, where L Lᵀ = 1/variance + V Vᵀ over the whole
/// window: the squares of their products with a window add up to what the model explains of it.
/// Returns the logarithm of the model's determinant.
fn whiten(rows: &mut [Vec<f64>], variance: f64) -> f64 {
    let whole = |a: &[f64], b: &[f64]| 2.0 * a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    // Gram-Schmidt over the rows and their ridge does what a Cholesky factor would.
    let mut ridge: Vec<Vec<f64>> = Vec::with_capacity(rows.len());
    let mut logarithm = 0.0;
    for n in 0..rows.len() {
        let mut tail = vec![0.0; rows.len()];
        tail.iter_mut()
            .skip(n)
            .take(1)
            .for_each(|t| *t = variance.sqrt().recip());
        let (done, rest) = rows.split_at_mut(n);
        let Some(row) = rest.first_mut() else { break };
        for (before, before_tail) in done.iter().zip(&ridge) {
            let shared = whole(row, before) + plain(&tail, before_tail);
            take_off(row, before, shared);
            take_off(&mut tail, before_tail, shared);
        }
        let square = whole(row, row) + plain(&tail, &tail);
        logarithm += square.ln() + variance.ln();
        let scale = square.sqrt().recip();
        row.iter_mut()
            .chain(tail.iter_mut())
            .for_each(|x| *x *= scale);
        ridge.push(tail);
    }
    logarithm
}

fn plain(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn take_off(from: &mut [f64], what: &[f64], times: f64) {
    from.iter_mut().zip(what).for_each(|(x, w)| *x -= times * w);
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the longest window"
)]
fn half_of(window_ms: f64, slow_hz: f64) -> usize {
    ((window_ms * slow_hz / 2000.0) as usize).clamp(LANES, HALF_LIMIT)
}

#[expect(clippy::cast_precision_loss, reason = "counts of hundreds")]
fn of_usize(n: usize) -> f64 {
    n as f64
}

#[expect(clippy::cast_possible_truncation, reason = "waves and logarithms")]
fn narrow(x: f64) -> f32 {
    x as f32
}
