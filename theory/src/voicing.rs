//! A voicing: a few ascending notes with their degrees. `Copy` and of fixed
//! size, so that it can cross to the audio thread. Imports `pitch` and `degree`.

use crate::degree::{Degree, DegreeSet};
use crate::pitch::{MidiNote, NoteName, PitchClass};
use std::fmt;
use tinyvec::ArrayVec;

/// The most notes that a voicing holds.
pub const MOST_NOTES: usize = 6;

/// Which guide tone lies lowest in close position; an open voicing has the form
/// that it was opened from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Form {
    /// The third.
    #[default]
    A,
    /// The seventh.
    B,
    /// Stacked fourths.
    Fourths,
    /// Close position with the fifth's slot lowest.
    OnFifth,
    /// Close position with the ninth's slot lowest.
    OnNinth,
    /// As a player laid it, in no form of these.
    AsPlayed,
}

impl fmt::Display for Form {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Form::A => "A",
            Form::B => "B",
            Form::Fourths => "fourths",
            Form::OnFifth => "on the fifth",
            Form::OnNinth => "on the ninth",
            Form::AsPlayed => "as played",
        })
    }
}

/// One note of a voicing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Voice {
    /// The key.
    pub note: MidiNote,
    /// What it is over the root.
    pub degree: Degree,
}

/// Ascending notes with their degrees.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Voicing {
    voices: ArrayVec<[Voice; MOST_NOTES]>,
    /// Which guide tone lies lowest.
    pub form: Form,
    /// How many of the notes, from the lowest, the left hand takes.
    pub left_hand: u8,
}

impl Voicing {
    /// An empty voicing to be filled from below.
    #[must_use]
    pub fn empty(form: Form) -> Voicing {
        Voicing {
            form,
            ..Voicing::default()
        }
    }

    /// Adds a note; false, and no change, if it does not lie above the others
    /// or there is no room.
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
    pub fn notes(&self) -> impl DoubleEndedIterator<Item = MidiNote> + ExactSizeIterator + '_ {
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

    /// The notes spelled over a root: `F3 A3 B3 E4`.
    pub fn spelled(&self, root: NoteName) -> impl Iterator<Item = crate::pitch::SpelledPitch> + '_ {
        let voices = self.voices.iter();
        voices.map(move |v| v.degree.over(root).at(v.note))
    }

    /// Semitones moved from one voicing to the next, voices taken from the
    /// lowest up; minimal motion between chords never needs crossed voices
    /// (Tymoczko, The Geometry of Musical Chords, Science 313, 2006). Between
    /// voicings of different size each note of the larger one moves from, or
    /// to, its nearest.
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
}
