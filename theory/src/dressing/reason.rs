//! How usual a dressing is in its place, and why. `words` puts both into words. Imports nothing
//! of its folder.

use crate::degree::{Degree, DegreeSet};
use crate::key::{Key, Resolution};
use crate::pitch::NoteName;
use crate::scale::Scale;
use crate::tension;

/// How usual a dressing is in its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fit {
    /// What players put here.
    Usual,
    /// Colours that are not expected here, or that take away what the symbol writes.
    Bold,
    /// It clashes with the melody.
    AgainstMelody,
}

/// Why a dressing fits its place, or does not. Each reason is true of the chord that gets it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// It is the first choice of tensions for the symbol in this place.
    FirstChoice(tension::Reason),
    /// It is another choice of tensions for the symbol in this place.
    Choice(tension::Reason),
    /// It is no choice for a dominant that goes there.
    Unusual(Resolution),
    /// The ninth with the natural five, where 9 is a choice.
    PlainFifth(tension::Reason),
    /// Chord tones fit everywhere.
    ChordTones,
    /// The end of an inner line falls a half step to this degree of the next chord.
    LeadsTo(Degree),
    /// The fourth resolves to the third while the chord lasts.
    Resolves,
    /// The scale of the chord in its place holds all of it.
    InScale(&'static Scale),
    /// The key holds all of it.
    InKey(Key),
    /// The scale of the chord in its place does not hold this degree, nor does the key.
    OutsideScale(Degree, &'static Scale),
    /// A minor tonic takes sixth, minor seventh and major seventh alike.
    MinorTonic,
    /// The sixth of a ii is the third of the dominant that follows.
    ThirdOfDominant,
    /// It is part of a line over one minor chord: 1, 7, b7, 6.
    MinorLine,
    /// The symbol writes these degrees, and they would be lost.
    TakesAway(DegreeSet),
    /// The symbol asks for an altered dominant, and this one has natural tensions.
    NotAltered,
    /// This degree lies a half step from this note of the melody.
    Melody(Degree, NoteName),
    /// It sounds now, and the table does not know it.
    Sounds,
}
