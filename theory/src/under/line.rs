//! A written melody over its chords, and what each of its notes is: a note of its chord, a passing
//! note, an approach, or left single. Imports `offers` and `passing`.

use super::fill::Filled;
use super::offers::Harmony;
use super::passing::dominant;
use super::rule::{Rule, Side, Why};
use super::style::Taste;
use crate::pitch::MidiNote;
use crate::reharm::Bars;

/// A note of a melody.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Note {
    /// The key.
    pub note: MidiNote,
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Its length in ticks.
    pub length_ticks: u32,
}

/// A chord in time, or silence. Spans follow each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// The chord. None for silence.
    pub harmony: Option<Harmony>,
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Ticks until the next span.
    pub length_ticks: u32,
}

impl Span {
    const fn end_ticks(&self) -> u32 {
        self.start_ticks.saturating_add(self.length_ticks)
    }
}

/// A melody of one voice over its chords.
#[derive(Clone, Copy, Debug)]
pub struct Line<'a> {
    /// The notes, in the order of time.
    pub notes: &'a [Note],
    /// The chords, in the order of time.
    pub spans: &'a [Span],
    /// The bars.
    pub bars: &'a Bars,
    /// Notes that are shorter than this are left single.
    pub single_under_ticks: u32,
}

/// What a note is to its chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Case {
    /// It sounds alone.
    Single(Why),
    /// It is struck again and keeps its chord.
    Repeated,
    /// Its chord bears it.
    Chord,
    /// It takes a diminished seventh chord.
    Diminished,
    /// It takes the chord of the next note, a half step off.
    Approach(Side),
}

/// A note with its place.
#[derive(Clone, Copy, Debug)]
struct Placed<'a> {
    note: &'a Note,
    span: Option<usize>,
    harmony: Option<&'a Harmony>,
    /// Why its chord bears it. None if the chord does not.
    rule: Option<Rule>,
    fast: bool,
}

impl Placed<'_> {
    const fn is_single(&self) -> bool {
        self.fast || self.harmony.is_none()
    }

    fn is_chord_tone(&self) -> bool {
        matches!(self.rule, Some(Rule::ChordTone | Rule::Added))
    }

    /// Half steps up to another note.
    fn up_to(&self, other: &Placed) -> i32 {
        other.note.note.semitones() - self.note.note.semitones()
    }

    fn repeats(&self, before: &Placed) -> bool {
        let sounding = !self.is_single() && !before.is_single();
        sounding && self.span == before.span && self.note.note == before.note.note
    }
}

impl Line<'_> {
    /// The chord of a note, as an index into the spans. A note that starts less than a beat before a
    /// chord, and sounds longer over it than before it, anticipates it.
    pub(super) fn span_of(&self, note: &Note) -> Option<usize> {
        let begun = self.spans.partition_point(|s| s.start_ticks <= note.start_ticks);
        let at = begun.checked_sub(1)?;
        let span = self.spans.get(at)?;
        let end = span.end_ticks();
        if note.start_ticks >= end {
            return None;
        }
        let before = end - note.start_ticks;
        let after = note.length_ticks.saturating_sub(before);
        let beat = self.bars.at(note.start_ticks).beat_ticks();
        let anticipates = before < beat && after > before && begun < self.spans.len();
        Some(if anticipates { begun } else { at })
    }

    /// The chord of a note.
    pub(super) fn harmony_of(&self, note: &Note) -> Option<&Harmony> {
        let span = self.spans.get(self.span_of(note)?)?;
        span.harmony.as_ref()
    }

    /// What each note is.
    pub(super) fn cases(&self, taste: &Taste) -> Vec<Case> {
        let placed: Vec<Placed> = self.notes.iter().map(|n| self.placed(n, taste)).collect();
        let mut cases = Vec::with_capacity(placed.len());
        for (at, here) in placed.iter().enumerate() {
            let before = at.checked_sub(1).and_then(|i| placed.get(i));
            let next = (placed.iter().skip(at + 1)).find(|next| !next.repeats(here));
            let earlier = placed.iter().take(at).rev();
            let first = earlier.take_while(|p| p.repeats(here)).last();
            let start = first.unwrap_or(here);
            cases.push(match (here.harmony, before) {
                (None, _) => Case::Single(Why::NoChord),
                _ if here.fast => Case::Single(Why::Fast),
                (_, Some(before)) if here.repeats(before) => Case::Repeated,
                (Some(harmony), before) => {
                    let last = placed.iter().skip(at).take_while(|p| p.repeats(here)).last();
                    let last = last.unwrap_or(here);
                    let before = before.filter(|b| self.adjoin(b, start));
                    let next = next.filter(|n| self.adjoin(last, n));
                    self.case(here, last, harmony, before, next)
                }
            });
        }
        cases
    }

    fn placed(&self, note: &Note, taste: &Taste) -> Placed<'_> {
        todo!("{note:?} {taste:?}")
    }
}
