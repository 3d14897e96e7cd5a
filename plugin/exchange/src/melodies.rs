//! Melodies of files: the lines that can be one, and where their notes stand. Imports the theory.

use guidehand_theory::chart::{Bar, Chart, TICKS_PER_QUARTER};
use guidehand_theory::melody::{Melody, MelodyNote};

/// A melody that was read from a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FoundMelody {
    /// The melody, over the chart as it is played.
    pub melody: Melody,
    /// The lines that could be the melody, in the order of the file.
    pub lines: Vec<Line>,
}

/// A line of notes: a staff of a part, or a track.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Line {
    /// Its name, by which it can be chosen.
    pub name: String,
    /// How many notes it has.
    pub notes: usize,
    /// How many of them begin together with a higher one.
    pub below: usize,
    /// The sum of its keys.
    pub keys: u64,
    /// Whether chord symbols stand over it.
    pub has_symbols: bool,
    /// Whether it is the melody.
    pub is_taken: bool,
}

/// Half the room around a place on the grid of note values, in ticks.
const NEAR: u32 = 4;
/// Sixty-fourths, and halves of sixteenths of triplets.
const STEPS: [u32; 2] = [TICKS_PER_QUARTER / 16, TICKS_PER_QUARTER / 12];

/// The place of a note value that a tick is meant to be, if it is one but for the rounding of a
/// file with a coarse time grid. The tick counts from the start of a bar.
pub(crate) fn straight(ticks: u32) -> Option<u32> {
    let nearest = |step: u32| ticks.saturating_add(step / 2) / step * step;
    let places = STEPS.map(nearest).into_iter();
    places
        .min_by_key(|place| place.abs_diff(ticks))
        .filter(|place| place.abs_diff(ticks) <= NEAR)
}

/// A melody over one chart on another one, first bar on first bar. Returns how many notes lie
/// before its start or behind its end, and are left out.
pub(crate) fn moved(melody: &Melody, from: &Chart, to: &Chart) -> (Melody, usize) {
    let pickup = |chart: &Chart| {
        let first = chart.bars.first();
        let is_pickup = |bar: &&Bar| {
            let written = chart.written.get(bar.written);
            written.is_some_and(|written| written.pickup)
        };
        first
            .filter(is_pickup)
            .map_or(0, |bar| bar.meter.bar_ticks())
    };
    let (before, after) = (pickup(from), pickup(to));
    let end = to.length_ticks();
    let notes = melody.notes().iter().filter_map(|note| {
        let start_ticks = (note.start_ticks + after).checked_sub(before)?;
        let length_ticks = note.length_ticks.min(end.checked_sub(start_ticks)?);
        (length_ticks > 0).then_some(MelodyNote {
            start_ticks,
            length_ticks,
            ..*note
        })
    });
    let there = Melody::new(notes);
    let lost = melody.notes().len() - there.notes().len();
    (there, lost)
}
