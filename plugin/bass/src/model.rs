//! How well each note explains a spectrum. Imports `spectrum` and `weights`.
//!
//! The evidence for a note is the levels at its harmonics and at the halves and thirds between
//! them, where notes an octave or a twelfth below would have their harmonics. Its score is a
//! weighted sum of these. The weights change smoothly with the note's number. Multinomial logistic
//! regression fitted them (see `benches/fit`), so that `exp` of a score, divided by the sum over
//! all notes and "no note", is about the chance of the note.

use crate::spectrum::{Spectrum, WINDOWS};
use crate::weights::WEIGHTS;

/// The lowest note that is scored. It lies one below the lowest note that is reported, so that a
/// sound below the range is not taken for the lowest note.
pub const FIRST: u8 = 22;
/// The number of notes that are scored.
pub const NOTES: usize = 47;
/// The number of harmonics.
const HARMONICS: usize = 12;
/// The places up to each harmonic at which levels are measured, in sixths of the fundamental.
const SIXTHS: [f32; 4] = [2.0, 3.0, 4.0, 6.0];
/// The number of levels for each window.
const PLACES: usize = SIXTHS.len() * HARMONICS;
/// The number of levels that are evidence for a note.
pub const LEVELS: usize = WINDOWS * PLACES;
/// The number of terms in a score: the levels, the levels times the note's height, one, the height,
/// and its square.
pub(crate) const TERMS: usize = 2 * LEVELS + 3;
/// The note whose height is 0.
const MIDDLE: f32 = 42.0;

/// The score of every note. "No note" has the score 0.
pub(crate) type Scores = [f32; NOTES];

/// The number of ages of a note. Each age has weights of its own, because the windows hold more of
/// an older note.
pub const AGES: usize = 4;
/// The times at which all ages but the first begin, in ms after the onset.
pub const AGE_BOUNDS_MS: [f32; AGES - 1] = [32.0, 44.0, 60.0];

/// The levels for a note, with A4 this many cents above 440 Hz.
pub(crate) fn levels(spectrum: &Spectrum, note: u8, shift_cents: f32) -> [f32; LEVELS] {
    let sixth_hz = frequency_hz(note, shift_cents) / 6.0;
    let mut levels = [0.0; LEVELS];
    for (window, levels) in levels.chunks_exact_mut(PLACES).enumerate() {
        let mut harmonic = 0.0;
        for levels in levels.chunks_exact_mut(SIXTHS.len()) {
            for (level, sixths) in levels.iter_mut().zip(SIXTHS) {
                *level = spectrum.level(window, (harmonic + sixths) * sixth_hz);
            }
            harmonic += 6.0;
        }
    }
    levels
}

/// The level of a note's own harmonics, in dB.
pub(crate) fn tone_db(spectrum: &Spectrum, note: u8, shift_cents: f32) -> f32 {
    let hz = frequency_hz(note, shift_cents);
    let powers = (1..=8_u8).map(|k| spectrum.power(f32::from(k) * hz));
    10.0 * (powers.sum::<f32>() + 1e-12).log10()
}

/// The weights of one age for each note, with its height included.
#[derive(Clone, Debug)]
struct Table {
    notes: Vec<([f32; LEVELS], f32)>,
}

/// Scores notes.
#[derive(Clone, Debug)]
pub(crate) struct Model {
    ages: [Table; AGES],
}

impl Model {
    pub(crate) fn new() -> Model {
        Model {
            ages: std::array::from_fn(|age| Table::new(WEIGHTS.get(age).unwrap_or(&[0.0; TERMS]))),
        }
    }

    /// Scores all notes at this time after an onset, with A4 this many cents above 440 Hz.
    pub(crate) fn score(&self, spectrum: &Spectrum, since_ms: f32, shift_cents: f32) -> Scores {
        let age = AGE_BOUNDS_MS.iter().filter(|b| **b <= since_ms).count();
        let notes = self.ages.get(age).map_or(&[][..], |table| &table.notes);
        let mut scores = [0.0; NOTES];
        for ((score, note), (weights, bias)) in scores.iter_mut().zip(FIRST..).zip(notes) {
            let levels = levels(spectrum, note, shift_cents);
            let products = levels.iter().zip(weights).map(|(l, w)| l * w);
            *score = bias + products.sum::<f32>();
        }
        scores
    }
}

impl Table {
    fn new(weights: &[f32; TERMS]) -> Table {
        let (levels, rest) = weights.split_at(LEVELS);
        let (slopes, biases) = rest.split_at(LEVELS);
        let of = |note: u8| {
            let height = height(note);
            let at = |n: usize| {
                let part = |from: &[f32]| from.get(n).copied().unwrap_or(0.0);
                part(levels) + height * part(slopes)
            };
            let powers = [1.0, height, height * height];
            let bias = biases.iter().zip(powers).map(|(b, p)| b * p).sum();
            (std::array::from_fn(at), bias)
        };
        Table {
            notes: (FIRST..).take(NOTES).map(of).collect(),
        }
    }
}

/// The note's height: octaves above the middle of the range.
pub(crate) fn height(note: u8) -> f32 {
    (f32::from(note) - MIDDLE) / 12.0
}

/// The frequency of a note, with A4 this many cents above 440 Hz.
pub(crate) fn frequency_hz(note: u8, shift_cents: f32) -> f32 {
    440.0 * ((f32::from(note) - 69.0 + shift_cents / 100.0) / 12.0).exp2()
}
