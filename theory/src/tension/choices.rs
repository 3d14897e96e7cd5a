//! What is to sound over a chord, and the order of the degrees. Imports `reason`.

use super::reason::Reason;
use crate::chord::Chord;
use crate::degree::Degree::{
    self, Eleven, Flat5, Flat9, Flat13, Nine, Sharp5, Sharp9, Sharp11, Thirteen,
};
use crate::degree::DegreeSet;
use crate::quality::Extent;
use tinyvec::ArrayVec;

/// What is to sound over a chord: the guide tones, and all other degrees by rank.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tensions {
    /// The third, or the degree in its place.
    pub third: Option<Degree>,
    /// The seventh, or the sixth or diminished seventh in its place.
    pub seventh: Option<Degree>,
    /// The other degrees, the most needed first: written alterations, written naturals, implied
    /// tensions, then chord tones to fill up.
    pub others: ArrayVec<[Degree; 8]>,
    /// The place in the list of choices, from 0 for the first.
    pub rank: u8,
    /// Why.
    pub reason: Reason,
}

/// The choices for one chord, the best first. There is always at least one.
pub type Choices = ArrayVec<[Tensions; 6]>;

/// Degrees of the ninth.
pub(super) const NINTHS: DegreeSet = DegreeSet::of(&[Flat9, Nine, Sharp9]);

/// Adds degrees that are not there yet.
pub(super) fn append(
    others: &mut ArrayVec<[Degree; 8]>,
    degrees: impl IntoIterator<Item = Degree>,
) {
    for degree in degrees {
        if !others.contains(&degree) {
            let _full = others.try_push(degree);
        }
    }
}

pub(super) fn written_first(chord: &Chord) -> ArrayVec<[Degree; 8]> {
    let mut others = ArrayVec::default();
    let stated = chord.degrees();
    let essential = DegreeSet::of(&[Flat5, Sharp5]).intersection(stated);
    let altered = chord.written.iter().filter(|d| d.is_altered());
    append(&mut others, altered.filter(|d| NINTHS.contains(*d)));
    append(&mut others, essential.iter());
    append(
        &mut others,
        [Flat13, Sharp11]
            .into_iter()
            .filter(|d| chord.written.contains(*d)),
    );
    let by_extent = match chord.extent {
        Extent::Plain => None,
        Extent::Ninth => Some(Nine),
        Extent::Eleventh => Some(Eleven),
        Extent::Thirteenth => Some(Thirteen),
    };
    append(&mut others, by_extent.filter(|d| stated.contains(*d)));
    let naturals = DegreeSet::of(&[Nine, Eleven, Thirteen]).intersection(chord.written);
    append(&mut others, naturals.iter());
    others
}
