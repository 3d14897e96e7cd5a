//! Degrees of a key, intervals between roots, and names that are easy to read. Imports `name`.

use super::name::Name;
use crate::chord::Chord;
use crate::key::{Case, Key, Mode, Numeral};
use crate::pitch::NoteName;

/// Degrees of a key as fifths from its tonic, so that their names are spelled correctly.
pub(super) mod step {
    pub(in super::super) const I: i8 = 0;
    pub(in super::super) const SHARP_I: i8 = 7;
    pub(in super::super) const FLAT_II: i8 = -5;
    pub(in super::super) const II: i8 = 2;
    pub(in super::super) const FLAT_III: i8 = -3;
    pub(in super::super) const III: i8 = 4;
    pub(in super::super) const IV: i8 = -1;
    pub(in super::super) const SHARP_IV: i8 = 6;
    pub(in super::super) const V: i8 = 1;
    pub(in super::super) const FLAT_VI: i8 = -4;
    pub(in super::super) const VI: i8 = 3;
    pub(in super::super) const FLAT_VII: i8 = -2;
    pub(in super::super) const VII: i8 = 5;
}

/// Intervals as fifths.
pub(super) const HALF_STEP_UP: i8 = -5;
pub(super) const HALF_STEP_DOWN: i8 = 5;
/// The same letter with one more sharp, or with one more flat.
pub(super) const RAISED: i8 = 7;
pub(super) const LOWERED: i8 = -7;

/// Semitones of the root up from one chord to the next.
pub(super) const FALLS_A_FIFTH: u8 = 5;
pub(super) const FALLS_A_HALF_STEP: u8 = 11;

/// A name in the spelling that a player of the key reads: E and B rather than Fb and Cb, unless
/// the key itself holds the flat, and no name further than a tritone on the flat side.
pub(super) const fn readable_in(key: Key, name: NoteName) -> NoteName {
    let fifths = name.fifths();
    let from_tonic = fifths - key.tonic.fifths();
    let lowest = match key.mode {
        Mode::Major | Mode::Blues => -1,
        Mode::Minor => -4,
    };
    let hard = fifths < -6 && (from_tonic < lowest || from_tonic >= lowest + 7);
    if hard || from_tonic < -6 {
        name.along_fifths(12).readable()
    } else {
        name.readable()
    }
}

/// The name at a distance in fifths, in the spelling that is easiest to read.
pub(super) const fn along(from: NoteName, fifths: i8) -> NoteName {
    from.along_fifths(fifths).readable()
}

/// A major key that is visited for a moment, on this note or its other name.
pub(super) const fn visited(tonic: NoteName) -> Key {
    let key = Key {
        tonic,
        mode: Mode::Major,
    };
    if key.signature() < -6 || key.signature() > 6 {
        Key::usual(tonic.class(), Mode::Major)
    } else {
        key
    }
}

/// Semitones of the root up from `from` to `to`, 0 to 11.
pub(super) const fn rise(from: &Chord, to: &Chord) -> u8 {
    to.root.class().above(from.root.class())
}

/// Whether the chord is a tonic: a major one in major, a minor one in minor, I7 or I in the
/// blues.
pub(super) fn is_tonic(chord: &Chord, key: Key) -> bool {
    let families = key.mode.tonic_families();
    families.contains(&chord.quality.family()) && key.above(chord.root.class()) == 0
}

/// The numeral of a degree, see [`step`].
pub(super) const fn numeral(step: i8, case: Case) -> Numeral {
    let above = NoteName::from_fifths(step).class().number();
    Numeral { above, case }
}

/// The name for one chord of a key in the place of another.
pub(super) const fn instead_of(new: (i8, Case), old: (i8, Case)) -> Name {
    Name::For {
        new: numeral(new.0, new.1),
        old: numeral(old.0, old.1),
    }
}
