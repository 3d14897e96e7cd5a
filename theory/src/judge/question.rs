//! A chord that is asked for, and what counts as right. Imports nothing of its folder.

use crate::candidates::{self, Register};
use crate::degree::Degree;
use crate::degree::Family::{Eleventh, Ninth, Thirteenth};
use crate::pipeline::ChordInKey;
use crate::plan::Voiced;
use crate::shape::{Slot, Texture};
use crate::voicing::Voicing;

/// A chord that is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Question {
    /// The chord in its key.
    pub placed: ChordInKey,
    /// The voicing that is asked for.
    pub voiced: Voiced,
    /// Whether the other position counts as well.
    pub either_position: bool,
}

/// What counts as right. Each accepts what the one before it accepts, and more.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Accepts {
    /// The voicing that is asked for, note for note. If either position counts, so does each
    /// voicing of the same texture and tensions in another position, where the register has it.
    #[default]
    Exact,
    /// Any rootless voicing of the chord with the tensions that are asked for: the degrees of the
    /// voicing that is asked for and nothing else, in any order and octave within the register and
    /// the reach of the hand, with no minor ninth and no interval that lies too low to sound clear.
    SameTensions,
    /// Any good voicing of the chord, of two notes or more: guide tones, no clash, no minor ninth,
    /// no root, within the register and the reach of the hand.
    AnyGood,
}

impl Question {
    /// The slot that a degree fills: the third's, the seventh's, the ninth's or the fifth's.
    #[must_use]
    pub fn slot(&self, degree: Degree) -> Slot {
        let tensions = &self.voiced.tensions;
        if tensions.third == Some(degree) {
            return Slot::Third;
        }
        if tensions.seventh == Some(degree) {
            return Slot::Seventh;
        }
        match (degree, degree.family()) {
            (Degree::Flat3 | Degree::Three | Degree::Flat11 | Degree::Four, _) => Slot::Third,
            (Degree::DoubleFlat7 | Degree::Flat7 | Degree::Seven, _) => Slot::Seventh,
            (Degree::Root | Degree::Two, _) | (_, Some(Ninth)) => Slot::Ninth,
            (_, Some(Eleventh | Thirteenth) | None) => Slot::Fifth,
        }
    }

    /// The texture in which the voicing lies that is asked for, the first one that has it in this
    /// position; none if no texture of the table has it.
    #[must_use]
    pub fn texture(&self, register: Register) -> Option<Texture> {
        let asked = &self.voiced.voicing;
        Texture::ALL.into_iter().find(|texture| {
            let mut laid = self.laid(*texture, register);
            laid.any(|voicing| voicing.position == asked.position && same_shape(&voicing, asked))
        })
    }

    /// The voicings of the chord with its tensions in a texture.
    pub(super) fn laid(
        &self,
        texture: Texture,
        register: Register,
    ) -> impl Iterator<Item = Voicing> + use<> {
        let Question { placed, voiced, .. } = self;
        candidates::of(&placed.chord, &voiced.tensions, texture, register)
    }
}

/// Whether two voicings have the same notes, perhaps some octaves apart.
pub(super) fn same_shape(one: &Voicing, other: &Voicing) -> bool {
    let apart = match (one.lowest(), other.lowest()) {
        (Some(one), Some(other)) => other.semitones() - one.semitones(),
        _ => 0,
    };
    let moved = one.notes().map(|note| note.semitones() + apart);
    apart % 12 == 0 && moved.eq(other.notes().map(|note| note.semitones()))
}
