//! What can be heard from the panel, as requests to the engine: a chord, a chord between its neighbours,
//! a scale over a chord. Pure functions. The panel's thread; imports the theory and the engine's plain
//! values.

use crate::engine::planned::PlannedChart;
use crate::engine::trial::{Pace, Request, Step};
use guidehand_theory::degree::Degree;
use guidehand_theory::pcset::PcSet;
use guidehand_theory::pipeline::{ChordInKey, LOWEST_BASS, Taste};
use guidehand_theory::pitch::{MidiNote, PitchClass};
use guidehand_theory::scale::Suggestion;
use guidehand_theory::voicing::Voicing;

/// A chord by itself lasts for so many eighths, and so does each chord in context: two beats.
const CHORD_EIGHTHS: u8 = 4;

/// The last note of a scale lasts for two eighths, so that it ends with its beat.
const LAST_EIGHTHS: u8 = 2;

/// How hard chords are struck, in MIDI velocity.
const CHORD_VELOCITY: u8 = 80;

/// How hard the notes of a scale are struck: above the chord.
const SCALE_VELOCITY: u8 = 92;

/// How hard the chord under a scale is struck.
const BENEATH_VELOCITY: u8 = 64;

/// The third, or the degree in its place, from the most usual.
const THIRDS: [Degree; 4] = [Degree::Three, Degree::Flat3, Degree::Four, Degree::Two];

/// The seventh, or the degree in its place, from the most usual.
const SEVENTHS: [Degree; 4] = [
    Degree::Flat7,
    Degree::Seven,
    Degree::Six,
    Degree::DoubleFlat7,
];

/// A chord to be heard: its notes, and the bass under it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HeardChord {
    /// The notes.
    pub voicing: Voicing,
    /// The bass. It sounds where the player has given the bass a channel.
    pub bass: Option<MidiNote>,
    /// The inner line: what sounds from the middle of the chord on.
    pub then: Option<Voicing>,
}

impl HeardChord {
    /// A chord in its key, voiced like this.
    #[must_use]
    pub fn new(placed: &ChordInKey, voicing: Voicing) -> HeardChord {
        HeardChord {
            voicing,
            bass: placed.bass(LOWEST_BASS),
            then: None,
        }
    }

    /// The same chord, in which a voice moves in the middle.
    #[must_use]
    pub const fn with_line(self, then: Option<Voicing>) -> HeardChord {
        HeardChord { then, ..self }
    }

    fn step(&self) -> Step {
        let step = Step::chord(&self.voicing).over(self.bass);
        step.struck(CHORD_VELOCITY).lasting(CHORD_EIGHTHS)
    }

    fn steps(self) -> impl Iterator<Item = Step> {
        let whole = self.step();
        let moved = self.then.map(|then| {
            let half = whole.lasting(CHORD_EIGHTHS / 2);
            let after = HeardChord {
                voicing: then,
                ..self
            };
            [half, after.step().lasting(CHORD_EIGHTHS / 2).tied()]
        });
        let whole = [whole].into_iter().filter(move |_| moved.is_none());
        moved.into_iter().flatten().chain(whole)
    }
}

/// One chord, for a second.
#[must_use]
pub fn chord(heard: &HeardChord) -> Request {
    Request::new(Pace::Free, heard.steps())
}

/// Chords in a row, each for two beats at the tempo of the song.
#[must_use]
pub fn row(chords: impl IntoIterator<Item = HeardChord>) -> Request {
    let steps = chords.into_iter().flat_map(HeardChord::steps);
    Request::new(Pace::Even, steps)
}

/// The chord before one of a chart, this one, and the next one, each for two beats at the tempo of the
/// song. `instead` is heard in the place of the planned chord. In a chart that `repeats`, the last chord
/// comes before the first. Neighbours that are silent are left out. None where this place itself is silent.
#[must_use]
pub fn in_context(
    chart: &PlannedChart,
    index: usize,
    taste: &Taste,
    repeats: bool,
    instead: Option<HeardChord>,
) -> Option<Request> {
    let planned = |index: usize| {
        let (placed, voiced) = chart.voiced(index, taste)?;
        Some(HeardChord::new(&placed, voiced.voicing))
    };
    let this = instead.or_else(|| planned(index))?;
    let planned_other = |other: usize| planned(other).filter(|_| other != index);
    let before = before(chart, index, repeats).and_then(planned_other);
    let next = after(chart, index, repeats).and_then(planned_other);
    Some(row([before, Some(this), next].into_iter().flatten()))
}

/// The first change after the pickup, where the chart starts again.
fn first_of_round(chart: &PlannedChart) -> usize {
    chart.index_at(f64::from(chart.pickup_ticks))
}

fn before(chart: &PlannedChart, index: usize, repeats: bool) -> Option<usize> {
    let last = chart.changes.len().checked_sub(1);
    // A pickup comes before the first round only, and nothing comes before it.
    let wraps = repeats && index == 0 && chart.pickup_ticks == 0;
    index.checked_sub(1).or(last.filter(|_| wraps))
}

fn after(chart: &PlannedChart, index: usize, repeats: bool) -> Option<usize> {
    let next = index.checked_add(1)?;
    if next < chart.changes.len() {
        return Some(next);
    }
    repeats.then(|| first_of_round(chart))
}

/// Where a scale starts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum StartsOn {
    /// On the chord's third, or what stands in its place.
    #[default]
    Third,
    /// On its seventh, or what stands in its place.
    Seventh,
    /// On its root.
    Root,
}

/// A scale over a chord: an octave up and down, a swung eighth each, from the first such note above the
/// left hand. If the scale does not hold the note to start from, it starts on its own root. None where
/// it would leave the keyboard.
#[must_use]
pub fn scale(
    suggestion: &Suggestion,
    placed: &ChordInKey,
    voicing: &Voicing,
    on: StartsOn,
) -> Option<Request> {
    let own_root = suggestion.root.class();
    let classes = PcSet::of_degrees(own_root, suggestion.scale.set());
    let start = start_of(placed, on);
    let start = start.filter(|class| classes.contains(*class));
    let lowest = above_the_left_hand(voicing)?.next_of(start.unwrap_or(own_root))?;
    let highest = lowest.number().checked_add(12).filter(|top| *top < 128)?;
    let keys = (lowest.number()..=highest).filter_map(MidiNote::new);
    let keys = keys.filter(|note| classes.contains(note.class()));
    let up = keys.clone();
    let down = keys.rev().skip(1);
    let steps = up
        .chain(down)
        .map(|note| Step::note(note).struck(SCALE_VELOCITY));
    let all = steps.clone().count();
    let steps = steps.enumerate().map(|(nth, step)| {
        if nth + 1 == all {
            step.lasting(LAST_EIGHTHS)
        } else {
            step
        }
    });
    let beneath = HeardChord::new(placed, *voicing).step();
    Some(Request::new(Pace::Swung, steps).over(beneath.struck(BENEATH_VELOCITY)))
}

/// The note from which a scale starts over a chord.
fn start_of(placed: &ChordInKey, on: StartsOn) -> Option<PitchClass> {
    let chord = &placed.chord;
    let first = |slot: &[Degree]| slot.iter().copied().find(|d| chord.degrees().contains(*d));
    let degree = match on {
        StartsOn::Third => first(&THIRDS),
        StartsOn::Seventh => first(&SEVENTHS),
        StartsOn::Root => Some(Degree::Root),
    };
    degree.map(|degree| degree.class(chord.root))
}

/// The first note above the left hand's part of a voicing.
fn above_the_left_hand(voicing: &Voicing) -> Option<MidiNote> {
    let last = usize::from(voicing.left_hand).checked_sub(1);
    let left = last.and_then(|last| voicing.voices().get(last));
    let highest = left.map(|voice| voice.note).or(voicing.highest())?;
    MidiNote::new(highest.number() + 1)
}

#[cfg(test)]
mod tests;
