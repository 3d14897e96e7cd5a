//! From a bass's notes to roots, pure: `Decider` without a chart, `Follower` with one. Imports
//! nothing of ours but `guidehand-theory`.
//!
//! The weights are common practice, no published source.

use guidehand_theory::pcset::PcSet;
use guidehand_theory::pitch::PitchClass;

/// What is made of the notes so far.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decision {
    /// The root in force; `None` before the first one is clear.
    pub root: Option<PitchClass>,
    /// How sure that is, 0 to 1.
    pub confidence: f32,
}

const CLASSES: usize = 12;
/// Third, fifth and seventh above a root, in semitones.
const QUALITIES: [[i8; 3]; 4] = [[4, 7, 11], [4, 7, 10], [3, 7, 10], [3, 6, 10]];
/// How likely a root moves so many semitones up at a bar line: fifths down first, then steps.
const MOTION: [f32; CLASSES] = [
    0.14, 0.04, 0.09, 0.05, 0.05, 0.36, 0.02, 0.05, 0.02, 0.04, 0.03, 0.04,
];
/// How likely the note before a bar line lies so many semitones above the root that follows.
const APPROACH: [f32; CLASSES] = [
    0.04, 0.17, 0.14, 0.03, 0.03, 0.04, 0.02, 0.15, 0.02, 0.03, 0.14, 0.19,
];
/// How much a chord tone outside the key costs.
const FOREIGN: f32 = 0.2;
/// What a new root must reach; below it the old one is held.
const SURE: f32 = 0.3;
/// What a bar leaves of the evidence for a key.
const KEY_MEMORY: f32 = 0.985;
/// How far from a beat a note still counts as on it, in beats.
const NEAR_BEATS: f64 = 0.2;

/// Decides roots without a chart.
#[derive(Clone, Debug)]
pub struct Decider {
    beats_in_bar: f64,
    /// For each quality and root.
    belief: [[f32; CLASSES]; 4],
    /// Notes of late that each major key holds, less those it does not.
    keys: [f32; CLASSES],
    bar: Option<f64>,
    last: Option<PitchClass>,
    held: Option<PitchClass>,
}

impl Decider {
    /// A decider for bars of so many quarter notes, 1 to 16.
    #[must_use]
    pub fn new(beats_in_bar: u8) -> Decider {
        Decider {
            beats_in_bar: f64::from(beats_in_bar.clamp(1, 16)),
            belief: [[1.0 / 48.0; CLASSES]; 4],
            keys: [0.0; CLASSES],
            bar: None,
            last: None,
            held: None,
        }
    }

    /// Takes in a note that starts at `at_beats` from any bar line; times that are not finite
    /// are passed over. Notes come in order.
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

    /// Forgets the music; the bars stay.
    pub fn reset(&mut self) {
        self.belief = [[1.0 / 48.0; CLASSES]; 4];
        self.keys = [0.0; CLASSES];
        (self.bar, self.last, self.held) = (None, None, None);
    }

    fn hear_key(&mut self, class: PitchClass) {
        for (tonic, count) in classes().zip(&mut self.keys) {
            let inside = scale(tonic).has(class);
            *count = *count * KEY_MEMORY + if inside { 1.0 } else { -1.0 };
        }
    }

    /// A bar line: chords move as they usually do, towards what the last note led to.
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
                let moved = classes().zip(&roots).map(|(from, part)| {
                    let step = usize::from(root.above(from));
                    part * MOTION.get(step).copied().unwrap_or(0.0)
                });
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

    /// The major key that holds most of what was heard, once it is clear.
    fn key(&self) -> Option<PitchClass> {
        let best = classes()
            .zip(self.keys)
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        (best.1 > 4.0).then_some(best.0)
    }

    fn weigh(&mut self, likely: impl Fn(PitchClass, &[i8; 3]) -> f32) {
        for (tones, row) in QUALITIES.iter().zip(&mut self.belief) {
            for (root, belief) in classes().zip(row) {
                *belief *= likely(root, tones);
            }
        }
        self.settle();
    }

    /// Brings the sum to 1, and leaves every chord possible.
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
            && (part / total > SURE || self.held.is_none())
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

/// How likely a note is at its place in the bar, by what it is in the chord.
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
        tones: [0.07, 0.07, 0.01],
        other: 0.004,
    };
    const MIDDLE: Weights = Weights {
        root: 0.05,
        tones: [0.26, 0.26, 0.22],
        other: 0.03,
    };
    const BETWEEN: Weights = Weights {
        root: 0.03,
        tones: [0.23, 0.23, 0.23],
        other: 0.035,
    };
    /// The last beats lead away: they tell of the next chord, not of this one.
    const APPROACH: Weights = Weights {
        root: 0.1,
        tones: [0.09, 0.09, 0.09],
        other: 0.08,
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

/// A chord of a chart from a beat on, as the bass knows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// Beats from the chart's start.
    pub at_beats: f64,
    /// Its root, or its written bass.
    pub root: PitchClass,
    /// All of its tones.
    pub tones: PcSet,
}

/// How the bass stands to its chart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// The chord of the beat.
    OnTime,
    /// The bass has moved to the next chord before its beat.
    Early,
    /// The bass has stayed on the chord before.
    Late,
    /// The bass is elsewhere, and it is not clear where.
    Lost,
}

/// What is made of a note over a chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// The number of the change that sounds.
    pub change: usize,
    /// How the bass stands to it.
    pub standing: Standing,
    /// Whole bars to add to the host's position: other than 0 after the form was lost and found.
    pub shift_bars: usize,
    /// How sure the place is, 0 to 1.
    pub confidence: f32,
}

/// The longest chart in which a lost place is looked for, in bars.
pub const LONGEST_BARS: usize = 128;
/// How much before its beat a chord may be taken, in beats: an eighth note and a little.
const EARLY_BEATS: f64 = 0.67;
/// How long after its beat a chord may still be missing, in beats.
const LATE_BEATS: f64 = 1.1;
/// What is kept of the fit of places from note to note: about sixteen notes are remembered.
const FIT_MEMORY: f32 = 0.94;
/// Mean fit, of -1 to 1, below which a place is doubted.
const DOUBTFUL: f32 = 0.15;
/// Mean fit by which another place must be better, and what it must reach itself.
const BETTER: f32 = 0.3;
const GOOD: f32 = 0.35;
/// Notes heard before a place is doubted.
const PATIENCE: f32 = 8.0;

/// Follows a chart.
#[derive(Clone, Debug)]
pub struct Follower {
    beats_in_bar: f64,
    fits: [f32; LONGEST_BARS],
    /// Notes remembered.
    weight: f32,
    shift_bars: usize,
}

impl Follower {
    /// A follower for bars of so many quarter notes, 1 to 16.
    #[must_use]
    pub fn new(beats_in_bar: u8) -> Follower {
        Follower {
            beats_in_bar: f64::from(beats_in_bar.clamp(1, 16)),
            fits: [0.0; LONGEST_BARS],
            weight: 0.0,
            shift_bars: 0,
        }
    }

    /// Forgets the music and goes back to the host's position.
    pub fn reset(&mut self) {
        self.fits = [0.0; LONGEST_BARS];
        self.weight = 0.0;
        self.shift_bars = 0;
    }

    /// Takes in a note at `at_beats` of the host's position over a chart of `bars` bars that
    /// starts again at its end. `None` when the chart has no change or the time is not finite.
    pub fn hear(
        &mut self,
        changes: &[Change],
        bars: usize,
        class: PitchClass,
        at_beats: f64,
    ) -> Option<Place> {
        let bars = bars.clamp(1, LONGEST_BARS);
        if !at_beats.is_finite() || changes.is_empty() {
            return None;
        }
        let form = Form {
            changes,
            length_beats: self.beats_in_bar * float(bars),
        };
        self.weight = self.weight * FIT_MEMORY + 1.0;
        for (shift, fit) in self.fits.iter_mut().take(bars).enumerate() {
            let at = at_beats + float(shift) * self.beats_in_bar;
            *fit = *fit * FIT_MEMORY + form.fit(class, at, self.beats_in_bar);
        }
        let lost = self.look_around(bars);
        let at = at_beats + float(self.shift_bars) * self.beats_in_bar;
        let (change, standing) = form.stand(class, at)?;
        let mean = self.fits.get(self.shift_bars)? / self.weight;
        Some(Place {
            change,
            standing: if lost { Standing::Lost } else { standing },
            shift_bars: self.shift_bars,
            confidence: f32::midpoint(1.0, mean).clamp(0.0, 1.0),
        })
    }

    /// Moves to a place that fits much better. Returns whether the place is in doubt.
    fn look_around(&mut self, bars: usize) -> bool {
        self.shift_bars %= bars;
        let here = self.fits.get(self.shift_bars).copied().unwrap_or(0.0) / self.weight;
        if self.weight < PATIENCE || here > DOUBTFUL {
            return false;
        }
        let fits = self.fits.iter().take(bars).enumerate();
        let best = fits.max_by(|a, b| a.1.total_cmp(b.1));
        if let Some((shift, fit)) = best {
            let there = fit / self.weight;
            if there > GOOD && there > here + BETTER {
                self.shift_bars = shift;
                return false;
            }
        }
        true
    }
}

/// A chart that starts again at its end.
struct Form<'a> {
    changes: &'a [Change],
    length_beats: f64,
}

impl Form<'_> {
    /// The change at a time, and how long it has sounded.
    fn at(&self, at_beats: f64) -> Option<(usize, f64)> {
        let at = at_beats.rem_euclid(self.length_beats);
        let found = self.changes.iter().rposition(|c| c.at_beats <= at);
        let index = found.or_else(|| self.changes.len().checked_sub(1))?;
        let start = self.changes.get(index)?.at_beats;
        Some((index, (at - start).rem_euclid(self.length_beats)))
    }

    /// How a note fits a place, from -1 to 1: roots on strong beats say most.
    fn fit(&self, class: PitchClass, at_beats: f64, beats_in_bar: f64) -> f32 {
        let at_beats = at_beats + NEAR_BEATS;
        let Some((index, since)) = self.at(at_beats) else {
            return 0.0;
        };
        let Some(change) = self.changes.get(index) else {
            return 0.0;
        };
        let first = since < 2.0 * NEAR_BEATS;
        let strong = first || (at_beats.rem_euclid(0.5 * beats_in_bar)) < 2.0 * NEAR_BEATS;
        match (class == change.root, change.tones.has(class)) {
            (true, _) if first => 1.0,
            (_, true) if first => 0.2,
            (_, true) if strong => 0.6,
            (_, true) => 0.4,
            _ if first => -1.0,
            _ if strong => -0.5,
            // A passing note says little.
            _ => 0.1,
        }
    }

    /// The change that a note belongs to.
    fn stand(&self, class: PitchClass, at_beats: f64) -> Option<(usize, Standing)> {
        let (index, since) = self.at(at_beats + NEAR_BEATS)?;
        let here = self.changes.get(index)?;
        let (next_index, _) = self.at(at_beats + EARLY_BEATS)?;
        let next = self.changes.get(next_index)?;
        if next_index != index && class == next.root && class != here.root {
            return Some((next_index, Standing::Early));
        }
        let before_index = index
            .checked_sub(1)
            .or_else(|| self.changes.len().checked_sub(1))?;
        let before = self.changes.get(before_index)?;
        let stays = since - NEAR_BEATS < LATE_BEATS && !here.tones.has(class);
        if stays && before_index != index && class == before.root {
            return Some((before_index, Standing::Late));
        }
        Some((index, Standing::OnTime))
    }
}

fn classes() -> impl Iterator<Item = PitchClass> {
    (0..12).map(PitchClass::wrapping)
}

fn scale(tonic: PitchClass) -> PcSet {
    [0, 2, 4, 5, 7, 9, 11]
        .into_iter()
        .map(|s| tonic.up(s))
        .collect()
}

fn chord(root: PitchClass, tones: &[i8; 3]) -> PcSet {
    std::iter::once(root)
        .chain(tones.iter().map(|t| root.up(*t)))
        .collect()
}

#[expect(clippy::cast_precision_loss, reason = "bars of a chart")]
fn float(count: usize) -> f64 {
    count as f64
}
