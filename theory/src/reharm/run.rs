//! A run of chords in its surroundings. Every family reads it, and makes its proposals with it.
//! Imports `divide`, `measure`, `interval`, `proposal` and what they import.

use super::divide::divide;
use super::interval::{FALLS_A_FIFTH, along, is_tonic, rise};
use super::measure::distance;
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::span::{Span, TimedChord};
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::key::{Key, Mode};
use crate::pitch::NoteName;
use crate::quality::{ChordFamily, Quality};
use std::ops::Range;

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
    beat_ticks: u32,
}

impl<'a> Run<'a> {
    /// The run of these spans. None if one of them is silent or not analysed.
    pub(super) fn of(
        spans: &'a [Span],
        at: Range<usize>,
        beat_ticks: u32,
        whole: bool,
    ) -> Option<Run<'a>> {
        let here = spans.get(at.clone())?;
        let chords: Vec<Chord> = here.iter().map(|s| s.chord).collect::<Option<_>>()?;
        let keys = here.iter().map(|s| s.function.map(|f| f.key));
        let keys: Vec<Key> = keys.collect::<Option<_>>()?;
        let key = *keys.first()?;
        let (past, coming) = (spans.get(..at.start)?, spans.get(at.end..)?);
        let mut after = coming.iter().chain(spans).filter_map(|s| s.chord.as_ref());
        Some(Run {
            next: after.next()?,
            before: past.iter().rev().find_map(|s| s.chord.as_ref()),
            key,
            one_key: keys.iter().all(|k| *k == key),
            whole,
            lengths_ticks: here.iter().map(|s| s.length_ticks).collect(),
            beat_ticks: beat_ticks.max(1),
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
        along(self.key.tonic, step)
    }

    /// The name at a distance in fifths from another, in the spelling that is easiest to read
    /// in the key.
    pub(super) fn along(&self, from: NoteName, fifths: i8) -> NoteName {
        let name = from.along_fifths(fifths);
        if name.fifths() < self.key.tonic.fifths() - 6 {
            name.along_fifths(12).readable()
        } else {
            name.readable()
        }
    }

    /// Chords of the key from a table.
    pub(super) fn of_the_key(&self, table: &[(i8, Quality)]) -> Vec<Chord> {
        let rows = table.iter();
        rows.map(|(step, quality)| Chord::new(self.degree(*step), *quality))
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

    fn length_ticks(&self) -> u32 {
        self.lengths_ticks.iter().sum()
    }

    /// Whole beats in the run.
    pub(super) fn beats(&self) -> u32 {
        self.length_ticks() / self.beat_ticks
    }

    /// These chords over the whole run in these proportions. None if there are too few beats.
    pub(super) fn divided(&self, weights: &[u32], chords: &[Chord]) -> Option<Vec<TimedChord>> {
        let lengths = divide(self.length_ticks(), self.beat_ticks, weights)?;
        Some(parts(chords, &lengths))
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
        if same_harmony(&old, &chords) {
            return;
        }
        out.push(Proposal {
            substitution,
            span: self.at.clone(),
            distance: distance(&old, &chords, self.next, self.key),
            chords,
            name,
            reason,
        });
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

/// Whether two rows of chords are the same, apart from extensions that are left out.
fn same_harmony(old: &[TimedChord], new: &[TimedChord]) -> bool {
    let same = |(a, b): (&TimedChord, &TimedChord)| {
        let (old, new) = (&a.chord, &b.chord);
        old.root.class() == new.root.class()
            && old.quality == new.quality
            && (new.written.is_empty() || old.written == new.written)
            && old.bass == new.bass
    };
    old.len() == new.len() && old.iter().zip(new).all(same)
}
