//! The part of one chord in one key, from the chords around it. Common practice, no published
//! source. Imports `roles`, `rooted` and `tonality`.

use super::Mode;
use super::roles::{Resolution, Role};
use super::rooted::RootedChord;
use super::tonality::Tonality;
use crate::quality::{ChordFamily, Quality};

/// A chord and the chords around it. Chords that continue another one are skipped.
#[derive(Clone, Copy, Debug)]
pub(super) struct Around {
    /// The chord before the one before.
    pub(super) earlier: Option<RootedChord>,
    pub(super) before: Option<RootedChord>,
    pub(super) here: RootedChord,
    pub(super) next: Option<RootedChord>,
    pub(super) after: Option<RootedChord>,
    /// Whether the chord lasts two bars or more.
    pub(super) is_long: bool,
}

/// The role of a chord in a key, where it goes, and whether it is the ii of a ii-V.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct RoleInKey {
    pub(super) role: Role,
    pub(super) resolution: Resolution,
    pub(super) is_two: bool,
}

/// Semitones of the root from one chord up to another.
fn rise(from: RootedChord, to: RootedChord) -> u8 {
    to.class.above(from.class)
}

/// Where a dominant goes if no chord after it is known.
pub(super) const fn promise(above: u8, mode: Mode) -> Resolution {
    match (mode, above) {
        (_, 5) => Resolution::RestOnFour,
        (Mode::Major | Mode::Blues, 0) => Resolution::Rest,
        (Mode::Major | Mode::Blues, 2) => Resolution::DeceptiveFromTwo,
        (Mode::Major | Mode::Blues, 7) | (Mode::Minor, 3 | 10) => Resolution::DeceptiveFromMajor,
        (Mode::Major | Mode::Blues, 4 | 9 | 11) | (Mode::Minor, 0 | 2 | 7 | 9 | 11) => {
            Resolution::DeceptiveFromMinor
        }
        _ => Resolution::Elsewhere,
    }
}

/// The chord that a dominant goes to. A diminished chord that only delays the chord on its own
/// root is skipped.
fn goal(around: &Around) -> Option<RootedChord> {
    let next = around.next?;
    let delayed = around
        .after
        .filter(|after| next.is(ChordFamily::Diminished) && after.class == next.class);
    Some(delayed.unwrap_or(next))
}

/// Where a dominant goes.
fn resolution(around: &Around, key: Tonality) -> Resolution {
    let here = around.here;
    let above = key.above(here);
    let Some(next) = goal(around) else {
        return match above {
            5 => Resolution::RestOnFour,
            _ => Resolution::Rest,
        };
    };
    let blues = key.mode == Mode::Blues;
    let major = key.mode != Mode::Minor;
    let to = key.above(next);
    let to_two = to == 2
        && matches!(
            next.family,
            ChordFamily::Minor | ChordFamily::HalfDiminished
        );
    let to_five = to == 7 && matches!(next.family, ChordFamily::Major | ChordFamily::Dominant);
    match (above, rise(here, next), next.family) {
        (2, 5, ChordFamily::Dominant) if to_five && major => Resolution::ToTheDominant,
        (2, 5, ChordFamily::Dominant) if to_five => Resolution::ToTheMinorDominant,
        (2, 0, ChordFamily::Minor) if major => Resolution::ToTheDominant,
        (0, 5, ChordFamily::Dominant) if blues && is_on_its_way(around) => Resolution::ToFour,
        (0, 5, ChordFamily::Dominant) if blues && around.is_long => Resolution::ToFour,
        (0, 5, ChordFamily::Dominant) if blues => Resolution::Rest,
        (_, 5, ChordFamily::Dominant) => Resolution::FifthToDominant,
        (_, 5, ChordFamily::Major) if next.is_bare() => Resolution::FifthToBare,
        (_, 5, ChordFamily::Major) => Resolution::FifthToMajor,
        (_, 5, ChordFamily::Minor | ChordFamily::HalfDiminished) => Resolution::FifthToMinor,
        (_, 5, ChordFamily::Diminished) => Resolution::FifthToDiminished,
        (8, ..) if to_five || to_two => Resolution::FlatSix,
        (0, 11, _) if blues => Resolution::Rest,
        (5, 11, _) if blues => Resolution::RestOnFour,
        (7, ..) => promise(above, key.mode),
        (_, 11, _) => Resolution::HalfStep,
        (10, 2, _) if major && key.is_tonic(next) => Resolution::Backdoor,
        (10, 6, ChordFamily::Minor) if major => Resolution::BackdoorToThree,
        _ => promise(above, key.mode),
    }
}

/// Whether a dominant comes after its own ii, or has a b9 or a b13.
fn is_on_its_way(around: &Around) -> bool {
    let calls = |two: RootedChord| two.could_be_two() && rise(two, around.here) == 5;
    around.here.is_dark || around.before.is_some_and(calls)
}

/// Whether a dominant is the bVII7 of the backdoor. After its iv it is so even if it leads
/// elsewhere.
fn is_backdoor(around: &Around, resolution: Resolution, key: Tonality) -> bool {
    let is_four = |four: RootedChord| four.is(ChordFamily::Minor) && key.on(four, 5);
    match resolution {
        Resolution::Backdoor | Resolution::BackdoorToThree => true,
        Resolution::Elsewhere if key.mode != Mode::Minor && key.on(around.here, 10) => {
            around.before.is_some_and(is_four)
        }
        _ => false,
    }
}

/// A dominant on II, III or VI is a secondary dominant; one on a degree outside the key
/// is a substitute.
const fn stands_on_a_degree(above: u8) -> bool {
    matches!(above, 2 | 4 | 9)
}

fn dominant_role(around: &Around, key: Tonality, resolution: Resolution) -> Role {
    let here = around.here;
    let above = key.above(here);
    let fifth_below = (above + 5) % 12;
    let leads_to_dominant = around
        .next
        .is_some_and(|next| next.is(ChordFamily::Dominant));
    let five_of = |there| Role::SecondaryDominant(key.aim(fifth_below, there));
    match resolution {
        _ if above == 7 => Role::Dominant,
        Resolution::ToFour if is_on_its_way(around) => five_of(around.next),
        Resolution::Rest | Resolution::ToFour if key.is_tonic(here) => Role::Tonic,
        Resolution::Rest | Resolution::RestOnFour | Resolution::ToFour => Role::Home,
        // The tritone substitute of its goal takes the place of the goal.
        Resolution::HalfStep if stands_on_a_degree(above) && leads_to_dominant => five_of(None),
        Resolution::HalfStep => Role::TritoneSubstitute(key.aim((above + 11) % 12, around.next)),
        Resolution::FlatSix => Role::FlatSix,
        Resolution::Backdoor | Resolution::BackdoorToThree => Role::Backdoor,
        Resolution::Elsewhere if is_backdoor(around, resolution, key) => Role::Backdoor,
        // It stands for V wherever it leads.
        Resolution::Elsewhere if above == 1 => Role::TritoneSubstitute(key.aim(0, None)),
        Resolution::Elsewhere => plain_role(here, key),
        Resolution::FifthToMajor
        | Resolution::FifthToMinor
        | Resolution::FifthToDiminished
        | Resolution::FifthToBare
        | Resolution::FifthToDominant
        | Resolution::ToTheDominant
        | Resolution::ToTheMinorDominant
        | Resolution::DeceptiveFromMajor
        | Resolution::DeceptiveFromMinor
        | Resolution::DeceptiveFromTwo => five_of(around.next),
    }
}

/// The dominant that a ii goes to, and the chord after that. None if the chord is not a ii. A
/// ii goes to its own dominant, or to the tritone substitute of that: a dominant a half step
/// below, which falls by another half step.
fn two_to(around: &Around) -> Option<(RootedChord, Option<RootedChord>)> {
    let here = around.here;
    let five = around.next.filter(|next| next.is(ChordFamily::Dominant))?;
    let falls_on = |by: u8| around.after.is_some_and(|after| rise(five, after) == by);
    let is_two = here.could_be_two()
        && match rise(here, five) {
            5 => true,
            11 => falls_on(11),
            _ => false,
        };
    is_two.then_some((five, around.after))
}

/// Whether a chord is the ii of a ii-V.
pub(super) fn is_two(around: &Around) -> bool {
    two_to(around).is_some()
}

fn two_role(
    around: &Around,
    five: RootedChord,
    after: Option<RootedChord>,
    key: Tonality,
) -> Option<Role> {
    let here = around.here;
    let above = key.above(here);
    let sub = Around {
        earlier: None,
        before: Some(here),
        here: five,
        next: after,
        after: None,
        is_long: false,
    };
    let way = resolution(&sub, key);
    if above == 2 {
        return Some(Role::Two);
    }
    match way {
        _ if above == 5 && is_backdoor(&sub, way, key) => return Some(Role::BackdoorTwo),
        _ if key.is_tonic(here) => return None,
        _ => {}
    }
    // A chord of the key keeps its own numeral. Only the chord on the leading tone, and v
    // in minor, are better known as the ii of another degree.
    let own = match key.mode {
        Mode::Major | Mode::Blues => above != 11 && key.is_diatonic(here),
        Mode::Minor => matches!(above, 5) && key.is_diatonic(here),
    };
    if own {
        return None;
    }
    Some(match (rise(here, five), way) {
        (5, Resolution::HalfStep | Resolution::FlatSix) => Role::SubstituteTwo,
        (5, _) => Role::RelatedTwo(key.aim((key.above(five) + 5) % 12, after)),
        _ => Role::RelatedTwo(key.aim((key.above(five) + 11) % 12, after)),
    })
}

fn minor_role(around: &Around, key: Tonality) -> (Role, bool) {
    let here = around.here;
    // iv before the backdoor may also be a minor sixth.
    let backdoor = key.above(here) == 5
        && around.next.is_some_and(|five| {
            let sub = Around {
                earlier: None,
                before: Some(here),
                here: five,
                next: around.after,
                after: None,
                is_long: false,
            };
            five.is(ChordFamily::Dominant) && is_backdoor(&sub, resolution(&sub, key), key)
        });
    let two = two_to(around);
    let role = match two {
        _ if backdoor => Role::BackdoorTwo,
        Some((five, after)) => {
            two_role(around, five, after, key).unwrap_or_else(|| plain_role(here, key))
        }
        None => plain_role(here, key),
    };
    (role, two.is_some())
}

fn diminished_role(around: &Around, key: Tonality) -> Role {
    let here = around.here;
    let above = key.above(here);
    let Some(next) = around.next else {
        return plain_role(here, key);
    };
    match (rise(here, next), above) {
        (1, 11) => Role::LeadingTone,
        (1 | 11, _) => Role::PassingDiminished,
        _ if matches!(next.bass.above(here.class), 1 | 11) => Role::PassingDiminished,
        (0, _) => Role::CommonToneDiminished,
        // It is on its way from IV to I, often over the fifth of I, or to the iii that stands
        // for I.
        (6 | 10, 6) => Role::PassingDiminished,
        (_, 11) => Role::LeadingTone,
        _ => plain_role(here, key),
    }
}

/// The part of a chord by itself.
fn plain_role(part: RootedChord, key: Tonality) -> Role {
    let above = key.above(part);
    if key.is_tonic(part) {
        Role::Tonic
    } else if part.is(ChordFamily::Dominant) && above == 7 {
        Role::Dominant
    } else if part.is(ChordFamily::Diminished) && above == 11 {
        Role::LeadingTone
    } else if key.is_diatonic(part) {
        Role::Diatonic
    } else if key.is_borrowed(part) {
        Role::Borrowed
    } else {
        Role::Chromatic
    }
}

/// The part of a chord in a key.
pub(super) fn hear(around: &Around, key: Tonality) -> RoleInKey {
    let here = around.here;
    // An augmented triad that falls a fifth is a dominant.
    let augmented_five =
        here.quality == Quality::Augmented && around.next.is_some_and(|next| rise(here, next) == 5);
    let (role, resolution, is_two) = match here.family {
        ChordFamily::Dominant | ChordFamily::Suspended => {
            let resolution = resolution(around, key);
            (dominant_role(around, key, resolution), resolution, false)
        }
        ChordFamily::Major if augmented_five => {
            let resolution = resolution(around, key);
            (dominant_role(around, key, resolution), resolution, false)
        }
        ChordFamily::Minor | ChordFamily::HalfDiminished => {
            let (role, is_two) = minor_role(around, key);
            (role, Resolution::Rest, is_two)
        }
        ChordFamily::Diminished => (diminished_role(around, key), Resolution::Rest, false),
        ChordFamily::Major => (plain_role(here, key), Resolution::Rest, false),
    };
    RoleInKey {
        role,
        resolution,
        is_two,
    }
}

/// The part of a chord that is played now. The chord after it is not known, so a dominant is
/// taken to go to where dominants on its degree usually go.
pub(super) fn hear_alone(here: RootedChord, key: Tonality) -> RoleInKey {
    let above = key.above(here);
    if !here.is(ChordFamily::Dominant) {
        let is_two = above == 2 && here.could_be_two();
        let role = match plain_role(here, key) {
            _ if is_two => Role::Two,
            // Between two degrees of the key it can only pass.
            Role::Chromatic if here.is(ChordFamily::Diminished) => Role::PassingDiminished,
            role => role,
        };
        return RoleInKey {
            role,
            resolution: Resolution::Rest,
            is_two,
        };
    }
    let resolution = match (key.mode, above) {
        (_, 1 | 6) | (Mode::Major | Mode::Blues, 3) => Resolution::HalfStep,
        (_, 8) => Resolution::FlatSix,
        (Mode::Major | Mode::Blues, 2) => Resolution::ToTheDominant,
        (Mode::Minor, 2) => Resolution::ToTheMinorDominant,
        (Mode::Major | Mode::Blues, 10) => Resolution::Backdoor,
        _ => match promise(above, key.mode) {
            Resolution::DeceptiveFromMajor => Resolution::FifthToMajor,
            Resolution::DeceptiveFromMinor => Resolution::FifthToMinor,
            rest => rest,
        },
    };
    let alone = Around {
        earlier: None,
        before: None,
        here,
        next: None,
        after: None,
        is_long: false,
    };
    RoleInKey {
        role: dominant_role(&alone, key, resolution),
        resolution,
        is_two: false,
    }
}
