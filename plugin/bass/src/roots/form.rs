//! Finds where in a chart the bass is: on time, ahead, behind, or at another place of the form.
//! Imports `guidehand-theory`.

use super::NEAR_BEATS;
use guidehand_theory::pcset::PcSet;
use guidehand_theory::pitch::PitchClass;

/// A chord of a chart, as far as it matters for a bass, and the beat from which it sounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// Beats from the chart's start.
    pub at_beats: f64,
    /// Its written bass, or else its root. None if the chart is silent.
    pub root: Option<PitchClass>,
    /// All of its tones.
    pub tones: PcSet,
}

/// A chart that starts again at its end.
#[derive(Clone, Copy, Debug)]
pub struct Form<'a> {
    /// Its chords in order, the first at beat 0.
    pub changes: &'a [Change],
    /// Its length in beats, above 0.
    pub length_beats: f64,
}

/// How the bass relates to its chart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// The bass is at the chord of the beat.
    OnTime,
    /// The bass has moved to the next chord before its beat.
    Early,
    /// The bass has stayed on the chord before.
    Late,
    /// The bass is at an unknown place.
    Lost,
}

/// What a note over a chart means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// The number of the change that the bass plays.
    pub change: usize,
    /// How the bass relates to it.
    pub standing: Standing,
    /// Whole bars to add to the host's position, in either direction. It differs from 0 after the
    /// place was lost and found again.
    pub shift_bars: i32,
    /// The confidence in the place, 0 to 1.
    pub confidence: f32,
}

/// The number of places that are compared. In a longer chart these are the nearest ones before and
/// after.
pub const LONGEST_BARS: usize = 128;
/// How early a chord may be taken before its beat, in beats: an eighth note and a little.
const EARLY_BEATS: f64 = 0.67;
/// How late a chord may come after its beat, in beats.
const LATE_BEATS: f64 = 1.1;
/// The part of a place's fit that remains from note to note, so that about sixteen notes count.
const FIT_MEMORY: f32 = 0.94;
/// The mean fit, from -1 to 1, below which a place is in doubt.
const DOUBTFUL: f32 = 0.15;
/// The mean fit by which another place must be better, and the mean fit that it must reach.
const BETTER: f32 = 0.3;
const GOOD: f32 = 0.35;
/// The number of notes before a place can be in doubt.
const PATIENCE: f32 = 8.0;

/// Follows a chart.
#[derive(Clone, Debug)]
pub struct Follower {
    beats_in_bar: f64,
    /// The fit of each place; places past the middle lie before the host's position.
    fits: [f32; LONGEST_BARS],
    /// The number of notes that count.
    weight: f32,
    /// The place in force.
    place: usize,
    /// The beat of the change whose chord the bass has reached.
    arrived_beats: f64,
}

impl Follower {
    /// A follower for bars of this many quarter notes, clamped to 1 to 16.
    #[must_use]
    pub fn new(beats_in_bar: f64) -> Follower {
        Follower {
            beats_in_bar: super::bar_of(beats_in_bar),
            fits: [0.0; LONGEST_BARS],
            weight: 0.0,
            place: 0,
            arrived_beats: f64::NEG_INFINITY,
        }
    }

    /// Forgets the music and goes back to the host's position.
    pub fn reset(&mut self) {
        *self = Follower::new(self.beats_in_bar);
    }

    /// Takes in a note at `at_beats` of the host's position. Returns `None` when the chart has no
    /// change or a number is not finite. The work is bounded by [`LONGEST_BARS`].
    pub fn hear(&mut self, form: &Form, class: PitchClass, at_beats: f64) -> Option<Place> {
        let playable = form.length_beats.is_finite() && form.length_beats > 0.0;
        if !at_beats.is_finite() || form.changes.is_empty() || !playable {
            return None;
        }
        let bars = bars(form.length_beats / self.beats_in_bar);
        self.place %= bars;
        self.weight = self.weight * FIT_MEMORY + 1.0;
        let beats_in_bar = self.beats_in_bar;
        for (place, fit) in self.fits.iter_mut().take(bars).enumerate() {
            let at = at_beats + f64::from(shift(place, bars)) * beats_in_bar;
            *fit = *fit * FIT_MEMORY + form.fit(class, at, beats_in_bar);
        }
        let lost = self.look_around(bars);
        let shift_bars = shift(self.place, bars);
        let at = at_beats + f64::from(shift_bars) * self.beats_in_bar;
        let (change, standing) = self.stand(form, class, at)?;
        let mean = self.fits.get(self.place)? / self.weight;
        Some(Place {
            change,
            standing: if lost { Standing::Lost } else { standing },
            shift_bars,
            confidence: f32::midpoint(1.0, mean).clamp(0.0, 1.0),
        })
    }

    /// Moves to a place that fits much better. Returns whether the place is in doubt.
    fn look_around(&mut self, bars: usize) -> bool {
        let here = self.fits.get(self.place).copied().unwrap_or(0.0) / self.weight;
        if self.weight < PATIENCE || here > DOUBTFUL {
            return false;
        }
        let fits = self.fits.iter().take(bars).enumerate();
        let best = fits.max_by(|a, b| a.1.total_cmp(b.1));
        if let Some((place, fit)) = best {
            let there = fit / self.weight;
            if there > GOOD && there > here + BETTER {
                self.place = place;
                return false;
            }
        }
        true
    }

    /// The change that a note belongs to.
    fn stand(&mut self, form: &Form, class: PitchClass, at: f64) -> Option<(usize, Standing)> {
        let (index, since) = form.at(at + NEAR_BEATS)?;
        let here = form.changes.get(index)?;
        let (next_index, since_next) = form.at(at + EARLY_BEATS)?;
        let next = form.changes.get(next_index)?;
        let is_root = |change: &Change| change.root == Some(class);
        if next_index != index && is_root(next) && !is_root(here) {
            self.arrived_beats = at + EARLY_BEATS - since_next;
            return Some((next_index, Standing::Early));
        }
        let start = at + NEAR_BEATS - since;
        let waits = (start - self.arrived_beats).abs() > NEAR_BEATS;
        if here.tones.contains(class) {
            self.arrived_beats = start;
            return Some((index, Standing::OnTime));
        }
        let last = form.changes.len().checked_sub(1)?;
        let before_index = index.checked_sub(1).unwrap_or(last);
        let before = form.changes.get(before_index)?;
        let stays = waits && since - NEAR_BEATS < LATE_BEATS;
        if stays && before_index != index && is_root(before) {
            return Some((before_index, Standing::Late));
        }
        Some((index, Standing::OnTime))
    }
}

impl Form<'_> {
    /// The change at this time, and how long it has sounded.
    fn at(&self, at_beats: f64) -> Option<(usize, f64)> {
        let at = at_beats.rem_euclid(self.length_beats);
        let after = self.changes.partition_point(|c| c.at_beats <= at);
        let last = self.changes.len().checked_sub(1)?;
        let index = after.checked_sub(1).unwrap_or(last);
        let start = self.changes.get(index)?.at_beats;
        Some((index, (at - start).rem_euclid(self.length_beats)))
    }

    /// How a note fits a place, from -1 to 1: roots on strong beats count most.
    fn fit(&self, class: PitchClass, at_beats: f64, beats_in_bar: f64) -> f32 {
        let at_beats = at_beats + NEAR_BEATS;
        let Some((index, since)) = self.at(at_beats) else {
            return 0.0;
        };
        let Some((change, root)) = self.changes.get(index).and_then(|c| Some((c, c.root?))) else {
            return 0.0;
        };
        let first = since < 2.0 * NEAR_BEATS;
        let strong = first || at_beats.rem_euclid(0.5 * beats_in_bar) < 2.0 * NEAR_BEATS;
        match (class == root, change.tones.contains(class)) {
            (true, _) if first => 1.0,
            (_, true) if first => 0.2,
            (_, true) if strong => 0.6,
            (_, true) => 0.4,
            _ if first => -1.0,
            _ if strong => -0.5,
            // A passing note counts little.
            _ => 0.1,
        }
    }
}

/// The number of places in a chart of this many bars, 1 to [`LONGEST_BARS`].
fn bars(count: f64) -> usize {
    let fits = |n: &usize| u32::try_from(*n).is_ok_and(|n| f64::from(n) >= count - 0.01);
    (1..LONGEST_BARS).find(fits).unwrap_or(LONGEST_BARS)
}

/// The number of bars by which a place lies after the host's position, negative if it lies before.
fn shift(place: usize, bars: usize) -> i32 {
    let whole = |n: usize| i32::try_from(n).unwrap_or(0);
    if place > bars / 2 {
        whole(place) - whole(bars)
    } else {
        whole(place)
    }
}
