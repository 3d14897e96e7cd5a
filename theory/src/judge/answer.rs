//! What is held, by degree over the chord that was asked for. Imports nothing of its folder.

use crate::candidates::Hand;
use crate::chord::Chord;
use crate::pin;
use crate::pitch::MidiNote;
use crate::voicing::{MOST_NOTES, Voicing};

/// The keys that are held.
#[derive(Clone, Copy)]
pub(super) struct Answer {
    /// One bit for each key.
    keys: u128,
}

impl Answer {
    /// The keys that are held, in whatever order they come and however often.
    pub fn of(notes: &[MidiNote]) -> Answer {
        let bits = notes.iter().map(|note| 1_u128 << note.number());
        Answer {
            keys: bits.fold(0, |keys, bit| keys | bit),
        }
    }

    /// How many keys are held.
    pub const fn count(self) -> u32 {
        self.keys.count_ones()
    }

    /// The keys, from the lowest.
    pub fn notes(self) -> impl Iterator<Item = MidiNote> + Clone {
        let mut rest = self.keys;
        core::iter::from_fn(move || {
            let lowest = u8::try_from(rest.trailing_zeros()).ok()?;
            let note = MidiNote::new(lowest)?;
            rest &= rest.wrapping_sub(1);
            Some(note)
        })
    }

    /// The lowest of them as a voicing, as many as one holds.
    pub fn voicing(self, chord: &Chord, hand: Hand) -> Voicing {
        let mut voicing = pin::named(self.notes().take(MOST_NOTES), chord);
        voicing.left_hand = hand.left_of_two(&voicing);
        voicing
    }
}
