//! Pitch classes and MIDI notes. Imports nothing; the folder of `pitch` imports it.

/// The key on a keyboard without its octave, 0 (C) to 11 (B).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PitchClass(u8);

impl PitchClass {
    /// The class of any number of semitones above a C.
    #[must_use]
    pub const fn wrapping(semitones: i32) -> PitchClass {
        // The remainder is 0 to 11.
        PitchClass(semitones.rem_euclid(12).to_le_bytes()[0])
    }

    /// 0 (C) to 11 (B).
    #[must_use]
    pub const fn number(self) -> u8 {
        self.0
    }

    /// Semitones up from `lower` to the next note of this class, 0 to 11.
    #[must_use]
    pub const fn above(self, lower: PitchClass) -> u8 {
        (self.0 + 12 - lower.0) % 12
    }

    /// The class `semitones` higher.
    #[must_use]
    pub const fn up(self, semitones: i8) -> PitchClass {
        PitchClass::wrapping(self.0 as i32 + semitones as i32)
    }
}

/// A MIDI note number, 0 to 127; 60 is middle C (C4).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct MidiNote(u8);

impl MidiNote {
    /// The lowest note.
    pub const MIN: MidiNote = MidiNote(0);
    /// The highest note.
    pub const MAX: MidiNote = MidiNote(127);

    /// The note with this number, if it is one (0 to 127).
    #[must_use]
    pub const fn new(number: u8) -> Option<MidiNote> {
        if number <= 127 {
            Some(MidiNote(number))
        } else {
            None
        }
    }

    /// The nearest note to this number: below 0 it is 0, above 127 it is 127.
    #[must_use]
    pub const fn clamp(number: i32) -> MidiNote {
        if number < 0 {
            MidiNote(0)
        } else if number > 127 {
            MidiNote(127)
        } else {
            MidiNote(number.to_le_bytes()[0])
        }
    }

    /// 0 to 127.
    #[must_use]
    pub const fn number(self) -> u8 {
        self.0
    }

    /// The same as a signed number, for arithmetic.
    #[must_use]
    pub const fn semitones(self) -> i32 {
        self.0 as i32
    }

    /// The note's pitch class.
    #[must_use]
    pub const fn class(self) -> PitchClass {
        PitchClass(self.0 % 12)
    }

    /// The lowest note of the class `class` at or above this one, if there is one.
    #[must_use]
    pub const fn next_of(self, class: PitchClass) -> Option<MidiNote> {
        MidiNote::new(self.0 + class.above(self.class()))
    }
}
