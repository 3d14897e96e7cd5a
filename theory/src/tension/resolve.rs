//! The choices for a chord. Imports the rest of its folder except `sounding`.

use super::choices::Choices;
use super::requests::TensionRequests;
use super::{dominant, over_bass, plain};
use crate::chord::Chord;
use crate::degree::Degree::{Flat5, Sharp5};
use crate::degree::DegreeSet;
use crate::key::Function;
use crate::quality::Quality;
use tinyvec::ArrayVec;

/// The choices for a chord with this function. A request affects the chords that it names, and
/// yields to what the symbol writes.
#[must_use]
pub fn resolve(chord: &Chord, function: &Function, requests: TensionRequests) -> Choices {
    let mut choices = match chord.quality {
        _ if plain::is_bare(chord) => ArrayVec::from_iter([plain::bare(chord)]),
        Quality::Altered => dominant::altered(chord),
        Quality::Dominant | Quality::DominantSuspended | Quality::Suspended => {
            dominant::dominant(chord, function, requests)
        }
        _ => ArrayVec::from_iter([plain::plain(chord, function, requests)]),
    };
    for choice in &mut choices {
        choice.others.retain(|d| !chord.omitted.contains(*d));
        over_bass::agree(chord, choice);
    }
    choices
}

/// The tensions among sounding degrees. Altered fifths count.
#[must_use]
pub fn of(degrees: DegreeSet) -> DegreeSet {
    let altered_fifths = DegreeSet::of(&[Flat5, Sharp5]);
    degrees
        .iter()
        .filter(|d| d.family().is_some() || altered_fifths.contains(*d))
        .collect()
}
