//! What the tensions of a dominant cost, depending on where it goes. Imports `context`, `key`
//! and what is above it.

use super::context::Context;
use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::key::{self, Function, Key, Mode, Resolution};
use crate::quality::Quality;

/// The points that each tension of a dominant costs: natural ones, dark ones (b9, #9, b13), and
/// #11. Common practice, no published source.
struct Costs {
    natural: i32,
    flat_nine: i32,
    sharp_nine: i32,
    flat_thirteen: i32,
    sharp_eleven: i32,
}

const fn costs(resolution: Option<Resolution>) -> Costs {
    let (natural, flat_nine, sharp_nine, flat_thirteen, sharp_eleven) = match resolution {
        None => (0, 2, 3, 2, 3),
        // Every tension is usual from one dominant to another.
        Some(Resolution::FifthToDominant | Resolution::FifthToBare | Resolution::ToFour) => {
            (0, 2, 5, 4, 3)
        }
        Some(Resolution::FifthToMajor | Resolution::DeceptiveFromMajor) => (0, 3, 10, 6, 3),
        Some(
            Resolution::FifthToMinor
            | Resolution::FifthToDiminished
            | Resolution::ToTheMinorDominant
            | Resolution::DeceptiveFromMinor,
        ) => (4, 0, 1, 0, 4),
        Some(
            Resolution::HalfStep
            | Resolution::Backdoor
            | Resolution::BackdoorToThree
            | Resolution::FlatSix
            | Resolution::ToTheDominant
            | Resolution::DeceptiveFromTwo,
        ) => (0, 7, 7, 7, 0),
        Some(Resolution::Rest | Resolution::RestOnFour | Resolution::Elsewhere) => (0, 6, 4, 6, 3),
    };
    Costs {
        natural,
        flat_nine,
        sharp_nine,
        flat_thirteen,
        sharp_eleven,
    }
}

/// The function of the chord between its neighbours. Without a key, the chord after it is taken
/// for the tonic, which tells where a dominant goes.
pub(super) fn function(chord: &Chord, context: &Context) -> Option<Function> {
    let key = match (context.key, context.after) {
        (Some(key), _) => key,
        (None, Some(after)) => Key {
            tonic: after.root,
            mode: match after.quality.is_minor() {
                true => Mode::Minor,
                false => Mode::Major,
            },
        },
        (None, None) => return None,
    };
    let (before, after) = (context.before.as_ref(), context.after.as_ref());
    Some(key::between(before, chord, after, key))
}

/// The points that a dominant, suspended or not, loses for what sounds with it. Other chords
/// lose none.
pub(super) fn cost(chord: &Chord, degrees: DegreeSet, function: Option<&Function>) -> i32 {
    let resolution = function.map(|function| function.resolution);
    match chord.quality {
        Quality::Dominant => {}
        // A suspension that leads to a minor chord has no natural thirteenth.
        Quality::DominantSuspended if resolution == Some(Resolution::FifthToMinor) => {
            return 12 * i32::from(degrees.contains(Degree::Thirteen))
                + 4 * i32::from(degrees.contains(Degree::Nine));
        }
        _ => return 0,
    }
    let costs = costs(resolution);
    // Before a major chord, b13 seldom comes without b9.
    let bare = resolution == Some(Resolution::FifthToMajor)
        && degrees.contains(Degree::Flat13)
        && !degrees.intersects(DegreeSet::of(&[Degree::Flat9, Degree::Sharp9]));
    let each = degrees.iter().map(|degree| match degree {
        Degree::Nine | Degree::Thirteen => costs.natural,
        Degree::Flat9 => costs.flat_nine,
        Degree::Sharp9 => costs.sharp_nine,
        Degree::Flat13 | Degree::Sharp5 => costs.flat_thirteen,
        Degree::Sharp11 | Degree::Flat5 => costs.sharp_eleven,
        _ => 0,
    });
    // #11 takes the place of the fifth.
    let both = degrees.contains(Degree::Sharp11) && degrees.contains(Degree::Five);
    let cost = each.sum::<i32>() + if bare || both { 6 } else { 0 };
    // A little more than usage alone suggests, since the ear trusts the tensions.
    cost * 5 / 4
}
