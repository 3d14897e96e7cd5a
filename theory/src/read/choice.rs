//! Compares the notes that sound with the tensions that a player would choose for the chord in
//! its place. Imports `tension` and what is above it.

use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::key::Function;
use crate::quality::Quality;
use crate::tension::{self, Choices, TensionRequests, Tensions};

/// Points for a choice of the first rank whose first degrees sound (common practice, no
/// published source).
const FIRST: i32 = 8;
/// Points for a choice of which other degrees sound.
const HELD: i32 = 3;
/// Points for degrees that no choice contains.
const FOREIGN: i32 = -4;
/// The points that each rank costs.
const RANK: i32 = 4;
/// The rank of an altered dominant. A symbol asks for it, but a context seldom does.
const ALTERED_RANK: i32 = 2;

/// How well the degrees match a choice.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Chosen {
    /// Points for it, -4 to 8.
    pub(super) points: i32,
    /// Whether the root is among the first degrees, in the place of a ninth.
    pub(super) has_root: bool,
}

/// Compares these degrees with the choices for the chord without its tensions. A triad has no
/// choices and gets no points.
pub(super) fn chosen(bare: &Chord, degrees: DegreeSet, function: &Function) -> Chosen {
    if bare.seventh().is_none() {
        return Chosen::default();
    }
    let resolve = |chord: &Chord| tension::resolve(chord, function, TensionRequests::default());
    let usual = resolve(bare);
    let altered = match bare.quality {
        Quality::Dominant => resolve(&Chord {
            quality: Quality::Altered,
            ..*bare
        }),
        _ => Choices::default(),
    };
    let ranked = usual.iter().map(|c| (c, i32::from(c.rank)));
    let ranked = ranked.chain(altered.iter().map(|c| (c, ALTERED_RANK)));
    ranked
        .map(|(choice, rank)| compare(degrees, choice, rank))
        .max_by_key(|chosen| chosen.points)
        .unwrap_or_default()
}

fn compare(degrees: DegreeSet, choice: &Tensions, rank: i32) -> Chosen {
    let guides = [choice.third, choice.seventh].into_iter().flatten();
    let more = degrees.minus(guides.collect());
    let is_first = is_first(more, choice);
    let points = if is_first || self::is_first(more.without(Degree::Root), choice) {
        FIRST - RANK * rank
    } else if is_held(more, choice) {
        HELD - RANK * rank
    } else {
        FOREIGN
    };
    Chosen {
        points,
        has_root: is_first && more.contains(Degree::Root),
    }
}

/// Whether these degrees are the first ones of a choice.
fn is_first(more: DegreeSet, choice: &Tensions) -> bool {
    let count = choice
        .others
        .iter()
        .take_while(|d| more.contains(**d))
        .count();
    u32::try_from(count) == Ok(more.len())
}

/// Whether a choice contains these degrees. A #11 may join a natural ninth and thirteenth,
/// because together they are a triad above the guide tones.
fn is_held(more: DegreeSet, choice: &Tensions) -> bool {
    let bright = more.contains(Degree::Nine) && more.contains(Degree::Thirteen);
    let joins = |degree| bright && degree == Degree::Sharp11;
    more.iter().all(|d| choice.others.contains(&d) || joins(d))
}
