//! A voicing: a few ascending notes with their degrees. It is `Copy` and of fixed size, so that
//! it can cross to the audio thread. Imports `pitch`, `degree` and `quality`.

use crate::degree::{Degree, DegreeSet, Family};
use crate::pitch::{MidiNote, NoteName, PitchClass};
use crate::quality::Quality;
use tinyvec::ArrayVec;

/// The most notes that a voicing holds. Textures use six of them at most, and players who place
/// the notes themselves all of them.
pub const MOST_NOTES: usize = 8;

/// The position of a voicing: the slot that is lowest in close position. An open voicing has
/// the position of the close one from which it was opened.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Position {
    /// The third's slot.
    #[default]
    Third,
    /// The seventh's slot.
    Seventh,
    /// Stacked fourths.
    Fourths,
    /// Close position with the fifth's slot lowest.
    Fifth,
    /// Close position with the ninth's slot lowest.
    Ninth,
    /// As a player placed the notes, in none of these positions.
    AsPlayed,
}

/// What players call the form of a voicing. A letter names a whole ii-V-I by the position of
/// its ii, so the dominant with the same letter has the other slot lowest (John Mehegan, Jazz
/// Improvisation, vol. 4, from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Form {
    /// The third is lowest, or in a dominant the seventh.
    A,
    /// The seventh is lowest, or in a dominant the third.
    B,
    /// Stacked fourths.
    Fourths,
    /// The fifth's slot is lowest.
    OnFifth,
    /// The ninth's slot is lowest.
    OnNinth,
    /// As a player placed the notes.
    AsPlayed,
}

impl Form {
    /// The name for a chord of this quality that lies so.
    #[must_use]
    pub const fn of(position: Position, quality: Quality) -> Form {
        match (position, quality.is_dominant()) {
            (Position::Third, false) | (Position::Seventh, true) => Form::A,
            (Position::Third, true) | (Position::Seventh, false) => Form::B,
            (Position::Fourths, _) => Form::Fourths,
            (Position::Fifth, _) => Form::OnFifth,
            (Position::Ninth, _) => Form::OnNinth,
            (Position::AsPlayed, _) => Form::AsPlayed,
        }
    }
}

/// One note of a voicing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Voice {
    /// The key.
    pub note: MidiNote,
    /// The degree over the root.
    pub degree: Degree,
}

/// Ascending notes with their degrees.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Voicing {
    voices: ArrayVec<[Voice; MOST_NOTES]>,
    /// Which slot lies lowest.
    pub position: Position,
    /// The number of notes, from the lowest, that the left hand takes.
    pub left_hand: u8,
}

/// Low interval limits: an interval of 1 to 4 semitones, and the lowest MIDI note on which it
/// still sounds clear (arrangers' tables, from memory).
const LOW_LIMITS: [(u8, u8); 4] = [(1, 52), (2, 51), (3, 48), (4, 46)];

impl Voicing {
    /// An empty voicing, to be filled from the lowest note up.
    #[must_use]
    pub fn empty(position: Position) -> Voicing {
        Voicing {
            position,
            ..Voicing::default()
        }
    }

    /// Adds a note and returns true. Returns false and changes nothing if the note does not lie
    /// above the others, or if there is no room.
    pub fn push(&mut self, note: MidiNote, degree: Degree) -> bool {
        let above = self.highest().is_none_or(|top| note > top);
        above && self.voices.try_push(Voice { note, degree }).is_none()
    }

    /// The notes, from the lowest.
    #[must_use]
    pub fn voices(&self) -> &[Voice] {
        &self.voices
    }

    /// The MIDI notes, from the lowest.
    pub fn notes(
        &self,
    ) -> impl DoubleEndedIterator<Item = MidiNote> + ExactSizeIterator + Clone + '_ {
        self.voices.iter().map(|v| v.note)
    }

    /// The degrees that sound.
    #[must_use]
    pub fn degrees(&self) -> DegreeSet {
        self.voices.iter().map(|v| v.degree).collect()
    }

    /// The root that the degrees count from.
    #[must_use]
    pub fn root(&self) -> Option<PitchClass> {
        let first = self.voices.first()?;
        Some(first.note.class().up(-first.degree.interval().semitones))
    }

    /// The lowest note.
    #[must_use]
    pub fn lowest(&self) -> Option<MidiNote> {
        self.voices.first().map(|v| v.note)
    }

    /// The highest note.
    #[must_use]
    pub fn highest(&self) -> Option<MidiNote> {
        self.voices.last().map(|v| v.note)
    }

    /// Semitones from the lowest note to the highest.
    #[must_use]
    pub fn span(&self) -> u8 {
        match (self.lowest(), self.highest()) {
            (Some(low), Some(high)) => high.number() - low.number(),
            _ => 0,
        }
    }

    /// Semitones that the left hand spans.
    #[must_use]
    pub fn left_span(&self) -> u8 {
        let last = usize::from(self.left_hand).checked_sub(1);
        match (self.lowest(), last.and_then(|i| self.voices.get(i))) {
            (Some(low), Some(high)) => high.note.number() - low.number(),
            _ => 0,
        }
    }

    /// Semitones that the right hand spans.
    #[must_use]
    pub fn right_span(&self) -> u8 {
        let first = self.voices.get(usize::from(self.left_hand));
        match (first, self.highest()) {
            (Some(low), Some(high)) => high.number() - low.note.number(),
            _ => 0,
        }
    }

    /// The number of notes that the right hand takes.
    #[must_use]
    pub fn right_hand(&self) -> usize {
        let left = usize::from(self.left_hand);
        self.voices.len().saturating_sub(left)
    }

    /// The same voicing an octave higher. None if that lies above the highest MIDI note.
    #[must_use]
    pub fn octave_higher(&self) -> Option<Voicing> {
        self.transposed(12)
    }

    /// The same voicing so many half steps higher, with the same degrees over a root that moves
    /// as far. None if a note leaves the range of MIDI.
    #[must_use]
    pub fn transposed(&self, half_steps: i8) -> Option<Voicing> {
        let mut moved = *self;
        for voice in &mut moved.voices {
            let note = voice.note.semitones() + i32::from(half_steps);
            voice.note = MidiNote::new(u8::try_from(note).ok()?)?;
        }
        Some(moved)
    }

    /// The position in which notes lie that a player has placed, over a chord with these guide
    /// tones: stacked fourths, a close position by its lowest note, or both guide tones below
    /// the rest.
    #[must_use]
    pub fn lies(&self, third: Option<Degree>, seventh: Option<Degree>) -> Position {
        let gap = |low: MidiNote, high: MidiNote| high.number() - low.number();
        let gaps = self.notes().zip(self.notes().skip(1));
        let fourths = gaps.filter(|(low, high)| matches!(gap(*low, *high), 5 | 6));
        let count = self.voices.len();
        if matches!(count, 3 | 4) && fourths.count() == count - 1 {
            return Position::Fourths;
        }
        let degree = |at: usize| self.voices.get(at).map(|voice| voice.degree);
        let (lowest, second) = (degree(0), degree(1));
        let is = |degree: Option<Degree>, guide| degree.is_some() && degree == guide;
        let close = self.span() < 12;
        let family = |of: Family| lowest.and_then(Degree::family) == Some(of);
        if is(lowest, third) && (close || is(second, seventh)) {
            Position::Third
        } else if is(lowest, seventh) && (close || is(second, third)) {
            Position::Seventh
        } else if close && (family(Family::Ninth) || is(lowest, Some(Degree::Root))) {
            Position::Ninth
        } else if close && lowest.is_some() {
            Position::Fifth
        } else {
            Position::AsPlayed
        }
    }

    /// The neighbouring notes that lie too low to sound clear together.
    pub fn low_pairs(&self) -> impl Iterator<Item = (Voice, Voice)> + '_ {
        let voices = self.voices.iter().copied();
        voices.clone().zip(voices.skip(1)).filter(|(low, high)| {
            let low = low.note.number();
            let gap = high.note.number() - low;
            let muddy = |(interval, lowest)| gap == interval && low < lowest;
            LOW_LIMITS.into_iter().any(muddy)
        })
    }

    /// The number of intervals between neighbouring notes that lie too low to sound clear.
    #[must_use]
    pub fn low_intervals(&self) -> u32 {
        self.low_pairs().map(|_| 1).sum()
    }

    /// The notes spelled over a root: `F3 A3 B3 E4`.
    pub fn spelled(&self, root: NoteName) -> impl Iterator<Item = crate::pitch::SpelledPitch> + '_ {
        let voices = self.voices.iter();
        voices.map(move |v| v.degree.over(root).at(v.note))
    }

    /// The semitones moved from one voicing to the next, with voices matched from the lowest
    /// up. Minimal motion between chords never needs crossed voices (Tymoczko, The Geometry of
    /// Musical Chords, Science 313, 2006). If the voicings differ in size, each note of the
    /// larger one moves from or to its nearest note.
    #[must_use]
    pub fn motion(&self, next: &Voicing) -> u32 {
        let apart = |a: MidiNote, b: MidiNote| u32::from(a.number().abs_diff(b.number()));
        let (small, large) = if self.voices.len() <= next.voices.len() {
            (self, next)
        } else {
            (next, self)
        };
        if small.voices.len() == large.voices.len() {
            return self
                .notes()
                .zip(next.notes())
                .map(|(a, b)| apart(a, b))
                .sum();
        }
        large
            .notes()
            .map(|a| small.notes().map(|b| apart(a, b)).min().unwrap_or(0))
            .sum()
    }

    /// The number of voices that move from one voicing to the next, with voices matched as in
    /// [`Voicing::motion`].
    #[must_use]
    pub fn moving_voices(&self, next: &Voicing) -> u8 {
        let (small, large) = if self.voices.len() <= next.voices.len() {
            (self, next)
        } else {
            (next, self)
        };
        if small.voices.len() == large.voices.len() {
            let pairs = self.notes().zip(next.notes());
            return pairs.map(|(a, b)| u8::from(a != b)).sum();
        }
        let held = |note: MidiNote| small.notes().any(|other| other == note);
        large.notes().map(|note| u8::from(!held(note))).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The letters of cadences, after John Mehegan, Jazz Improvisation, vol. 4, from
    /// memory.
    #[test]
    fn the_letter_stays_within_a_cadence() {
        for (two, five, one) in [
            (
                Quality::MinorSeventh,
                Quality::Dominant,
                Quality::MajorSeventh,
            ),
            (Quality::MinorSeventh, Quality::Altered, Quality::Sixth),
            (
                Quality::HalfDiminished,
                Quality::Dominant,
                Quality::MinorSixth,
            ),
            (
                Quality::Minor,
                Quality::DominantSuspended,
                Quality::MinorMajorSeventh,
            ),
            (
                Quality::DiminishedSeventh,
                Quality::Suspended,
                Quality::Major,
            ),
        ] {
            for (letter, outer, inner) in [
                (Form::A, Position::Third, Position::Seventh),
                (Form::B, Position::Seventh, Position::Third),
            ] {
                assert_eq!(Form::of(outer, two), letter, "{two:?}");
                assert_eq!(Form::of(inner, five), letter, "{five:?}");
                assert_eq!(Form::of(outer, one), letter, "{one:?}");
            }
        }
    }
}
