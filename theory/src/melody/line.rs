//! A melody as the theory takes it: a line of notes, one at a time. Imports the limits of its
//! folder, and `pitch`.

use super::MOST_NOTES;
use crate::pitch::{MidiNote, NoteName, SpelledPitch};
use std::ops::Range;

/// A note of a melody. Notes that are tied are one note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MelodyNote {
    /// The key that sounds.
    pub note: MidiNote,
    /// Its name, where one is known. It names the key that sounds.
    pub name: Option<NoteName>,
    /// Ticks from the start of the chart, with its pickup.
    pub start_ticks: u32,
    /// Its length in ticks.
    pub length_ticks: u32,
}

impl MelodyNote {
    /// The tick on which it ends.
    #[must_use]
    pub const fn end_ticks(&self) -> u32 {
        self.start_ticks.saturating_add(self.length_ticks)
    }

    /// The ticks in which it sounds.
    #[must_use]
    pub const fn ticks(&self) -> Range<u32> {
        self.start_ticks..self.end_ticks()
    }

    /// The note with its octave, by its name or, without one, by the usual name of its key.
    #[must_use]
    pub fn spelled(&self) -> SpelledPitch {
        let name = self.name.unwrap_or_else(|| usual(self.note));
        name.at(self.note)
    }
}

/// The name of a key in no particular harmony: sharps up to F sharp, flats for the others.
fn usual(note: MidiNote) -> NoteName {
    let fifths = (-5..=6).map(NoteName::from_fifths);
    let mut named = fifths.filter(|name| name.class() == note.class());
    // The twelve names name the twelve keys.
    named.next().unwrap_or(NoteName::from_fifths(0))
}

/// A melody: notes that ascend in time, one at a time, with rests between them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Melody {
    notes: Vec<MelodyNote>,
}

impl Melody {
    /// A melody from notes in any order. A note ends where the next begins, and of notes that
    /// begin together the highest stays. Notes without length are left out, and so is what is
    /// beyond [`MOST_NOTES`]. A name that does not name its note, or has more than two sharps or
    /// flats, is taken away.
    #[must_use]
    pub fn new(notes: impl IntoIterator<Item = MelodyNote>) -> Melody {
        let mut notes: Vec<MelodyNote> = notes
            .into_iter()
            .filter(|n| n.start_ticks < n.end_ticks())
            .collect();
        // Of those that begin together the highest comes first, and then the longest.
        notes.sort_by_key(|n| (n.start_ticks, u8::MAX - n.note.number(), !n.length_ticks));
        notes.dedup_by_key(|n| n.start_ticks);
        notes.truncate(MOST_NOTES);
        let starts: Vec<u32> = notes.iter().skip(1).map(|n| n.start_ticks).collect();
        let ends = starts.into_iter().chain([u32::MAX]);
        for (note, end) in notes.iter_mut().zip(ends) {
            note.length_ticks = note.end_ticks().min(end) - note.start_ticks;
            note.name = note
                .name
                .filter(|name| name.class() == note.note.class() && name.accidental.abs() <= 2);
        }
        Melody { notes }
    }

    /// The notes, in their order.
    #[must_use]
    pub fn notes(&self) -> &[MelodyNote] {
        &self.notes
    }

    /// Whether there are no notes.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.notes.is_empty()
    }

    /// The tick on which the last note ends; 0 without notes.
    #[must_use]
    pub fn end_ticks(&self) -> u32 {
        self.notes.last().map_or(0, MelodyNote::end_ticks)
    }

    /// The note that sounds at a tick.
    #[must_use]
    pub fn at(&self, ticks: u32) -> Option<&MelodyNote> {
        let begun = self.notes.partition_point(|n| n.start_ticks <= ticks);
        let last = self.notes.get(begun.checked_sub(1)?)?;
        (ticks < last.end_ticks()).then_some(last)
    }

    /// The notes that sound within these ticks, for a time at least.
    #[must_use]
    pub fn within(&self, ticks: &Range<u32>) -> &[MelodyNote] {
        let from = self.notes.partition_point(|n| n.end_ticks() <= ticks.start);
        let until = self.notes.partition_point(|n| n.start_ticks < ticks.end);
        self.notes.get(from..until).unwrap_or(&[])
    }

    /// The same melody with a name for every note: its own, or the one that `name` gives it.
    #[must_use]
    pub fn named(&self, name: impl Fn(&MelodyNote) -> NoteName) -> Melody {
        let with_name = |note: &MelodyNote| MelodyNote {
            name: note.name.or_else(|| Some(name(note))),
            ..*note
        };
        Melody::new(self.notes.iter().map(with_name))
    }

    /// The melody so many half steps higher, each name `fifths` further along the line of fifths.
    /// None if a note leaves the range of MIDI.
    #[must_use]
    pub fn transposed(&self, half_steps: i8, fifths: i8) -> Option<Melody> {
        let moved = self.notes.iter().map(|n| {
            let note = n.note.semitones() + i32::from(half_steps);
            let name = n.name.map(|name| name.along_fifths(fifths).readable());
            Some(MelodyNote {
                note: MidiNote::new(u8::try_from(note).ok()?)?,
                name,
                ..*n
            })
        });
        let notes: Option<Vec<MelodyNote>> = moved.collect();
        notes.map(Melody::new)
    }
}
