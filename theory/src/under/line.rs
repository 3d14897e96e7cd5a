//! A written melody over its chords, and what each of its notes is: a note of its chord, a passing
//! note, an approach, a note that is struck again, or one that is left single. Imports `offers`
//! and `passing`.

use super::offers::{Harmony, rule_of};
use super::passing::dominant;
use super::rule::{Rule, Side, Why};
use super::style::Taste;
use crate::chart::{Chart, Meter};
use crate::melody::{Melody, MelodyNote};
use crate::pitch::MidiNote;
use crate::reharm::Grid;

/// A melody over a chart.
#[derive(Clone, Copy, Debug)]
pub struct Line<'a> {
    /// The melody.
    pub melody: &'a Melody,
    /// The chart.
    pub chart: &'a Chart,
    /// The chord of each change of the chart, as [`place`](crate::pipeline::place) finds them. None
    /// where the chart is silent.
    pub harmonies: &'a [Option<Harmony>],
    /// Notes that are shorter than this are left single.
    pub single_under_ticks: u32,
}

/// What a note is to its chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Case {
    /// It sounds alone.
    Single(Why),
    /// Its chord bears it.
    Chord,
    /// It takes a diminished seventh chord.
    Diminished,
    /// It takes the chord of the next note, a half step off.
    Approach(Side),
}

/// A note, or the part of a note that sounds over one chord.
#[derive(Clone, Copy, Debug)]
pub(super) struct Part {
    /// The note, as an index into the melody's.
    pub index: usize,
    note: MelodyNote,
    pub start_ticks: u32,
    pub end_ticks: u32,
    /// The change in force, as an index into the chart's.
    change: Option<usize>,
}

/// A part with its chord. Notes that are struck again over one chord are one here.
#[derive(Clone, Copy, Debug)]
pub(super) struct Head<'a> {
    pub note: MidiNote,
    start_ticks: u32,
    /// The tick on which the last of its repeats ends.
    end_ticks: u32,
    /// How many parts it stands for.
    pub count: usize,
    /// The change in force, as an index into the chart's.
    pub change: Option<usize>,
    /// The chord.
    pub harmony: Option<&'a Harmony>,
    /// Why its chord bears it. None if the chord does not.
    rule: Option<Rule>,
    fast: bool,
}

impl Head<'_> {
    /// Half steps up to another note.
    fn up_to(&self, other: &Head) -> i32 {
        other.note.semitones() - self.note.semitones()
    }

    const fn is_single(&self) -> bool {
        self.fast || self.harmony.is_none()
    }

    /// Whether this is a chord tone, a half or a whole step away.
    fn is_tone_beside(&self, other: &Head) -> bool {
        let tone = matches!(self.rule, Some(Rule::ChordTone));
        tone && !self.is_single() && matches!(self.up_to(other).abs(), 1 | 2)
    }
}

impl<'a> Line<'a> {
    /// The change in force at a note, as an index into the chart's. A note that starts less than a
    /// beat before a change, and sounds longer after it than before it, anticipates it.
    fn change_of(&self, note: &MelodyNote) -> Option<usize> {
        let changes = &self.chart.changes;
        let begun = changes.partition_point(|c| c.start_ticks <= note.start_ticks);
        let at = begun.checked_sub(1)?;
        let change = changes.get(at)?;
        let end = change.start_ticks.saturating_add(change.length_ticks);
        let before = end.checked_sub(note.start_ticks).filter(|t| *t > 0)?;
        let after = note.length_ticks.saturating_sub(before);
        let (_, beat) = self.weight(note.start_ticks);
        let anticipates = before < beat && after > before && begun < changes.len();
        Some(if anticipates { begun } else { at })
    }

    /// How much the meter favours a tick, with the halves and quarters of its beats, and the ticks
    /// of a beat.
    fn weight(&self, ticks: u32) -> (u8, u32) {
        let bar = self.chart.bars.get(self.chart.bar_at(ticks));
        let (meter, start) = bar.map_or((Meter::COMMON, 0), |b| (b.meter, b.start_ticks));
        let grid = Grid::new(meter, start);
        let beat = grid.beat_ticks();
        let past = ticks.saturating_sub(start) % beat;
        let weight = match grid.weight(ticks) {
            0 if past.is_multiple_of((beat / 2).max(1)) => 2,
            0 if past.is_multiple_of((beat / 4).max(1)) => 1,
            0 => 0,
            weight => weight + 2,
        };
        (weight, beat)
    }

    /// The notes, those that are held into another chord in parts. A note that goes on for less
    /// than a beat stays with its chord.
    pub(super) fn parts(&self) -> Vec<Part> {
        let changes = &self.chart.changes;
        let mut parts = Vec::with_capacity(self.melody.notes().len());
        for (index, note) in self.melody.notes().iter().enumerate() {
            let mut change = self.change_of(note);
            let mut start_ticks = note.start_ticks;
            while let Some(next) = change.map(|at| at + 1)
                && let Some(at) = changes.get(next).map(|c| c.start_ticks)
                && note.end_ticks().saturating_sub(at) >= self.weight(at).1
            {
                parts.push(Part {
                    index,
                    note: *note,
                    start_ticks,
                    end_ticks: at,
                    change,
                });
                start_ticks = at;
                change = Some(next);
            }
            parts.push(Part {
                index,
                note: *note,
                start_ticks,
                end_ticks: note.end_ticks(),
                change,
            });
        }
        parts
    }

    /// The parts with their chords, notes that are struck again as one.
    pub(super) fn heads(&self, parts: &[Part], taste: &Taste) -> Vec<Head<'a>> {
        let mut heads: Vec<Head<'a>> = Vec::with_capacity(parts.len());
        for part in parts {
            let head = self.head(part, taste);
            match heads.last_mut() {
                Some(last)
                    if last.note == head.note
                        && last.change == head.change
                        && !last.is_single()
                        && !head.is_single() =>
                {
                    last.end_ticks = head.end_ticks;
                    last.count += 1;
                }
                _ => heads.push(head),
            }
        }
        heads
    }

    fn head(&self, part: &Part, taste: &Taste) -> Head<'a> {
        let note = part.note.note;
        let harmony = part.change.and_then(|at| self.harmonies.get(at)?.as_ref());
        Head {
            note,
            start_ticks: part.start_ticks,
            end_ticks: part.end_ticks,
            count: 1,
            change: part.change,
            harmony,
            rule: harmony.and_then(|h| rule_of(h, taste, note)),
            fast: part.note.length_ticks < self.single_under_ticks,
        }
    }

    /// What each head is. An approach has the chord of the next head, so that one has a chord.
    pub(super) fn cases(&self, heads: &[Head<'_>]) -> Vec<Case> {
        let at = |i: Option<usize>| i.and_then(|i| heads.get(i));
        let cases = heads.iter().enumerate().map(|(i, here)| {
            let before = at(i.checked_sub(1)).filter(|before| self.adjoin(before, here));
            let next = at(i.checked_add(1)).filter(|next| self.adjoin(here, next));
            self.case(before, here, next)
        });
        cases.collect()
    }

    fn case(&self, before: Option<&Head>, here: &Head, next: Option<&Head>) -> Case {
        let Some(harmony) = here.harmony else {
            return Case::Single(Why::NoChord);
        };
        if here.fast {
            return Case::Single(Why::Fast);
        }
        let side = next
            .filter(|n| !n.is_single())
            .and_then(|next| match here.up_to(next) {
                1 => Some(Side::Below),
                -1 => Some(Side::Above),
                _ => None,
            });
        let bears = here.rule.is_some();
        if here.rule != Some(Rule::ChordTone) && self.passes(before, here, next) {
            let near = dominant(&harmony.placed, here.note.class());
            return match (near, side) {
                (Some(_), _) => Case::Diminished,
                (None, Some(side)) => Case::Approach(side),
                (None, None) if bears => Case::Chord,
                (None, None) => Case::Diminished,
            };
        }
        match side {
            _ if bears => Case::Chord,
            Some(side) => Case::Approach(side),
            None => Case::Diminished,
        }
    }

    /// Whether a note passes between two chord tones, or touches the neighbour of one: it lies a
    /// step from both, in a weaker place than one of them, is no longer than a beat, and does not
    /// come with a chord.
    fn passes(&self, before: Option<&Head>, here: &Head, next: Option<&Head>) -> bool {
        let (Some(before), Some(next)) = (before, next) else {
            return false;
        };
        let (weight, beat) = self.weight(here.start_ticks);
        let heavier = |other: &Head| self.weight(other.start_ticks).0 > weight;
        before.is_tone_beside(here)
            && next.is_tone_beside(here)
            && (heavier(before) || heavier(next))
            && here.end_ticks - here.start_ticks <= beat
            && before.change == here.change
    }

    /// Whether a note follows the one before without a rest of a beat or more.
    fn adjoin(&self, before: &Head, next: &Head) -> bool {
        let (_, beat) = self.weight(before.start_ticks);
        next.start_ticks.saturating_sub(before.end_ticks) < beat
    }
}
