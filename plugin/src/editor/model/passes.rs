//! What the right hand has played over a chart, pass by pass, and the melody that comes of it. Pure;
//! `take` imports it.

use crate::engine::taken::{Taken, TakenBar, TakenNote};
use guidehand_exchange::played::{self, Beat};
use guidehand_theory::chart::{Bar, Chart, TICKS_PER_QUARTER};
use guidehand_theory::melody::{Melody, MelodyNote};
use guidehand_theory::pitch::MidiNote;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// A note that rings on into a bar for so long is played in it, in ticks.
const PLAYED_IN: u32 = TICKS_PER_QUARTER;

/// Where a pass began and the one before it ended, in ticks from the start of the chart.
#[derive(Clone, Copy, Debug)]
struct Turn {
    left_ticks: u32,
    arrived_ticks: u32,
}

/// What has come of a take so far.
#[derive(Clone, Debug, Default)]
pub struct Passes {
    notes: Vec<TakenNote>,
    /// The passes that began by a turn.
    turns: BTreeMap<u32, Turn>,
}

/// A melody in which bars have been played anew.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Merged {
    /// The melody. Notes that were played have no names.
    pub melody: Melody,
    /// The bars that were played, as indices into [`Chart::bars`], ascending.
    pub bars: Vec<usize>,
    /// Notes that are left out, because the chart no longer has their bar in its place.
    pub without_bar: usize,
}

impl Passes {
    /// Takes in what has come.
    pub fn put(&mut self, taken: Taken) {
        match taken {
            Taken::Begun(_) => {}
            Taken::Note(note) => self.notes.push(note),
            Taken::Turned {
                pass,
                left_ticks,
                arrived_ticks,
            } => {
                let turn = Turn {
                    left_ticks,
                    arrived_ticks,
                };
                self.turns.insert(pass, turn);
            }
        }
    }

    /// How many keys were played.
    #[must_use]
    pub const fn count(&self) -> usize {
        self.notes.len()
    }

    /// The turn that ended a pass, with the pass that followed. There is none after a stop.
    fn turn_after(&self, pass: u32) -> Option<(u32, Turn)> {
        let next = pass.checked_add(1)?;
        self.turns.get(&next).map(|turn| (next, *turn))
    }
}

/// The melody with the bars that were played in the place of its own. Of several passes over a bar the
/// last one in which it was played counts. A bar is played in which a note begins, or rings on for a
/// beat. All others stay as they are.
#[must_use]
pub fn merge(melody: &Melody, passes: &Passes, chart: &Chart) -> Merged {
    let mut merged = Merged {
        melody: melody.clone(),
        ..Merged::default()
    };
    let mut by_pass: BTreeMap<u32, Vec<TakenNote>> = BTreeMap::new();
    for note in &passes.notes {
        if has_bar(chart, &note.bar) {
            by_pass.entry(note.pass).or_default().push(*note);
        } else {
            merged.without_bar += 1;
        }
    }
    let mut bars = BTreeSet::new();
    while let Some((number, notes)) = by_pass.pop_first() {
        let pass = Pass::new(number, notes, passes.turn_after(number), chart);
        let (pass, early) = pass.without_early();
        if let Some((next, _)) = pass.turn {
            by_pass.entry(next).or_default().extend(early);
        }
        let line = pass.line();
        let played = bars_of(&line, chart);
        merged.melody = replaced(&merged.melody, &line, &played, chart);
        bars.extend(played);
    }
    merged.bars = bars.into_iter().collect();
    merged
}

/// Whether a chart has a bar in its place.
fn has_bar(chart: &Chart, bar: &TakenBar) -> bool {
    let found = chart.bars.get(chart.bar_at(bar.start_ticks));
    found.is_some_and(|found| *bar == taken_bar(found))
}

const fn taken_bar(bar: &Bar) -> TakenBar {
    TakenBar {
        start_ticks: bar.start_ticks,
        length_ticks: bar.meter.bar_ticks(),
    }
}

/// A pass over a chart.
struct Pass<'a> {
    number: u32,
    /// By their starts.
    notes: Vec<TakenNote>,
    /// The turn that ended it, with the pass that followed.
    turn: Option<(u32, Turn)>,
    chart: &'a Chart,
}

impl<'a> Pass<'a> {
    fn new(
        number: u32,
        mut notes: Vec<TakenNote>,
        turn: Option<(u32, Turn)>,
        chart: &'a Chart,
    ) -> Pass<'a> {
        notes.sort_by_key(|note| note.start_ticks);
        Pass {
            number,
            notes,
            turn,
            chart,
        }
    }

    /// A note as it was played.
    fn as_played(&self, note: &TakenNote) -> MelodyNote {
        let end = match self.turn {
            _ if note.ended_pass == self.number => note.end_ticks,
            Some((_, turn)) => turn.left_ticks,
            // It is not known where the pass has ended.
            None => note.bar.start_ticks.saturating_add(note.bar.length_ticks),
        };
        MelodyNote {
            note: MidiNote::clamp(i32::from(note.key)),
            name: None,
            start_ticks: note.start_ticks,
            length_ticks: end.saturating_sub(note.start_ticks).max(1),
        }
    }

    /// The beat at a tick, with the swing of the first note in it, or of the last one before it.
    fn beat_at(&self, ticks: u32) -> Beat {
        let Some(bar) = self.chart.bars.get(self.chart.bar_at(ticks)) else {
            return Beat::straight_at(ticks);
        };
        let into = ticks.saturating_sub(bar.start_ticks);
        let start_ticks = bar.start_ticks + into / TICKS_PER_QUARTER * TICKS_PER_QUARTER;
        let before = self.notes.partition_point(|n| n.start_ticks < start_ticks);
        let in_it = self.notes.get(before);
        let in_it = in_it.filter(|n| n.start_ticks < start_ticks + TICKS_PER_QUARTER);
        let last = before.checked_sub(1).and_then(|at| self.notes.get(at));
        // Where eighths are the beat, they do not swing.
        let note = in_it.or(last).filter(|_| bar.meter.unit <= 4);
        Beat {
            start_ticks,
            off_beat: note.map_or(0.5, |note| f64::from(note.off_beat)),
        }
    }

    fn as_meant(&self, notes: &[MelodyNote]) -> Vec<MelodyNote> {
        played::as_meant(notes, |ticks| self.beat_at(ticks)).0
    }

    /// The pass without the notes that were struck early before it turned, and those notes: they are
    /// meant for the place where the next pass begins.
    fn without_early(mut self) -> (Pass<'a>, Vec<TakenNote>) {
        let Some((next, turn)) = self.turn else {
            return (self, Vec::new());
        };
        let played: Vec<MelodyNote> = self.notes.iter().map(|n| self.as_played(n)).collect();
        let meant = self.as_meant(&played);
        let both = std::mem::take(&mut self.notes).into_iter().zip(meant);
        let (early, rest): (Vec<_>, Vec<_>) =
            both.partition(|(_, meant)| meant.start_ticks >= turn.left_ticks);
        let notes = |both: Vec<(TakenNote, MelodyNote)>| both.into_iter().map(|(note, _)| note);
        self.notes = notes(rest).collect();
        let bar = self.chart.bars.get(self.chart.bar_at(turn.arrived_ticks));
        let bar = bar.map_or(TakenBar::default(), taken_bar);
        let arrived = notes(early).map(|note| {
            let ended_before = note.ended_pass == self.number;
            let length = note.end_ticks.saturating_sub(note.start_ticks);
            TakenNote {
                pass: next,
                start_ticks: turn.arrived_ticks,
                ended_pass: note.ended_pass.max(next),
                end_ticks: if ended_before {
                    turn.arrived_ticks.saturating_add(length)
                } else {
                    note.end_ticks
                },
                bar,
                ..note
            }
        });
        let arrived = arrived.collect();
        (self, arrived)
    }

    /// The melody of the pass.
    fn line(&self) -> Melody {
        let played: Vec<MelodyNote> = self.notes.iter().map(|n| self.as_played(n)).collect();
        let line = self.as_meant(&played::highest(&played));
        let end = self.chart.length_ticks();
        Melody::new(line.into_iter().map(|note| MelodyNote {
            length_ticks: note.length_ticks.min(end.saturating_sub(note.start_ticks)),
            ..note
        }))
    }
}

fn ticks_of(bar: &Bar) -> Range<u32> {
    bar.start_ticks..bar.start_ticks + bar.meter.bar_ticks()
}

/// The bars that are played in a line.
fn bars_of(line: &Melody, chart: &Chart) -> BTreeSet<usize> {
    let is_played = |bar: &Bar| {
        let ticks = ticks_of(bar);
        line.within(&ticks).iter().any(|note| {
            let rings = note.end_ticks().min(ticks.end) - note.start_ticks.max(ticks.start);
            ticks.contains(&note.start_ticks) || rings >= PLAYED_IN
        })
    };
    let bars = chart.bars.iter().enumerate();
    let played = bars.filter(|(_, bar)| is_played(bar));
    played.map(|(index, _)| index).collect()
}

/// A melody with the notes of a line in the place of those in some bars. What rings on into other bars
/// ends where their own notes begin.
fn replaced(melody: &Melody, line: &Melody, bars: &BTreeSet<usize>, chart: &Chart) -> Melody {
    let kept = melody.notes().iter().flat_map(|note| {
        let mut parts: Vec<Range<u32>> = Vec::new();
        // A melody may be longer than the chart.
        let end = chart.length_ticks().max(note.start_ticks)..u32::MAX;
        let others = chart.bars.iter().enumerate();
        let others = others.skip(chart.bar_at(note.start_ticks));
        let others = others.take_while(|(_, bar)| bar.start_ticks < note.end_ticks());
        let others = others.filter(|(index, _)| !bars.contains(index));
        for ticks in others.map(|(_, bar)| ticks_of(bar)).chain([end]) {
            let part = note.start_ticks.max(ticks.start)..note.end_ticks().min(ticks.end);
            match parts.last_mut() {
                _ if part.is_empty() => {}
                Some(before) if before.end == part.start => before.end = part.end,
                _ => parts.push(part),
            }
        }
        parts.into_iter().map(|part| MelodyNote {
            start_ticks: part.start,
            length_ticks: part.end - part.start,
            ..*note
        })
    });
    Melody::new(kept.chain(line.notes().iter().copied()))
}

#[cfg(test)]
mod tests;
