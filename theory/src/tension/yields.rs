//! What yields to a melody, and why. `words` puts it into words. Imports `degree` and `pitch`; the
//! folder of `tension` imports it.

use crate::degree::Degree;
use crate::pitch::NoteName;
use tinyvec::ArrayVec;

/// A degree of a chord that a note of the melody speaks against.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Yield {
    /// The degree.
    pub degree: Degree,
    /// What becomes of it.
    pub outcome: Outcome,
    /// The note of the melody, spelled by its degree over the chord.
    pub melody: NoteName,
    /// What the two have against each other.
    pub against: Against,
    /// The place of the degree among the other degrees of the chord, the most needed at 0. A
    /// guide tone has place 0.
    pub place: u8,
}

/// What becomes of a degree that the melody speaks against.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Outcome {
    /// Another degree sounds in its place.
    To(Degree),
    /// It is left out, and nothing new sounds for it.
    #[default]
    LeftOut,
    /// The symbol writes it, so it is left out and no other tension of its kind replaces it. A
    /// tone that the chord has anyway may fill its place.
    WrittenLeftOut(Option<Degree>),
    /// It is a guide tone, or nothing else is possible, and it stands.
    Stands,
}

/// What a degree and a note of the melody have against each other.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Against {
    /// The melody lies a minor ninth above the degree, or a half step from it.
    #[default]
    HalfStep,
    /// The melody plays another degree of its kind, such as b9 over 9 or b13 over 13.
    OtherOfItsKind,
}

/// What yields in a chord.
pub type Yields = ArrayVec<[Yield; 10]>;
