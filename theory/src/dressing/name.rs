//! What a dressing is called. Imports nothing of its folder.

use crate::degree::Degree;
use tinyvec::ArrayVec;

/// What a dressing is called, by degree. `words` puts it into words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Name {
    /// These degrees beside the guide tones: `b9 13`.
    Degrees(ArrayVec<[Degree; 4]>),
    /// Chord tones alone.
    Plain,
    /// A chord tone of a diminished chord rises a whole step.
    Raised {
        /// The chord tone.
        from: Degree,
        /// The note that takes its place.
        to: Degree,
    },
    /// An inner line: one degree, then another.
    Line {
        /// The degree that sounds first.
        from: Degree,
        /// The degree that it moves to.
        to: Degree,
    },
    /// What sounds now, if the table does not know it, by its tensions.
    AsItSounds(ArrayVec<[Degree; 4]>),
}
