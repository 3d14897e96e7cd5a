//! What a dominant is dressed in, by where it goes. Imports `key` and what is
//! above it.

use super::Context;
use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::key::{self, Goes};
use crate::quality::Quality;

/// What each tension of a dominant costs: natural ones, dark ones (b9, #9, b13),
/// and #11. Common practice, no published source.
struct Costs {
    natural: i32,
    flat_nine: i32,
    sharp_nine: i32,
    flat_thirteen: i32,
    sharp_eleven: i32,
}

const fn costs(goes: Option<Goes>) -> Costs {
    let (natural, flat_nine, sharp_nine, flat_thirteen, sharp_eleven) = match goes {
        None => (0, 2, 3, 2, 3),
        // From dominant to dominant everything goes.
        Some(Goes::FifthToDominant | Goes::FifthToBare | Goes::ToFour) => (0, 2, 5, 4, 3),
        Some(Goes::FifthToMajor | Goes::DeceptiveFromMajor) => (0, 3, 10, 6, 3),
        Some(
            Goes::FifthToMinor
            | Goes::FifthToDiminished
            | Goes::ToTheMinorDominant
            | Goes::DeceptiveFromMinor,
        ) => (4, 0, 1, 0, 4),
        Some(
            Goes::HalfStep
            | Goes::Backdoor
            | Goes::BackdoorToThree
            | Goes::FlatSix
            | Goes::ToTheDominant
            | Goes::DeceptiveFromTwo,
        ) => (0, 7, 7, 7, 0),
        Some(Goes::Rest | Goes::RestOnFour | Goes::Elsewhere) => (0, 6, 4, 6, 3),
    };
    Costs {
        natural,
        flat_nine,
        sharp_nine,
        flat_thirteen,
        sharp_eleven,
    }
}

/// Points that a dominant, suspended or not, loses by what sounds with it; 0 for
/// other chords.
pub(super) fn cost(chord: &Chord, degrees: DegreeSet, context: &Context) -> i32 {
    let goes = goes(chord, context);
    match chord.quality {
        Quality::Dominant => {}
        // To a minor chord a suspension has no natural thirteenth.
        Quality::DominantSuspended if goes == Some(Goes::FifthToMinor) => {
            return 12 * i32::from(degrees.has(Degree::Thirteen))
                + 4 * i32::from(degrees.has(Degree::Nine));
        }
        _ => return 0,
    }
    let costs = costs(goes);
    // To a major chord b13 comes with b9, or hardly.
    let bare = goes == Some(Goes::FifthToMajor)
        && degrees.has(Degree::Flat13)
        && !degrees.meets(DegreeSet::of(&[Degree::Flat9, Degree::Sharp9]));
    let each = degrees.iter().map(|degree| match degree {
        Degree::Nine | Degree::Thirteen => costs.natural,
        Degree::Flat9 => costs.flat_nine,
        Degree::Sharp9 => costs.sharp_nine,
        Degree::Flat13 | Degree::Sharp5 => costs.flat_thirteen,
        Degree::Sharp11 | Degree::Flat5 => costs.sharp_eleven,
        _ => 0,
    });
    // #11 takes the place of the fifth.
    let both = degrees.has(Degree::Sharp11) && degrees.has(Degree::Five);
    each.sum::<i32>() + if bare || both { 6 } else { 0 }
}

/// Where it goes, as far as that is known: to the chord after, or where its place
/// in the key leads.
fn goes(chord: &Chord, context: &Context) -> Option<Goes> {
    let bound = || context.key.map(|key| key::live(chord, key).goes);
    let Some(after) = context.after else {
        return bound();
    };
    let minor = after.quality.is_minor();
    Some(match after.root.class().above(chord.root.class()) {
        0 => return bound(),
        5 if minor => Goes::FifthToMinor,
        5 if after.quality.is_dominant() => Goes::FifthToDominant,
        5 => Goes::FifthToMajor,
        11 => Goes::HalfStep,
        2 if !minor => Goes::Backdoor,
        _ => Goes::Rest,
    })
}
