//! Which chord each strike is for: the cheapest way through the chart, by time and by notes. Imports
//! `keys` and `strikes`.

use super::keys::{AskedChord, ON_TIME_TICKS};
use super::strikes::Strike;
use guidehand_theory::pitch::MidiNote;
use std::cmp::Ordering;
use std::ops::Range;

/// A chord may come so much before its time, and after its end, in ticks.
const BEYOND_TICKS: u32 = 1_200;
/// The most chords that a strike can be for.
const MOST_NEAR: usize = 16;

/// Costs, in thousandths. What a strike costs whose notes are all strange to the chord.
const STRANGE: u32 = 2_000;
/// A beat off its time.
const BEAT_OFF: u32 = 400;
/// A beat by which the first strike for a chord is late, and the most that it costs.
const FIRST_LATE: (u32, u32) = (200, 600);
/// A strike that is on time for another chord.
const ON_TIME_FOR_ANOTHER: u32 = 1_000;
/// A chord that is passed over.
const PASSED_OVER: u32 = 300;
/// A strike where silence is written.
const IN_SILENCE: u32 = 700;
/// A strike for a chord before that of the strike before it.
const BACK: u32 = 1_000_000;

/// Part of a strike is strange to a chord, in thousandths: 0 if all notes are those that are asked
/// for. Another note of the chord, or its root, is less strange than a note that it does not have.
pub fn strangeness(notes: &[MidiNote], asked: &AskedChord) -> u32 {
    let Some(question) = &asked.question else {
        return 1_000;
    };
    let chord = &question.placed.chord;
    let root = chord.root;
    let voicing = &question.voiced.voicing;
    let each = notes.iter().map(|note| {
        let class = note.class();
        if voicing.notes().any(|asked| asked.class() == class) {
            0
        } else if root.class() == class || chord.degrees().iter().any(|d| d.class(root) == class) {
            300
        } else {
            1_000
        }
    });
    let sum: u32 = each.sum();
    let count = u32::try_from(notes.len()).unwrap_or(u32::MAX).max(1);
    sum / count
}

/// The chord that each strike is for, as an index of `asked`; none for a strike that is too far from
/// all of them. No strike is for an earlier chord than the one before it.
pub fn follow(strikes: &[Strike], asked: &[AskedChord]) -> Vec<Option<usize>> {
    let mut owners = vec![None; strikes.len()];
    let mut columns: Vec<Column> = Vec::new();
    for (at, strike) in strikes.iter().enumerate() {
        let near = near(strike, asked);
        if near.is_empty() {
            continue;
        }
        let column = Column::after(columns.last(), at, near, strike, asked);
        columns.push(column);
    }
    let ends = columns.last().map(|last| last.cost.iter().zip(0..));
    let mut best = ends.and_then(|ends| ends.min()).map_or(0, |(_, at)| at);
    for column in columns.iter().rev() {
        if let Some(owner) = owners.get_mut(column.strike) {
            *owner = Some(column.near.start + best);
        }
        best = column.from.get(best).copied().unwrap_or(0);
    }
    owners
}

/// The chords that a strike can be for.
fn near(strike: &Strike, asked: &[AskedChord]) -> Range<usize> {
    let first = asked.partition_point(|chord| {
        chord.end_ticks().saturating_add(BEYOND_TICKS) <= strike.first_ticks
    });
    let last_end = asked.last().map_or(0, AskedChord::end_ticks);
    if strike.first_ticks.saturating_add(ON_TIME_TICKS) >= last_end {
        return 0..0;
    }
    let from = strike.last_ticks.saturating_add(BEYOND_TICKS);
    let end = asked.partition_point(|chord| chord.start_ticks <= from);
    let begun = asked.partition_point(|chord| chord.start_ticks <= strike.first_ticks);
    let first = first.max(begun.saturating_sub(MOST_NEAR / 2));
    first..end.min(first + MOST_NEAR).max(first)
}

/// What it costs that a strike is for each of the chords near it.
struct Column {
    strike: usize,
    near: Range<usize>,
    cost: Vec<u32>,
    /// The index, in the column before, of the chord that the strike before is for.
    from: Vec<usize>,
}

impl Column {
    fn after(
        before: Option<&Column>,
        strike: usize,
        near: Range<usize>,
        struck: &Strike,
        asked: &[AskedChord],
    ) -> Column {
        let here = asked.get(near.clone()).unwrap_or_default();
        let mut column = Column {
            strike,
            near: near.clone(),
            cost: Vec::with_capacity(here.len()),
            from: Vec::with_capacity(here.len()),
        };
        let on_time: Vec<bool> = here.iter().map(|chord| is_on_time(struck, chord)).collect();
        let any_on_time = on_time.iter().any(|on_time| *on_time);
        let notes = struck.notes();
        for ((to, chord), on_time) in near.zip(here).zip(on_time) {
            let first = first_late(struck, chord);
            let (way, from) = before.map_or((first, 0), |b| b.cheapest_to(to, first, asked));
            let elsewhere = if any_on_time && !on_time {
                ON_TIME_FOR_ANOTHER
            } else {
                0
            };
            let own = match chord.question {
                None => IN_SILENCE,
                // A few notes say little.
                Some(_) => {
                    let strange = STRANGE * strangeness(&notes, chord) / 1_000;
                    strange * share(notes.len(), chord.asked_notes()) / 1_000
                }
            };
            let cost = way + own + elsewhere + off(struck, chord);
            column.cost.push(cost);
            column.from.push(from);
        }
        column.relative()
    }

    /// The cheapest way from the chords of this column to a chord, and where it comes from. `first` is
    /// what it costs if this is the first strike for the chord.
    fn cheapest_to(&self, to: usize, first: u32, asked: &[AskedChord]) -> (u32, usize) {
        let ways = self.cost.iter().zip(self.near.clone()).zip(0..);
        let ways = ways.map(|((cost, from), at)| {
            match from.cmp(&to) {
                Ordering::Less => {}
                Ordering::Equal => return (*cost, at),
                Ordering::Greater => return (cost + BACK, at),
            }
            let between = asked.get(from + 1..to).unwrap_or_default();
            // What lies far between costs the same for all.
            let between = between.iter().rev().take(2 * MOST_NEAR);
            let passed: u32 = between
                .filter(|chord| chord.question.is_some())
                .map(|_| PASSED_OVER)
                .sum();
            (cost + first + passed, at)
        });
        ways.min().unwrap_or((0, 0))
    }

    /// Costs beside the least of them, so that they stay small however many strikes there are.
    fn relative(mut self) -> Column {
        let least = self.cost.iter().copied().min().unwrap_or(0);
        for cost in &mut self.cost {
            *cost -= least;
        }
        self
    }
}

/// How many of so many notes are played, in thousandths. Half of them are as good as all.
fn share(played: usize, asked: usize) -> u32 {
    let share = (2_000 * played) / asked.max(1);
    u32::try_from(share).unwrap_or(1_000).min(1_000)
}

/// Whether a strike comes on the beat of a chord.
pub fn is_on_time(strike: &Strike, chord: &AskedChord) -> bool {
    strike.off(chord.start_ticks).unsigned_abs() <= u64::from(ON_TIME_TICKS)
}

/// What it costs if a strike is the first one for a chord, and late.
fn first_late(strike: &Strike, chord: &AskedChord) -> u32 {
    let (each, most) = FIRST_LATE;
    let on_time = chord.start_ticks.saturating_add(ON_TIME_TICKS);
    let late = strike.first_ticks.saturating_sub(on_time);
    (late / 96 * each / 10).min(most)
}

/// What it costs that a strike comes before the time of a chord or after it.
fn off(strike: &Strike, chord: &AskedChord) -> u32 {
    let early = chord
        .start_ticks
        .saturating_sub(strike.last_ticks)
        .saturating_sub(ON_TIME_TICKS);
    let end = chord.end_ticks().saturating_sub(ON_TIME_TICKS);
    let late = (strike.first_ticks + 1).saturating_sub(end);
    (early.max(late) / 96 * BEAT_OFF) / 10
}
