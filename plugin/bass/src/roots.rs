//! Pure functions from a bass's notes to roots: `Decider` works without a chart, `Follower` with
//! one. Imports `guidehand-theory` and its own `form`.
//!
//! The weights are common practice, no published source.

mod form;

pub use form::{Change, Follower, Form, LONGEST_BARS, Place, Standing};

use guidehand_theory::pcset::PcSet;
use guidehand_theory::pitch::PitchClass;

/// What the notes so far mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decision {
    /// The root in force; `None` before the first one is clear.
    pub root: Option<PitchClass>,
    /// The confidence in the root, 0 to 1.
    pub confidence: f32,
}

const CLASSES: usize = 12;
/// The major scale, in semitones.
const MAJOR: [i8; 7] = [0, 2, 4, 5, 7, 9, 11];
/// Third, fifth and seventh above a root, in semitones.
const QUALITIES: [[i8; 3]; 4] = [[4, 7, 11], [4, 7, 10], [3, 7, 10], [3, 6, 10]];
/// How likely a root is to move up by this many semitones at a bar line. Falling fifths come first,
/// then steps.
const MOTION: [f32; CLASSES] = [
    0.14, 0.04, 0.09, 0.05, 0.05, 0.36, 0.02, 0.05, 0.02, 0.04, 0.03, 0.04,
];
/// The same from degree to degree of a key, with a row for each degree that the root leaves. Likely
/// moves are falling fifths, subdominants to the dominant, and the dominant to the tonic.
const PROGRESSIONS: [[f32; 7]; 7] = [
    [0.15, 0.13, 0.11, 0.26, 0.16, 0.16, 0.03],
    [0.05, 0.08, 0.05, 0.04, 0.68, 0.05, 0.05],
    [0.04, 0.05, 0.07, 0.06, 0.04, 0.7, 0.04],
    [0.14, 0.1, 0.16, 0.14, 0.2, 0.06, 0.2],
    [0.5, 0.07, 0.11, 0.13, 0.08, 0.09, 0.02],
    [0.06, 0.5, 0.07, 0.14, 0.06, 0.1, 0.07],
    [0.12, 0.04, 0.7, 0.04, 0.04, 0.03, 0.03],
];
/// How likely the note before a bar line is to lie this many semitones above the root that follows.
const APPROACH: [f32; CLASSES] = [
    0.02, 0.3, 0.2, 0.03, 0.02, 0.03, 0.01, 0.15, 0.02, 0.03, 0.14, 0.3,
];
/// How much a chord tone outside the key costs.
const FOREIGN: f32 = 0.16;
/// The chance that a new root must reach. Below it the old root stays.
const SURE: f32 = 0.25;
/// A key is clear when the recent notes inside it outnumber the recent notes outside it by this
/// many.
const CLEAR: f32 = 3.0;
/// The part of the evidence for a key that remains after a bar.
const KEY_MEMORY: f32 = 0.985;
/// The distance from a beat up to which a note counts as on it, in beats.
const NEAR_BEATS: f64 = 0.2;

/// Decides roots without a chart.
#[derive(Clone, Debug)]
pub struct Decider {
    beats_in_bar: f64,
    /// The chance of each quality and root.
    belief: [[f32; CLASSES]; 4],
    /// For each major key, the recent notes inside it minus those outside it.
    keys: [f32; CLASSES],
    bar: Option<f64>,
    last: Option<PitchClass>,
    held: Option<PitchClass>,
}

impl Decider {
    /// A decider for bars of this many quarter notes, clamped to 1 to 16.
    #[must_use]
    pub fn new(beats_in_bar: f64) -> Decider {
        Decider {
            beats_in_bar: bar_of(beats_in_bar),
            belief: [[1.0 / 48.0; CLASSES]; 4],
            keys: [0.0; CLASSES],
            bar: None,
            last: None,
            held: None,
        }
    }

    /// Takes in a note that starts at `at_beats` from any bar line. Times that are not finite
    /// are ignored. Notes come in order.
    pub fn hear(&mut self, class: PitchClass, at_beats: f64) -> Decision {
        if at_beats.is_finite() {
            self.hear_key(class);
            let bar = ((at_beats + NEAR_BEATS) / self.beats_in_bar).floor();
            let beat = at_beats - bar * self.beats_in_bar;
            if self.bar != Some(bar) {
                self.move_on();
                self.bar = Some(bar);
            }
            let half = 0.5 * self.beats_in_bar;
            let weights = if beat.abs() <= NEAR_BEATS {
                Weights::DOWNBEAT
            } else if (beat - half).abs() <= NEAR_BEATS {
                Weights::MIDDLE
            } else if beat > half {
                Weights::APPROACH
            } else {
                Weights::BETWEEN
            };
            self.weigh(|root, tones| weights.of(class, root, tones));
            self.last = Some(class);
        }
        self.decide()
    }

    /// Forgets the music and keeps the bars.
    pub fn reset(&mut self) {
        self.belief = [[1.0 / 48.0; CLASSES]; 4];
        self.keys = [0.0; CLASSES];
        (self.bar, self.last, self.held) = (None, None, None);
    }

    fn hear_key(&mut self, class: PitchClass) {
        for (tonic, count) in classes().zip(&mut self.keys) {
            let inside = scale(tonic).contains(class);
            *count = *count * KEY_MEMORY + if inside { 1.0 } else { -1.0 };
        }
    }

    /// Passes a bar line. Chords move as they usually do, towards the root to which the last
    /// note led.
    fn move_on(&mut self) {
        let mut roots = [0.0_f32; CLASSES];
        for row in &self.belief {
            for (sum, part) in roots.iter_mut().zip(row) {
                *sum += part;
            }
        }
        let key = self.key();
        let last = self.last;
        for (tones, row) in QUALITIES.iter().zip(&mut self.belief) {
            for (root, belief) in classes().zip(row) {
                let moved = classes()
                    .zip(&roots)
                    .map(|(from, part)| part * motion(key, from, root));
                let led = last.map_or(1.0, |last| {
                    let step = usize::from(last.above(root));
                    APPROACH.get(step).copied().unwrap_or(0.0)
                });
                let foreign = key.map_or(0, |tonic| {
                    let chord = chord(root, tones);
                    chord.minus(scale(tonic)).len()
                });
                let cost = (0..foreign).fold(1.0, |cost, _| cost * FOREIGN);
                *belief = moved.sum::<f32>() * led * cost;
            }
        }
        self.settle();
    }

    /// The major key that contains most of the notes, once it is clear.
    fn key(&self) -> Option<PitchClass> {
        let best = classes()
            .zip(self.keys)
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        (best.1 > CLEAR).then_some(best.0)
    }

    fn weigh(&mut self, likely: impl Fn(PitchClass, &[i8; 3]) -> f32) {
        for (tones, row) in QUALITIES.iter().zip(&mut self.belief) {
            for (root, belief) in classes().zip(row) {
                *belief *= likely(root, tones);
            }
        }
        self.settle();
    }

    /// Scales the sum to 1, and keeps every chord possible.
    fn settle(&mut self) {
        let sum: f32 = self.belief.iter().flatten().sum();
        let scale = if sum > 0.0 { sum.recip() } else { 0.0 };
        for belief in self.belief.iter_mut().flatten() {
            *belief = (*belief * scale).max(1e-5);
        }
    }

    fn decide(&mut self) -> Decision {
        let sure =
            |root: usize| -> f32 { self.belief.iter().filter_map(|row| row.get(root)).sum() };
        let sums: [f32; CLASSES] = std::array::from_fn(sure);
        let total: f32 = sums.iter().sum();
        let best = classes().zip(sums).max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((root, part)) = best
            && part / total > SURE
        {
            self.held = Some(root);
        }
        let part = self.held.and_then(|h| sums.get(usize::from(h.number())));
        Decision {
            root: self.held,
            confidence: part.map_or(0.0, |p| (p / total).clamp(0.0, 1.0)),
        }
    }
}

/// How likely a note is at its place in the bar, by its role in the chord.
#[derive(Clone, Copy)]
struct Weights {
    root: f32,
    /// Third, fifth, seventh.
    tones: [f32; 3],
    /// Any other class.
    other: f32,
}

impl Weights {
    const DOWNBEAT: Weights = Weights {
        root: 0.82,
        tones: [0.07, 0.08, 0.005],
        other: 0.0025,
    };
    const MIDDLE: Weights = Weights {
        root: 0.02,
        tones: [0.28, 0.28, 0.27],
        other: 0.04,
    };
    const BETWEEN: Weights = Weights {
        root: 0.03,
        tones: [0.15, 0.15, 0.22],
        other: 0.06,
    };
    /// The last beats lead to the next chord, so they say little about this one.
    const APPROACH: Weights = Weights {
        root: 0.13,
        tones: [0.12, 0.08, 0.07],
        other: 0.065,
    };

    fn of(self, class: PitchClass, root: PitchClass, tones: &[i8; 3]) -> f32 {
        if class == root {
            return self.root;
        }
        let found = tones.iter().position(|t| root.up(*t) == class);
        found
            .and_then(|f| self.tones.get(f))
            .copied()
            .unwrap_or(self.other)
    }
}

/// All pitch classes, from C up.
fn classes() -> impl Iterator<Item = PitchClass> {
    (0..12).map(PitchClass::wrapping)
}

/// A bar of this many quarter notes, clamped to 1 to 16. A value that is not a number gives 4.
fn bar_of(beats: f64) -> f64 {
    if beats.is_finite() {
        beats.clamp(1.0, 16.0)
    } else {
        4.0
    }
}

/// How likely a root is to move from one class to another at a bar line.
fn motion(key: Option<PitchClass>, from: PitchClass, to: PitchClass) -> f32 {
    let degree = |class: PitchClass| {
        let above = i8::try_from(class.above(key?)).ok()?;
        MAJOR.iter().position(|step| *step == above)
    };
    if let Some((from, to)) = degree(from).zip(degree(to)) {
        let row = PROGRESSIONS.get(from).and_then(|row| row.get(to));
        return row.copied().unwrap_or(0.0);
    }
    let step = usize::from(to.above(from));
    MOTION.get(step).copied().unwrap_or(0.0)
}

fn scale(tonic: PitchClass) -> PcSet {
    MAJOR.into_iter().map(|s| tonic.up(s)).collect()
}

fn chord(root: PitchClass, tones: &[i8; 3]) -> PcSet {
    std::iter::once(root)
        .chain(tones.iter().map(|t| root.up(*t)))
        .collect()
}
