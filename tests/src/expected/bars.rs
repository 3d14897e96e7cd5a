//! A performance written out: its bars, its chords, and the hits of a rhythm with the chords that
//! they play. Imported by `expected` only.

use super::pattern::{EIGHTH, PatternBar, PatternHit, QUARTER, RhythmSettings, bars_of, hits_of};
use guidehand_theory::chart::Chart;

/// A chord of the performance, or silence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct ChordSpan {
    /// The change of the chart, from 0.
    pub(super) change: usize,
    pub(super) start: u32,
    pub(super) end: u32,
    pub(super) silent: bool,
}

/// A performance written out from its start: bars and chords up to a tick, and one more pass
/// through the chart.
pub(super) struct ExpectedBars {
    pub(super) bars: Vec<PatternBar>,
    pub(super) turns: Vec<ChordSpan>,
}

impl ExpectedBars {
    pub(super) fn of(chart: &Chart, repeats: bool, until_ticks: f64) -> Self {
        // A pickup is played once. Repeats of the chart begin after it.
        let pickup = chart.pickup_ticks();
        let length = chart.length_ticks() - pickup;
        let mut sheet = ExpectedBars {
            bars: Vec::new(),
            turns: Vec::new(),
        };
        let mut start = 0;
        loop {
            // Patterns of two bars begin with the first full bar.
            let number = sheet.bars.len() + usize::from(pickup > 0);
            let number = u32::try_from(number).unwrap_or(u32::MAX);
            let again = |at: u32| start == 0 || at >= pickup;
            let bars = bars_of(chart).into_iter().filter(|bar| again(bar.start));
            let bars = (number..).zip(bars);
            sheet.bars.extend(bars.map(|(number, bar)| PatternBar {
                number,
                start: start + bar.start,
                ..bar
            }));
            let changes = chart.changes.iter().enumerate();
            let changes = changes.filter(|(_, at)| again(at.start_ticks + at.length_ticks - 1));
            sheet.turns.extend(changes.map(|(change, at)| ChordSpan {
                change,
                start: start
                    + if start == 0 {
                        at.start_ticks
                    } else {
                        at.start_ticks.max(pickup)
                    },
                end: start + at.start_ticks + at.length_ticks,
                silent: at.chord.is_none(),
            }));
            if !repeats || f64::from(start) > until_ticks {
                return sheet;
            }
            start += length;
        }
    }

    pub(super) fn bar_at(&self, place: f64) -> Option<&PatternBar> {
        self.bars
            .iter()
            .find(|bar| f64::from(bar.start) <= place && place < f64::from(bar.end()))
    }

    pub(super) fn swung(&self, place: f64, ratio: f64) -> f64 {
        self.bar_at(place)
            .map_or(place, |bar| bar.swung(place, ratio))
    }

    pub(super) fn turn_at(&self, place: u32) -> Option<&ChordSpan> {
        let here = |turn: &&ChordSpan| turn.start <= place && place < turn.end;
        self.turns.iter().find(here)
    }

    /// The chord that a hit plays.
    pub(super) fn turn_of(
        &self,
        hit: &PatternHit,
        bar: &PatternBar,
        anticipation: bool,
    ) -> Option<ChordSpan> {
        let beat = if matches!(bar.meter.unit, 8 | 16) {
            EIGHTH * 3
        } else {
            QUARTER
        };
        let off_beat = !(hit.place - bar.start).is_multiple_of(beat);
        let here = self.turn_at(hit.place);
        // A chord that begins with the hit is not skipped for the next one.
        let begins = here.is_some_and(|turn| turn.start == hit.place);
        let coming = self.turns.iter().find(|turn| turn.start > hit.place);
        let turn = match coming {
            Some(coming)
                if anticipation
                    && off_beat
                    && !begins
                    && coming.start - hit.place <= EIGHTH
                    && !coming.silent =>
            {
                Some(coming)
            }
            _ => here,
        };
        turn.filter(|turn| !turn.silent).copied()
    }

    /// The hits of a pattern with their chords, and a strike for each chord that the pattern leaves
    /// out, in order.
    pub(super) fn patterned(&self, comping: &RhythmSettings) -> Vec<(PatternHit, ChordSpan)> {
        let mut all: Vec<(PatternHit, ChordSpan)> = Vec::new();
        let mut before: Vec<(PatternHit, ChordSpan)> = Vec::new();
        for bar in &self.bars {
            let hits = hits_of(comping, bar).into_iter();
            let played: Vec<(PatternHit, ChordSpan)> = hits
                .filter_map(|hit| Some((hit, self.turn_of(&hit, bar, comping.anticipation)?)))
                .collect();
            let is_played =
                |turn: &ChordSpan| before.iter().chain(&played).any(|(_, other)| other == turn);
            let left_out = self.turns.iter().filter(|turn| {
                (bar.start..bar.end()).contains(&turn.start) && !turn.silent && !is_played(turn)
            });
            all.extend(left_out.map(|turn| {
                let hit = PatternHit {
                    place: turn.start,
                    length: 2 * EIGHTH,
                    accent: 0,
                };
                (hit, *turn)
            }));
            all.extend(&played);
            before = played;
        }
        all.sort_by_key(|(hit, turn)| (hit.place, turn.start));
        all
    }

    /// One strike for each chord, as long as the chord lasts, and an eighth early if `early` is
    /// set.
    pub(super) fn held(&self, early: bool) -> Vec<(PatternHit, ChordSpan)> {
        let mut before: Option<&ChordSpan> = None;
        let mut all = Vec::new();
        for turn in &self.turns {
            let room = before.is_some_and(|before| before.end - before.start >= QUARTER);
            let place = if early && room {
                turn.start - EIGHTH
            } else {
                turn.start
            };
            before = Some(turn);
            if !turn.silent {
                let hit = PatternHit {
                    place,
                    length: turn.end - place,
                    accent: i8::from(early),
                };
                all.push((hit, *turn));
            }
        }
        all
    }
}
