//! A run of chords in its surroundings. Every family reads it, and makes its proposals with it.
//! Imports `divide`, `fit`, `grid`, `measure`, `interval`, `rank`, `proposal` and what they import.

use super::divide::divide;
use super::fit::Fit;
use super::grid::{Bars, Grid};
use super::interval::{FALLS_A_FIFTH, FALLS_A_HALF_STEP, is_tonic, readable_in, rise, step};
use super::measure::distance;
use super::name::Name;
use super::proposal::Proposal;
use super::rank::{Place, rank};
use super::reason::Reason;
use super::span::{Span, TimedChord};
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::key::{Key, Mode};
use crate::pitch::NoteName;
use crate::quality::{ChordFamily, Quality};
use std::ops::Range;

/// Of longer runs whose first chord stays only the last bars are divided.
const MOST_BARS: u32 = 4;

/// A run of chords without silence.
pub(super) struct Run<'a> {
    pub(super) at: Range<usize>,
    pub(super) chords: Vec<Chord>,
    /// The chord before the run. None if the run stands at the start.
    pub(super) before: Option<&'a Chord>,
    /// The chord after it. The chart repeats.
    pub(super) next: &'a Chord,
    /// The key in force at the first chord.
    pub(super) key: Key,
    /// Whether that key holds up to the last chord.
    pub(super) one_key: bool,
    /// Whether the run is all that was selected.
    pub(super) whole: bool,
    lengths_ticks: Vec<u32>,
    start_ticks: u32,
    grid: Grid,
    /// Where bars of another sort follow.
    grid_ends: Option<u32>,
    /// Ticks before the run in which its first root has sounded.
    held_ticks: u32,
    last: bool,
}

impl<'a> Run<'a> {
    /// The run of these spans. None if one of them is silent or not analysed.
    pub(super) fn of(
        spans: &'a [Span],
        at: Range<usize>,
        bars: &Bars,
        whole: bool,
    ) -> Option<Run<'a>> {
        let here = spans.get(at.clone())?;
        let chords: Vec<Chord> = here.iter().map(|s| s.chord).collect::<Option<_>>()?;
        let keys = here.iter().map(|s| s.function.map(|f| f.key));
        let keys: Vec<Key> = keys.collect::<Option<_>>()?;
        let key = *keys.first()?;
        let start_ticks = here.first()?.start_ticks;
        let root = chords.first()?.root.class();
        let (past, coming) = (spans.get(..at.start)?, spans.get(at.end..)?);
        let mut after = coming.iter().chain(spans).filter_map(|s| s.chord.as_ref());
        Some(Run {
            next: after.next()?,
            before: past.iter().rev().find_map(|s| s.chord.as_ref()),
            key,
            one_key: keys.iter().all(|k| *k == key),
            whole,
            lengths_ticks: here.iter().map(|s| s.length_ticks).collect(),
            start_ticks,
            grid: bars.at(start_ticks),
            grid_ends: bars.end_of(start_ticks),
            held_ticks: past
                .iter()
                .rev()
                .take_while(|s| s.chord.is_some_and(|c| c.root.class() == root))
                .map(|s| s.length_ticks)
                .sum(),
            last: coming.is_empty(),
            at,
            chords,
        })
    }

    /// The chord, if the run is a single one.
    pub(super) fn one(&self) -> Option<&Chord> {
        match self.chords.as_slice() {
            [chord] => Some(chord),
            _ => None,
        }
    }

    /// The ii and its V, if the run is a ii-V.
    pub(super) fn two_five(&self) -> Option<(&Chord, &Chord)> {
        match self.chords.as_slice() {
            [two, five]
                if matches!(
                    two.quality.family(),
                    ChordFamily::Minor | ChordFamily::HalfDiminished
                ) && five.quality.family() == ChordFamily::Dominant
                    && rise(two, five) == FALLS_A_FIFTH =>
            {
                Some((two, five))
            }
            _ => None,
        }
    }

    /// The name of a degree of the key, see [`step`](super::interval::step).
    pub(super) fn degree(&self, step: i8) -> NoteName {
        readable_in(self.key, self.key.tonic.along_fifths(step))
    }

    /// The name at a distance in fifths from another, in the spelling that is easiest to read
    /// in the key.
    pub(super) fn along(&self, from: NoteName, fifths: i8) -> NoteName {
        readable_in(self.key, from.along_fifths(fifths))
    }

    /// A chord at a distance in fifths from a root, in the spelling that is easiest to read in
    /// the key. A minor chord on Gb, Cb or Fb takes its other name, and so does a dominant on Cb
    /// or Fb, whose seventh would have two flats.
    pub(super) fn chord(&self, from: NoteName, fifths: i8, quality: Quality) -> Chord {
        let root = self.along(from, fifths);
        let hard = match quality.family() {
            ChordFamily::Minor | ChordFamily::HalfDiminished => root.fifths() <= -6,
            ChordFamily::Dominant => root.fifths() <= -7,
            _ => false,
        };
        let root = if hard { root.along_fifths(12) } else { root };
        Chord::new(root, quality)
    }

    /// Chords of the key from a table.
    pub(super) fn of_the_key(&self, table: &[(i8, Quality)]) -> Vec<Chord> {
        let rows = table.iter();
        rows.map(|(step, quality)| self.chord(self.key.tonic, *step, *quality))
            .collect()
    }

    /// Whether the chord is of this family and stands on this degree of the key.
    pub(super) fn is(&self, chord: &Chord, step: i8, sort: ChordFamily) -> bool {
        chord.quality.family() == sort && chord.root.class() == self.degree(step).class()
    }

    /// The rows of a table for the key's mode. The blues has those of major.
    pub(super) const fn by_mode<'t, R>(&self, in_major: &'t [R], in_minor: &'t [R]) -> &'t [R] {
        match self.key.mode {
            Mode::Major | Mode::Blues => in_major,
            Mode::Minor => in_minor,
        }
    }

    /// Whether the run leads to the tonic of its key.
    pub(super) fn leads_home(&self) -> bool {
        is_tonic(self.next, self.key)
    }

    /// Whether the run leads to a minor or half-diminished chord.
    pub(super) fn leads_to_minor(&self) -> bool {
        matches!(
            self.next.quality.family(),
            ChordFamily::Minor | ChordFamily::HalfDiminished
        )
    }

    /// Ticks of a chord of the run.
    pub(super) fn length_of(&self, at: usize) -> u32 {
        self.lengths_ticks.get(at).copied().unwrap_or(0)
    }

    fn length_ticks(&self) -> u32 {
        self.lengths_ticks.iter().sum()
    }

    /// Whole beats in the run.
    pub(super) fn beats(&self) -> u32 {
        self.length_ticks() / self.grid.beat_ticks()
    }

    /// Bars in the run, the last one perhaps not whole.
    pub(super) fn bars(&self) -> u32 {
        self.length_ticks().div_ceil(self.grid.bar_ticks())
    }

    /// Bars in the run. None if it is not made of whole bars from bar line to bar line.
    pub(super) fn bars_if_whole(&self) -> Option<u32> {
        let end = self.start_ticks + self.length_ticks();
        let whole = self.length_ticks().is_multiple_of(self.grid.bar_ticks())
            && self.grid_ends.is_none_or(|grid_ends| end <= grid_ends);
        (whole && self.grid.weight(self.start_ticks) == Grid::HEAVIEST).then(|| self.bars())
    }

    /// Whole bars before the run in which its first root has sounded. None if they are not
    /// whole.
    pub(super) fn held_bars(&self) -> Option<u32> {
        let bar = self.grid.bar_ticks();
        self.held_ticks
            .is_multiple_of(bar)
            .then_some(self.held_ticks / bar)
    }

    /// Whether the run stands at the end of the chart.
    pub(super) const fn is_last(&self) -> bool {
        self.last
    }

    /// Whether the run leads to a chord on this degree of the key.
    pub(super) fn next_is_on(&self, step: i8) -> bool {
        self.next.root.class() == self.degree(step).class()
    }

    /// These chords over the whole run in these proportions. Of a long run whose first chord
    /// stays, only the last bars are divided. None if the meter has no place for the chords.
    pub(super) fn divided(&self, weights: &[u32], chords: &[Chord]) -> Option<Vec<TimedChord>> {
        let stays = chords.len() > 1 && chords.first() == self.chords.first();
        let bar = self.grid.bar_ticks();
        let kept = match self.length_ticks().checked_sub(MOST_BARS * bar) {
            Some(more) if stays && self.chords.len() == 1 => more.next_multiple_of(bar),
            _ => 0,
        };
        let start = self.start_ticks + kept;
        let mut lengths = self.lengths(start, self.length_ticks() - kept, weights)?;
        *lengths.first_mut()? += kept;
        Some(parts(chords, &lengths))
    }

    /// Lengths in these proportions. None if the meter changes on the way, unless a single chord
    /// lasts all the time.
    fn lengths(&self, start: u32, length: u32, weights: &[u32]) -> Option<Vec<u32>> {
        let changes = self.grid_ends.is_some_and(|end| end < start + length);
        (!changes || weights.len() == 1)
            .then(|| divide(start, length, self.grid, weights))
            .flatten()
    }

    /// These chords over the time of the run's first chord, in these proportions. The chords
    /// after it stay where they are.
    pub(super) fn first_divided(
        &self,
        weights: &[u32],
        chords: &[Chord],
    ) -> Option<Vec<TimedChord>> {
        let lengths = self.lengths(self.start_ticks, self.length_of(0), weights)?;
        let mut all = parts(chords, &lengths);
        all.extend(parts(&self.chords, &self.lengths_ticks).into_iter().skip(1));
        Some(all)
    }

    /// These chords in place of those of the run, one for one.
    pub(super) fn in_place(&self, chords: &[Chord]) -> Option<Vec<TimedChord>> {
        let fits = chords.len() == self.lengths_ticks.len();
        fits.then(|| parts(chords, &self.lengths_ticks))
    }

    /// One chord for the whole run.
    pub(super) fn joined(&self, chord: Chord) -> Option<Vec<TimedChord>> {
        Some(parts(&[chord], &[self.length_ticks()]))
    }

    /// Adds a proposal, if there is room for it and it changes something.
    pub(super) fn offer(
        &self,
        out: &mut Vec<Proposal>,
        substitution: Substitution,
        name: Name,
        parts: Option<Vec<TimedChord>>,
        reason: Reason,
    ) {
        let Some(chords) = parts else {
            return;
        };
        let old = self::parts(&self.chords, &self.lengths_ticks);
        let fit = Fit {
            old: &old,
            new: &chords,
            before: self.before,
            next: self.next,
            key: self.key,
            start_ticks: self.start_ticks,
            grid: self.grid,
        };
        if !fit.holds() {
            return;
        }
        out.push(Proposal {
            substitution,
            span: self.at.clone(),
            distance: distance(&old, &chords, self.next, self.key),
            rank: rank(name, self.place(&chords)),
            chords,
            name,
            reason,
        });
    }

    /// What counts for the rank of these chords.
    fn place(&self, new: &[TimedChord]) -> Place {
        let on = |step, sort| self.one().is_some_and(|chord| self.is(chord, step, sort));
        let in_minor = self.key.mode == Mode::Minor;
        let last = self.chords.last();
        let half_bar = self.grid.bar_ticks() / 2;
        let shortest = new.iter().map(|p| p.length_ticks).min();
        let written = self.lengths_ticks.iter().min();
        Place {
            on_minor_four: on(step::IV, ChordFamily::Minor) && self.leads_home(),
            on_minor_tonic: on(step::I, ChordFamily::Minor) && in_minor,
            on_half_diminished_two: on(step::II, ChordFamily::HalfDiminished) && in_minor,
            in_blues: self.key.mode == Mode::Blues,
            falls: last.is_some_and(|chord| {
                matches!(rise(chord, self.next), FALLS_A_FIFTH | FALLS_A_HALF_STEP)
            }),
            before_six: self.next_is_on(step::VI),
            busy: shortest.is_some_and(|ticks| {
                ticks < self.grid.beat_ticks() * 2
                    && ticks < half_bar
                    && written.is_some_and(|w| ticks < *w)
            }),
        }
    }
}

fn parts(chords: &[Chord], lengths_ticks: &[u32]) -> Vec<TimedChord> {
    let pairs = chords.iter().zip(lengths_ticks);
    pairs
        .map(|(chord, length_ticks)| TimedChord {
            chord: *chord,
            length_ticks: *length_ticks,
        })
        .collect()
}
