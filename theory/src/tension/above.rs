//! What sounds above a chord: the notes of a melody, as a set of keys. Imports `pitch`; the folder
//! of `tension` imports it.

use crate::pitch::{MidiNote, PitchClass};

/// The keys of a melody that sound above a chord, or have just been struck there.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Above {
    /// One bit for each key, the lowest for MIDI note 0.
    keys: u128,
    /// Those of them that have ended.
    ended: u128,
}

impl Above {
    /// No notes.
    pub const NONE: Above = Above::of_keys(0);

    /// The keys whose bits are set, the lowest bit for MIDI note 0.
    #[must_use]
    pub const fn of_keys(keys: u128) -> Above {
        Above { keys, ended: 0 }
    }

    /// These notes, and keys that have just been struck. Those of them that do not sound any more
    /// have ended: tensions yield to them, and guide tones do not.
    #[must_use]
    pub const fn and_struck(self, keys: u128) -> Above {
        let ended = (self.ended | keys) & !(self.keys & !self.ended);
        Above {
            keys: self.keys | keys,
            ended,
        }
    }

    /// The notes that have not ended.
    #[must_use]
    pub const fn held(self) -> Above {
        Above::of_keys(self.keys & !self.ended)
    }

    /// These notes and one more.
    #[must_use]
    pub const fn with(self, note: MidiNote) -> Above {
        let key = 1 << note.number();
        Above {
            keys: self.keys | key,
            ended: self.ended & !key,
        }
    }

    /// These notes and more. A note has ended if it does not sound in either.
    #[must_use]
    pub const fn and(self, more: Above) -> Above {
        let held = self.held().keys | more.held().keys;
        Above {
            keys: self.keys | more.keys,
            ended: (self.ended | more.ended) & !held,
        }
    }

    /// Whether there are no notes.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.keys == 0
    }

    /// The notes, from the lowest.
    pub fn notes(self) -> impl Iterator<Item = MidiNote> {
        let mut rest = self.keys;
        core::iter::from_fn(move || {
            let lowest = u8::try_from(rest.trailing_zeros()).ok()?;
            // Without its lowest bit.
            rest &= rest.wrapping_sub(1);
            MidiNote::new(lowest)
        })
    }

    /// The lowest note.
    #[must_use]
    pub fn lowest(self) -> Option<MidiNote> {
        self.notes().next()
    }

    /// Whether a note of this class is among them, in any octave.
    #[must_use]
    pub const fn holds(self, class: PitchClass) -> bool {
        /// The bits of all Cs.
        const CS: u128 = {
            let mut bits = 0;
            let mut key = 0;
            while key < 128 {
                bits |= 1 << key;
                key += 12;
            }
            bits
        };
        self.keys & CS << class.number() != 0
    }
}

impl FromIterator<MidiNote> for Above {
    fn from_iter<I: IntoIterator<Item = MidiNote>>(notes: I) -> Above {
        notes.into_iter().fold(Above::NONE, Above::with)
    }
}
