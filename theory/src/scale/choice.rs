//! Which scales to try over which chords: the families, and the rules that put some of their
//! scales first. Imports `table`, `over` and `reason`.

use super::over::Over;
use super::reason::Reason;
use super::table::{
    AEOLIAN, ALTERED, BEBOP_DOMINANT, BEBOP_DORIAN, BEBOP_MAJOR, DORIAN, DORIAN_FLAT5,
    DORIAN_FLAT9, DORIAN_SHARP11, HALF_WHOLE, HARMONIC_MAJOR, HARMONIC_MINOR, IONIAN,
    IONIAN_AUGMENTED, LOCRIAN, LOCRIAN_NATURAL9, LOCRIAN_NATURAL13, LYDIAN, LYDIAN_AUGMENTED,
    LYDIAN_DOMINANT, LYDIAN_FLAT3, LYDIAN_SHARP9, MAJOR_PENTATONIC, MELODIC_MINOR,
    MINOR_PENTATONIC, MIXOLYDIAN, MIXOLYDIAN_FLAT9, MIXOLYDIAN_FLAT13, PHRYGIAN, PHRYGIAN_DOMINANT,
    PHRYGIAN_DOMINANT_SHARP9, PHRYGIAN_SUS, SUPER_LOCRIAN_DOUBLE_FLAT7, Scale, WHOLE_HALF,
    WHOLE_TONE,
};
use crate::degree::Degree::{self, Five, Flat5, Nine, Root, Seven, Sharp5, Six};
use crate::key::{Function, Mode, Resolution, Role};
use crate::quality::Quality;

/// The scales of a family of chords.
pub(super) struct Family {
    qualities: &'static [Quality],
    /// The everyday scales, in the order of preference.
    pub scales: &'static [&'static Scale],
    /// Whether the key reorders them, with the nearest scale first.
    pub by_key: bool,
    /// Scales for chords that no everyday scale contains.
    pub rare: &'static [&'static Scale],
    /// Colours beyond the mode, such as the mode with a passing note.
    pub further: &'static [&'static Scale],
}

/// Common practice, no published source.
pub(super) static FAMILIES: [Family; 11] = [
    Family {
        qualities: &[Quality::Dominant],
        scales: &[
            &MIXOLYDIAN,
            &LYDIAN_DOMINANT,
            &HALF_WHOLE,
            &ALTERED,
            &PHRYGIAN_DOMINANT,
            &MIXOLYDIAN_FLAT13,
            &WHOLE_TONE,
        ],
        by_key: false,
        rare: &[&PHRYGIAN_DOMINANT_SHARP9, &MIXOLYDIAN_FLAT9],
        further: &[&BEBOP_DOMINANT],
    },
    Family {
        qualities: &[Quality::Altered],
        scales: &[&ALTERED],
        by_key: false,
        rare: &[&PHRYGIAN_DOMINANT, &PHRYGIAN_DOMINANT_SHARP9, &HALF_WHOLE],
        further: &[],
    },
    Family {
        qualities: &[Quality::DominantSuspended, Quality::Suspended],
        scales: &[
            &MIXOLYDIAN,
            &DORIAN_FLAT9,
            &PHRYGIAN_SUS,
            &MIXOLYDIAN_FLAT13,
        ],
        by_key: false,
        rare: &[&PHRYGIAN_DOMINANT],
        further: &[&BEBOP_DOMINANT],
    },
    Family {
        qualities: &[Quality::Major, Quality::Sixth, Quality::MajorSeventh],
        scales: &[&IONIAN, &LYDIAN, &MIXOLYDIAN],
        by_key: true,
        rare: &[
            &LYDIAN_AUGMENTED,
            &IONIAN_AUGMENTED,
            &HARMONIC_MAJOR,
            &LYDIAN_SHARP9,
        ],
        further: &[&BEBOP_MAJOR],
    },
    Family {
        // These chords have no third.
        qualities: &[Quality::SuspendedSecond, Quality::Power],
        scales: &[&IONIAN, &MIXOLYDIAN, &DORIAN, &AEOLIAN, &LYDIAN, &PHRYGIAN],
        by_key: true,
        rare: &[],
        further: &[],
    },
    Family {
        qualities: &[Quality::Augmented],
        scales: &[&WHOLE_TONE, &LYDIAN_AUGMENTED, &IONIAN_AUGMENTED, &ALTERED],
        by_key: false,
        rare: &[],
        further: &[],
    },
    Family {
        qualities: &[Quality::Minor, Quality::MinorSeventh],
        scales: &[
            &DORIAN,
            &AEOLIAN,
            &PHRYGIAN,
            &MELODIC_MINOR,
            &HARMONIC_MINOR,
        ],
        by_key: true,
        rare: &[&DORIAN_SHARP11],
        further: &[&BEBOP_DORIAN],
    },
    Family {
        qualities: &[Quality::MinorSixth],
        scales: &[&MELODIC_MINOR, &DORIAN],
        by_key: true,
        rare: &[&DORIAN_SHARP11],
        further: &[],
    },
    Family {
        qualities: &[Quality::MinorMajorSeventh],
        scales: &[&MELODIC_MINOR, &HARMONIC_MINOR],
        by_key: false,
        rare: &[&LYDIAN_FLAT3],
        further: &[],
    },
    Family {
        qualities: &[Quality::HalfDiminished],
        scales: &[&LOCRIAN, &LOCRIAN_NATURAL9, &LOCRIAN_NATURAL13],
        by_key: false,
        rare: &[&DORIAN_FLAT5],
        further: &[],
    },
    Family {
        qualities: &[Quality::Diminished, Quality::DiminishedSeventh],
        scales: &[&WHOLE_HALF],
        by_key: false,
        rare: &[&SUPER_LOCRIAN_DOUBLE_FLAT7],
        further: &[],
    },
];

impl Family {
    /// The family of a quality. There is one for each quality, as a test shows.
    pub fn of(quality: Quality) -> Option<&'static Family> {
        FAMILIES.iter().find(|f| f.qualities.contains(&quality))
    }
}

/// A scale that a rule puts first, and why. The reason is true of every chord that gets it.
pub(super) type Ruled = (&'static Scale, Reason);

/// The scales that a rule puts first, in order.
pub(super) type Rule = [Option<Ruled>; 2];

const NO_RULE: Rule = [None, None];

const fn one(scale: &'static Scale, reason: Reason) -> Rule {
    [Some((scale, reason)), None]
}

const fn two(first: Ruled, second: Ruled) -> Rule {
    [Some(first), Some(second)]
}

const HOME_IN_MINOR: Reason = Reason::AtHomeInMinor;
const DRESSED_IN_MINOR: Reason = Reason::RaisedInMinor;
const NINE_SHARP_FIVE: Reason = Reason::NineBesideSharp5;
const WHOLE_STEPS: Reason = Reason::WholeStepsAbove;

/// The scales that come before the family's own order, because of the chord's function. Those
/// that do not contain everything that sounds are skipped.
pub(super) fn first(over: &Over) -> Rule {
    let function = over.function;
    match over.chord.quality {
        Quality::Dominant => dominant(over),
        Quality::Augmented => augmented(function),
        Quality::Major | Quality::Sixth | Quality::MajorSeventh
            if over.chord.written.contains(Flat5) =>
        {
            one(&LYDIAN, Reason::Flat5IsSharp11)
        }
        Quality::Minor | Quality::MinorSeventh | Quality::MinorSixth => minor(over),
        Quality::MinorMajorSeventh if is_tonic(function) => two(
            (&MELODIC_MINOR, HOME_IN_MINOR),
            (&HARMONIC_MINOR, HOME_IN_MINOR),
        ),
        Quality::HalfDiminished if function.is_two => one(&LOCRIAN, Reason::TwoOfTwoFive),
        Quality::Diminished | Quality::DiminishedSeventh if leads_up(function) => two(
            (&WHOLE_HALF, WHOLE_STEPS),
            (&SUPER_LOCRIAN_DOUBLE_FLAT7, Reason::HarmonicMinorAbove),
        ),
        Quality::Diminished | Quality::DiminishedSeventh => one(&WHOLE_HALF, WHOLE_STEPS),
        _ => NO_RULE,
    }
}

fn dominant(over: &Over) -> Rule {
    let function = over.function;
    let to_minor = leads_to_minor(function);
    if over.chord.written.contains(Sharp5) {
        return match to_minor {
            Some(reason) => two((&ALTERED, reason), (&WHOLE_TONE, NINE_SHARP_FIVE)),
            None => one(&WHOLE_TONE, NINE_SHARP_FIVE),
        };
    }
    if let Some(reason) = takes_sharp_eleven(function) {
        return one(&LYDIAN_DOMINANT, reason);
    }
    match (function.key.mode, function.above, to_minor) {
        (Mode::Blues, 0, _) => one(&MIXOLYDIAN, Reason::AtHomeInBlues),
        (Mode::Blues, 5, _) => two(
            (&MIXOLYDIAN, Reason::AtHomeInBlues),
            (&LYDIAN_DOMINANT, Reason::FourTakesSharp11),
        ),
        // With b13 and without a five it is the altered scale, in its place in the family.
        (.., Some(reason)) if !over.lacks_five() => {
            two((&PHRYGIAN_DOMINANT, reason), (&MIXOLYDIAN_FLAT13, reason))
        }
        _ => NO_RULE,
    }
}

/// Why a dominant takes the Lydian dominant scale, if it does: it falls a half step,
/// steps up from bVII, or leads to the dominant.
const fn takes_sharp_eleven(function: &Function) -> Option<Reason> {
    match (function.resolution, function.role) {
        (Resolution::HalfStep, _) => Some(Reason::FallsHalfStep),
        (Resolution::Backdoor, _) => Some(Reason::StepsUpFromFlat7),
        (Resolution::BackdoorToThree, _) => Some(Reason::LeadsToThree),
        (Resolution::FlatSix, _) => Some(Reason::Flat6TakesSharp11),
        (Resolution::ToTheDominant, _) => Some(Reason::Sharp11ToTheDominant),
        (_, Role::TritoneSubstitute(_)) => Some(Reason::TritoneSubstitute),
        (_, Role::Backdoor) => Some(Reason::Backdoor),
        _ => None,
    }
}

fn augmented(function: &Function) -> Rule {
    const THIRD: Reason = Reason::Flat3OfMinor;
    let key = function.key.mode;
    if let Some(reason) = leads_to_minor(function) {
        one(&ALTERED, reason)
    } else if key == Mode::Minor && function.above == 3 && function.resolution == Resolution::Rest {
        two((&IONIAN_AUGMENTED, THIRD), (&LYDIAN_AUGMENTED, THIRD))
    } else {
        NO_RULE
    }
}

fn minor(over: &Over) -> Rule {
    const FOURTH: Reason = Reason::FourOfMinor;
    let function = over.function;
    let dressed = over.sounding.contains(Six) || over.must_hold(Seven);
    if function.is_two {
        return one(&DORIAN, Reason::TwoOfTwoFive);
    }
    match over.chord.quality {
        Quality::MinorSixth if is_tonic(function) => {
            two((&MELODIC_MINOR, HOME_IN_MINOR), (&DORIAN, HOME_IN_MINOR))
        }
        Quality::MinorSixth => NO_RULE,
        Quality::Minor if is_tonic(function) && dressed => {
            two((&MELODIC_MINOR, DRESSED_IN_MINOR), (&DORIAN, HOME_IN_MINOR))
        }
        _ if is_tonic(function) => two((&DORIAN, HOME_IN_MINOR), (&AEOLIAN, HOME_IN_MINOR)),
        _ if function.key.mode == Mode::Minor && function.above == 5 => {
            two((&DORIAN, FOURTH), (&AEOLIAN, FOURTH))
        }
        _ if over.is_in_key() => NO_RULE,
        _ => one(&DORIAN, Reason::MinorFromOutside),
    }
}

fn is_tonic(function: &Function) -> bool {
    function.role == Role::Tonic
}

/// How a dominant or augmented chord leads to minor, if it does: it falls a fifth to a minor
/// chord, prepares the V of a minor key, or promises a minor chord and goes elsewhere.
fn leads_to_minor(function: &Function) -> Option<Reason> {
    match function.resolution {
        Resolution::FifthToMinor | Resolution::FifthToDiminished => Some(Reason::LeadsToMinor),
        Resolution::ToTheMinorDominant => Some(Reason::LeadsToDominantOfMinor),
        Resolution::DeceptiveFromMinor => Some(Reason::PromisesMinor),
        Resolution::Rest if function.key.mode == Mode::Minor && function.above == 7 => {
            Some(Reason::DominantOfMinor)
        }
        _ => None,
    }
}

/// Whether a diminished chord is the #i, the #iv or the vii of a chord in the key:
/// a half step below a degree that has a major or minor chord there.
fn leads_up(function: &Function) -> bool {
    match function.key.mode {
        Mode::Major | Mode::Blues => matches!(function.above, 1 | 4 | 6 | 8 | 11),
        Mode::Minor => matches!(function.above, 1 | 2 | 4 | 6 | 7 | 9 | 11),
    }
}

/// A pentatonic within a mode: five notes of the suggested scale, none of which is an avoid
/// note. The degree gives the place of its root over the root of the mode.
pub(super) struct Pentatonic {
    within: &'static [&'static Scale],
    /// Whether it is for suspended dominants. Otherwise it is for all other chords.
    suspended: bool,
    pub on: Degree,
    pub scale: &'static Scale,
    pub reason: Reason,
}

/// Common practice, no published source.
static PENTATONICS: [Pentatonic; 6] = [
    Pentatonic {
        within: &[&IONIAN, &LYDIAN, &MIXOLYDIAN, &LYDIAN_DOMINANT],
        suspended: false,
        on: Root,
        scale: &MAJOR_PENTATONIC,
        reason: Reason::WithoutFourthAndSeventh,
    },
    Pentatonic {
        within: &[&LYDIAN],
        suspended: false,
        on: Nine,
        scale: &MAJOR_PENTATONIC,
        reason: Reason::WholeStepUp,
    },
    Pentatonic {
        within: &[&ALTERED],
        suspended: false,
        on: Flat5,
        scale: &MAJOR_PENTATONIC,
        reason: Reason::TritoneAway,
    },
    Pentatonic {
        within: &[&MIXOLYDIAN],
        suspended: true,
        on: Five,
        scale: &MINOR_PENTATONIC,
        reason: Reason::FifthUpSuspended,
    },
    Pentatonic {
        within: &[&DORIAN, &AEOLIAN, &PHRYGIAN],
        suspended: false,
        on: Root,
        scale: &MINOR_PENTATONIC,
        reason: Reason::WithoutNinthAndThirteenth,
    },
    Pentatonic {
        within: &[&DORIAN, &AEOLIAN],
        suspended: false,
        on: Five,
        scale: &MINOR_PENTATONIC,
        reason: Reason::FifthUp,
    },
];

/// The pentatonics that players use within the suggested scale of a chord.
pub(super) fn pentatonics(
    quality: Quality,
    suggested: &Scale,
) -> impl Iterator<Item = &'static Pentatonic> {
    PENTATONICS
        .iter()
        .filter(move |p| p.suspended == quality.is_suspended() && p.within.contains(&suggested))
}

/// Why the blues scale of the key is played over a chord, if it is. It is played over I7, IV7
/// and V7 of a blues, and over a minor tonic.
pub(super) fn blues(quality: Quality, function: &Function) -> Option<Reason> {
    let minor = matches!(
        quality,
        Quality::Minor | Quality::MinorSeventh | Quality::MinorSixth
    );
    match function.key.mode {
        Mode::Blues if quality.is_dominant() && matches!(function.above, 0 | 5 | 7) => {
            Some(Reason::BluesThatRubs)
        }
        Mode::Minor if minor && is_tonic(function) => Some(Reason::Blues),
        _ => None,
    }
}
