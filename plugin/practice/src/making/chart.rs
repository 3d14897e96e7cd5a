//! Drills from a chart: bar by bar, in one key or in one after the other. Imports `lay` and `basis`.

use super::basis::{MOST_QUESTIONS, Made, Making};
use super::lay::{self, Laid, Layer, ToLay};
use crate::choice::ChartKeys;
use crate::picker::Standing;
use crate::told::{NoDrill, Told};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{Change, Chart, Meter};
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::{self, ChordInKey};
use guidehand_theory::plan::Ends;
use guidehand_theory::voicing::Voicing;
use guidehand_theory::{pin, transpose};
use std::ops::Range;

/// A chart that is to be practised.
#[derive(Clone, Copy, Debug)]
pub struct ChartToAsk<'a> {
    /// The chart.
    pub chart: &'a Chart,
    /// The key that the player has pinned for all of it.
    pub key: Option<Key>,
    /// The voicings that the player has placed, by their changes.
    pub pins: &'a [(usize, Voicing)],
}

/// The part of a chart that is practised.
struct Stretch {
    ticks: Range<u32>,
    meter: Meter,
    is_whole: bool,
}

impl Making<'_> {
    /// The drill of a chart. Each time through it is one item.
    ///
    /// # Errors
    /// Why there is none.
    pub fn of_chart(&self, asked: &ChartToAsk<'_>) -> Result<Made, NoDrill> {
        let chart = asked.chart;
        let placed = pipeline::place(chart, asked.key);
        let Some(first) = placed.iter().flatten().next() else {
            return Err(NoDrill::NoChords);
        };
        let (stretch, mut told) = self.stretch(chart)?;
        let within = |change: &Change| within(change, &stretch.ticks).is_some();
        let mut sounding = chart.changes.iter().zip(&placed);
        let first_within = sounding.find_map(|(change, placed)| {
            let key = (*placed)?.function.key;
            within(change).then_some(key)
        });
        let Some(home) = first_within else {
            return Err(NoDrill::SilentBars);
        };
        let rounds = self.rounds(first.function.key);
        if rounds.is_empty() {
            return Err(NoDrill::NoKeys);
        }
        let layer = Layer {
            taste: self.taste,
            own: self.taste.own_of(self.shapes),
            position: self.exercise.position,
        };
        let ends = match rounds.as_slice() {
            [_] if stretch.is_whole => Ends::Cyclic,
            _ => Ends::Open,
        };
        let mut left_out = Vec::new();
        let mut items = Vec::new();
        let mut count = 0;
        for half_steps in rounds {
            // What lies beyond is cut, and need not be laid.
            if count > MOST_QUESTIONS {
                break;
            }
            let placed = moved(asked, &placed, half_steps);
            let pins = moved_pins(asked.pins, half_steps, &self.taste.register);
            let chords = to_lay(chart, &placed, &pins, &stretch.ticks);
            let (questions, without) = layer.lay(&chords, ends);
            left_out.extend(without);
            count += questions.len();
            if questions.is_empty() {
                continue;
            }
            let laid = Laid {
                key: chords.first().map_or(home, |one| one.placed.function.key),
                questions,
                start_ticks: stretch.ticks.start,
                length_ticks: stretch.ticks.end - stretch.ticks.start,
            };
            items.push((laid, Standing::NEW));
        }
        told.extend(lay::left_out(&left_out));
        self.made(stretch.meter, items, told)
    }

    /// The bars that are asked for.
    fn stretch(&self, chart: &Chart) -> Result<(Stretch, Vec<Told>), NoDrill> {
        let pickup = usize::from(chart.has_pickup());
        let bars =
            u32::try_from(chart.bars.len() - pickup.min(chart.bars.len())).unwrap_or(u32::MAX);
        let Some((first, last)) = self.exercise.bars else {
            let whole = Stretch {
                ticks: 0..chart.length_ticks(),
                meter: chart.meter(),
                is_whole: true,
            };
            return Ok((whole, Vec::new()));
        };
        let bar = |number: u16| chart.bars.get(usize::from(number) - 1 + pickup);
        let first_bar = bar(first.max(1)).ok_or(NoDrill::BeyondEnd { bars })?;
        let end = bar(last.max(first).max(1)).map(|bar| bar.start_ticks + bar.meter.bar_ticks());
        let told = end.is_none().then_some(Told::EndsBefore { bars });
        let stretch = Stretch {
            ticks: first_bar.start_ticks..end.unwrap_or_else(|| chart.length_ticks()),
            meter: first_bar.meter,
            is_whole: false,
        };
        Ok((stretch, told.into_iter().collect()))
    }

    /// How far each time through lies above the written one, in half steps.
    fn rounds(&self, written: Key) -> Vec<u8> {
        let tonic = written.tonic.class();
        let exercise = self.exercise;
        match exercise.chart_keys {
            ChartKeys::AsWritten => vec![0],
            ChartKeys::In(key) => vec![key.above(tonic)],
            ChartKeys::EachRound => {
                let keys = exercise.order.of(&exercise.keys, tonic, exercise.seed);
                keys.into_iter().map(|key| key.above(tonic)).collect()
            }
        }
    }
}

/// The part of a change that lies within these ticks.
fn within(change: &Change, ticks: &Range<u32>) -> Option<Range<u32>> {
    let from = change.start_ticks.max(ticks.start);
    let to = (change.start_ticks + change.length_ticks).min(ticks.end);
    (from < to).then_some(from..to)
}

/// The chords of the chart so many half steps higher, in their keys.
fn moved(
    asked: &ChartToAsk<'_>,
    placed: &[Option<ChordInKey>],
    half_steps: u8,
) -> Vec<Option<ChordInKey>> {
    if half_steps == 0 {
        return placed.to_vec();
    }
    let by = i8::try_from(half_steps).unwrap_or_default();
    let written = placed.iter().map(|one| {
        let one = one.as_ref()?;
        Some((one.written, one.function.key))
    });
    let moved = transpose::transposed(&written.collect::<Vec<_>>(), by);
    let mut chart = asked.chart.clone();
    for (change, chord) in chart.changes.iter_mut().zip(moved) {
        change.chord = chord;
    }
    let key = asked
        .key
        .map(|key| Key::usual(key.tonic.class().up(by), key.mode));
    pipeline::place(&chart, key)
}

/// The voicings that the player has placed, so many half steps higher by the nearer way.
fn moved_pins(
    pins: &[(usize, Voicing)],
    half_steps: u8,
    register: &Register,
) -> Vec<(usize, Voicing)> {
    let by = i8::try_from(half_steps).unwrap_or_default();
    let nearer = if by > 6 { by - 12 } else { by };
    let moved = |(change, voicing): &(usize, Voicing)| {
        let notes: Vec<_> = voicing.notes().collect();
        let moved = pin::transposed(&notes, nearer, register)?;
        let (from, to) = (notes.first()?.semitones(), moved.first()?.semitones());
        let voicing = voicing.transposed(i8::try_from(to - from).ok()?)?;
        Some((*change, voicing))
    };
    pins.iter().filter_map(moved).collect()
}

/// The chords that sound within these ticks.
fn to_lay(
    chart: &Chart,
    placed: &[Option<ChordInKey>],
    pins: &[(usize, Voicing)],
    ticks: &Range<u32>,
) -> Vec<ToLay> {
    let changes = chart.changes.iter().zip(placed).enumerate();
    let chords = changes.filter_map(|(at, (change, placed))| {
        let within = within(change, ticks)?;
        let pinned = pins.iter().find(|(change, _)| *change == at);
        Some(ToLay {
            placed: (*placed)?,
            dressing: None,
            first_choice: false,
            pinned: pinned.map(|(_, voicing)| *voicing),
            start_ticks: within.start,
            length_ticks: within.end - within.start,
            change: Some(at),
        })
    });
    chords.take(MOST_QUESTIONS + 1).collect()
}
