//! The notes that are read, and how they lie. Imports `pitch`; the folder of `read` imports it.

use crate::pitch::{MidiNote, PitchClass};

/// The notes as they were heard.
pub(super) struct SoundingNotes {
    pub(super) bottom: MidiNote,
    classes: [bool; 12],
    pub(super) count: usize,
    pub(super) lowest: PitchClass,
    /// The next note up.
    pub(super) second: PitchClass,
    /// Semitones from the lowest note to the highest.
    pub(super) span: u8,
    /// Whether they are three or four notes, each a fourth or a tritone above the one below.
    pub(super) in_fourths: bool,
}

impl SoundingNotes {
    pub(super) fn of(notes: &[MidiNote]) -> SoundingNotes {
        let mut classes = [false; 12];
        for note in notes {
            if let Some(class) = classes.get_mut(usize::from(note.class().number())) {
                *class = true;
            }
        }
        let from = |floor: MidiNote| notes.iter().copied().filter(move |n| *n >= floor).min();
        let above = |note: MidiNote| MidiNote::new(note.number() + 1).and_then(from);
        let lowest = from(MidiNote::MIN).unwrap_or(MidiNote::MIN);
        let second = above(lowest).unwrap_or(lowest);
        let highest = notes.iter().max().copied().unwrap_or(lowest);
        let mut stacked = 1;
        let mut top = lowest;
        while let Some(next) = above(top).filter(|n| matches!(n.number() - top.number(), 5 | 6)) {
            (top, stacked) = (next, stacked + 1);
        }
        SoundingNotes {
            bottom: lowest,
            classes,
            count: classes.iter().filter(|c| **c).count(),
            lowest: lowest.class(),
            second: second.class(),
            span: highest.number() - lowest.number(),
            in_fourths: top == highest && matches!(stacked, 3 | 4),
        }
    }

    /// Intervals above a root, in semitones.
    pub(super) fn above(&self, root: PitchClass) -> impl Iterator<Item = u8> + '_ {
        let heard = (0..12).map(PitchClass::wrapping).zip(self.classes);
        heard
            .filter(|(_, on)| *on)
            .map(move |(class, _)| class.above(root))
    }
}
