//! A performance written out: its bars, its chords, and the hits of a rhythm with the chords that
//! they play. Imported by `expected` only.

use super::pattern::{EIGHTH, PatternBar, PatternHit, QUARTER, RhythmSettings, bars_of, hits_of};
use guidehand_report::request::Rhythm;
use guidehand_theory::chart::Chart;
use std::collections::BTreeSet;

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
        let begun = self
            .bars
            .partition_point(|bar| f64::from(bar.start) <= place);
        let bar = self.bars.get(begun.checked_sub(1)?);
        bar.filter(|bar| place < f64::from(bar.end()))
    }

    pub(super) fn swung(&self, place: f64, ratio: f64) -> f64 {
        self.bar_at(place)
            .map_or(place, |bar| bar.swung(place, ratio))
    }

    /// How many chords have started at a place.
    fn begun_at(&self, place: u32) -> usize {
        self.turns.partition_point(|turn| turn.start <= place)
    }

    pub(super) fn turn_at(&self, place: u32) -> Option<&ChordSpan> {
        let turn = self.turns.get(self.begun_at(place).checked_sub(1)?);
        turn.filter(|turn| place < turn.end)
    }

    /// The chord that a hit plays.
    pub(super) fn turn_of(
        &self,
        hit: &PatternHit,
        bar: &PatternBar,
        comping: &RhythmSettings,
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
        let coming = self.turns.get(self.begun_at(hit.place));
        let turn = match coming {
            Some(coming)
                if comping.anticipation
                    && off_beat
                    && !begins
                    && coming.start - hit.place <= EIGHTH
                    && !coming.silent
                    && !self.is_drawn(comping, coming.start) =>
            {
                Some(coming)
            }
            _ => here,
        };
        turn.filter(|turn| !turn.silent).copied()
    }

    /// Whether the drawn pattern has a hit at a place. What is drawn is struck, so a chord whose start
    /// is drawn does not come early.
    fn is_drawn(&self, comping: &RhythmSettings, place: u32) -> bool {
        let bar = self.bar_at(f64::from(place));
        let drawn = bar.filter(|_| comping.rhythm == Rhythm::Drawn);
        drawn.is_some_and(|bar| hits_of(comping, bar).iter().any(|hit| hit.place == place))
    }

    /// The hits of a bar, chord by chord. A chord from the middle on has those of the bar's first
    /// half, moved there, if it has none of its own or would wait for them; so has one of two beats that begins on another
    /// beat.
    fn divided(&self, comping: &RhythmSettings, bar: &PatternBar) -> Vec<PatternHit> {
        let hits = hits_of(comping, bar);
        let Some(middle) = bar.middle().filter(|_| comping.rhythm != Rhythm::Drawn) else {
            return hits;
        };
        let mut all = Vec::new();
        let over = self.turns.partition_point(|turn| turn.end <= bar.start);
        let turns = self.turns.iter().skip(over);
        for turn in turns.take_while(|turn| turn.start < bar.end()) {
            let (from, to) = (turn.start.max(bar.start), turn.end.min(bar.end()));
            let inside = |hit: &PatternHit| (from..to).contains(&hit.place);
            let own: Vec<PatternHit> = hits.iter().copied().filter(inside).collect();
            let two_beats = from + 2 * QUARTER == to && matches!(bar.meter.unit, 2 | 4);
            let elsewhere = from > bar.start && (from - bar.start).is_multiple_of(QUARTER);
            let takes_the_first = if from == middle {
                own.is_empty() || self.waits(comping, bar, turn, &hits)
            } else {
                two_beats && elsewhere
            };
            if takes_the_first {
                let first = hits.iter().filter(|hit| hit.place < middle);
                let moved = first.map(|hit| PatternHit {
                    place: hit.place - bar.start + from,
                    ..*hit
                });
                all.extend(moved.filter(inside));
            } else {
                all.extend(own);
            }
        }
        all
    }

    /// Whether a chord would wait for its first hit for a beat or more, and longer than the first
    /// chord of its bar waits. One that comes early does not wait.
    fn waits(
        &self,
        comping: &RhythmSettings,
        bar: &PatternBar,
        turn: &ChordSpan,
        hits: &[PatternHit],
    ) -> bool {
        let wait = |from: u32| {
            let next = hits.iter().find(|hit| hit.place >= from);
            next.map_or(u32::MAX, |hit| hit.place - from)
        };
        let wait_of_turn = wait(turn.start);
        let early = hits.iter().filter(|hit| hit.place < turn.start);
        let brings = |hit: &PatternHit| self.turn_of(hit, bar, comping) == Some(*turn);
        wait_of_turn >= QUARTER && wait(bar.start) < wait_of_turn && !early.clone().any(brings)
    }

    /// The hits of a pattern with their chords, and a strike for each chord that the pattern leaves
    /// out, in order.
    pub(super) fn patterned(&self, comping: &RhythmSettings) -> Vec<(PatternHit, ChordSpan)> {
        let mut all: Vec<(PatternHit, ChordSpan)> = Vec::new();
        for bar in &self.bars {
            let hits = self.divided(comping, bar).into_iter();
            all.extend(hits.filter_map(|hit| {
                let turn = self.turn_of(&hit, bar, comping)?;
                let (ahead, length) = match turn.start.checked_sub(hit.place) {
                    Some(ahead @ 1..) => (ahead, QUARTER),
                    _ => (0, hit.length),
                };
                Some((
                    PatternHit {
                        ahead,
                        length,
                        ..hit
                    },
                    turn,
                ))
            }));
        }
        // A chord that came early is not struck again where it starts.
        let early = starts_of(all.iter().filter(|(hit, turn)| hit.place < turn.start));
        all.retain(|(hit, turn)| hit.place != turn.start || !early.contains(&turn.start));
        let bar_of = |place: u32| self.bar_at(f64::from(place)).map(|bar| bar.start);
        let in_its_bar =
            |(hit, turn): &&(PatternHit, ChordSpan)| bar_of(hit.place) == bar_of(turn.start);
        let struck = starts_of(all.iter().filter(in_its_bar));
        let left_out = self.turns.iter().filter(|turn| {
            !turn.silent
                && bar_of(turn.start).is_some()
                && !struck.contains(&turn.start)
                && !early.contains(&turn.start)
        });
        all.extend(left_out.map(|turn| {
            let hit = PatternHit {
                place: turn.start,
                ahead: 0,
                length: QUARTER,
                accent: 0,
            };
            (hit, *turn)
        }));
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
                    ahead: turn.start - place,
                    length: turn.end - turn.start,
                    accent: i8::from(early),
                };
                all.push((hit, *turn));
            }
        }
        all
    }
}

/// Where the chords of hits start.
fn starts_of<'a>(hits: impl Iterator<Item = &'a (PatternHit, ChordSpan)>) -> BTreeSet<u32> {
    hits.map(|(_, turn)| turn.start).collect()
}
