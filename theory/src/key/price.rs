//! What it costs to hear a chord in a key, and to hear the key change. A chord at home costs
//! nothing, a chord with an everyday part little, and a stranger much. Common practice, no
//! published source. Imports `hear`, `roles`, `tonality` and `rooted`.

use super::Mode;
use super::hear::{Around, RoleInKey, is_two};
use super::roles::{Case, Numeral, Resolution, Role};
use super::rooted::RootedChord;
use super::tonality::Tonality;
use crate::quality::{ChordFamily, Quality};

/// The factor from the points of a chord to its price. For a chord that lasts a bar it is 3.
pub(super) const fn weight(quarters: u32) -> i32 {
    match quarters {
        0..=1 => 1,
        2 => 2,
        3..=4 => 3,
        5..=8 => 5,
        9..=12 => 7,
        13..=16 => 10,
        _ => 16,
    }
}

/// The price of a change of key, without the part that depends on how the keys are related.
const MODULATION: i32 = 14;

/// The discount for a change back to the home of the chart.
pub(super) const HOMEWARD: i32 = 4;

/// The discount for the tonic chord of the chart's home.
pub(super) const COMING_HOME: i32 = 4;

/// The extra price of leaving the home of a chart that is a blues.
pub(super) const FROM_BLUES: i32 = 4;

/// The extra price of the minor keys on ii and iii of a major key.
const TONICISED: i32 = 6;

/// The extra price of the minor key on iv of a minor key. Every minor blues visits that iv and
/// stays in its key.
const TO_MINOR_FOUR: i32 = 9;

/// What a new key costs, by the semitones of its tonic above that of the old key.
pub(super) fn modulation(up: u8, from: Mode, to: Mode) -> i32 {
    let minor = |mode| mode == Mode::Minor;
    let relation = match (up, minor(from), minor(to)) {
        (0, false, false) if from == to => return 0,
        (0, true, true) => return 0,
        // The parallel key, and the relative one.
        (0, ..) => 0,
        (9, false, true) => 2,
        (3, true, false) => 0,
        // These are the goals of everyday secondary dominants. A visit to them makes no key.
        (2 | 4, false, true) => TONICISED,
        (5, true, true) => TO_MINOR_FOUR,
        (5 | 7, a, b) if a == b => 1,
        _ => 2,
    };
    MODULATION + relation
}

/// For the tonic when its dominant leads to it.
const ARRIVAL: i32 = -6;
/// For a minor tonic that stays two bars after its iiø and V.
const STAYS: i32 = -6;
/// For the tonic at the start of the chart, and at its end.
const START: i32 = -6;
const END: i32 = -3;
/// For a key that the chart may not begin in.
const NO_START: i32 = 1_000;

/// Whether a chart with this first chord may begin in a key. A chart that begins with a major
/// seventh begins in the key of that chord, unless the chord is IV or bII of the home, or bVI
/// of a home in minor. The home is the key that lasts longest, once it is known.
pub(super) fn may_begin(first: RootedChord, key: Tonality, home: Option<Tonality>) -> bool {
    if first.quality != Quality::MajorSeventh {
        return true;
    }
    let from_home = match (key.mode, first.above(key.tonic)) {
        (_, 1) | (Mode::Major | Mode::Blues, 5) | (Mode::Minor, 8) => home == Some(key),
        _ => false,
    };
    from_home || key.mode == Mode::Major && key.is_tonic(first)
}

/// What the start of the chart says in favour of a key.
pub(super) fn start(around: &Around, key: Tonality, home: Option<Tonality>) -> i32 {
    let first = around.here;
    if !may_begin(first, key, home) {
        NO_START
    } else if !key.is_tonic(first) {
        0
    } else if first.quality == Quality::MajorSeventh {
        // The chord before the repeat does not tell in which key the chart begins.
        -arrival(around, key)
    } else if first.quality == Quality::Sixth {
        START + START / 2
    } else if is_two(around) {
        START / 2
    } else {
        START
    }
}

/// What the end of the chart says in favour of a key.
pub(super) fn end(last: RootedChord, key: Tonality) -> i32 {
    if key.is_tonic(last) { END } else { 0 }
}

/// Whether a dominant of the key, or what stands for it, leads to its tonic.
pub(super) fn is_cadence(from: RootedChord, to: RootedChord, key: Tonality) -> bool {
    let dominant = match from.family {
        ChordFamily::Dominant => match from.above(key.tonic) {
            7 | 1 => true,
            10 => key.mode != Mode::Minor,
            _ => false,
        },
        ChordFamily::Major => {
            let triad = matches!(from.quality, Quality::Major | Quality::Augmented);
            triad && from.above(key.tonic) == 7
        }
        ChordFamily::Diminished => from.above(key.tonic) == 11,
        _ => false,
    };
    dominant && key.is_tonic(to)
}

/// The price of a cadence at its last chord. It does not depend on how long the chord lasts.
pub(super) fn arrival(around: &Around, key: Tonality) -> i32 {
    let arrives = around
        .before
        .is_some_and(|before| is_cadence(before, around.here, key));
    let strong = match around.here.quality {
        // A minor seventh after its dominant is as often the ii or iii of a major key.
        Quality::MinorSeventh if !(around.is_long && is_called(around)) => 6,
        Quality::MinorSeventh | Quality::Dominant | Quality::Altered => 2,
        Quality::MajorSeventh
        | Quality::Sixth
        | Quality::MinorSixth
        | Quality::MinorMajorSeventh => -2,
        _ => 0,
    };
    let stays = if around.is_long && is_called(around) {
        STAYS
    } else {
        0
    };
    // A plain V could also be the I of a IV.
    let plain = if around
        .before
        .is_some_and(|five| five.is(ChordFamily::Major))
    {
        3
    } else {
        0
    };
    if arrives {
        ARRIVAL + strong + stays + plain
    } else {
        0
    }
}

/// Whether the key has a chord of this kind on this degree. The bII of minor counts, and so
/// does v, which is the ii of IV.
const fn is_own(numeral: Numeral, mode: Mode) -> bool {
    matches!(
        (mode, numeral.above, numeral.case),
        (_, 7, _)
            | (Mode::Major | Mode::Blues, 2 | 4 | 9, Case::Lower)
            | (Mode::Major | Mode::Blues, 0 | 5, Case::Upper)
            | (Mode::Minor, 0 | 2 | 5, Case::Lower)
            | (Mode::Minor, 1 | 3 | 8 | 10, Case::Upper)
    )
}

/// Extra points for each chord in a key whose tonic never sounds in the chart.
pub(super) const WITHOUT_TONIC: i32 = 1;

/// Points for a chord in a key, 0 to 12.
pub(super) fn points(around: &Around, heard: RoleInKey, key: Tonality) -> i32 {
    let here = around.here;
    let above = here.above(key.tonic);
    let minor = key.mode == Mode::Minor;
    match heard.role {
        // A minor chord that leads to a major cadence is its ii.
        Role::Tonic if minor && heard.is_two && lands(around) && !around.is_long => 2,
        Role::Tonic => tonic(here, key),
        Role::Two => match (here.family, minor) {
            (ChordFamily::HalfDiminished, true) | (ChordFamily::Minor, false) => 0,
            _ => 2,
        },
        Role::Dominant => dominant(around, heard.resolution, key),
        Role::Home => dominant_at_home(around, key),
        Role::Diatonic => diatonic(here, above, minor),
        Role::SecondaryDominant(to) => secondary(to, heard.resolution, key),
        Role::RelatedTwo(of) => match (is_own(of, key.mode), lands(around)) {
            (true, true) => 2,
            (true, false) => 3,
            _ => 4,
        },
        Role::TritoneSubstitute(to) => substitute(to, around, heard.resolution, key),
        Role::SubstituteTwo => 3,
        Role::Backdoor | Role::BackdoorTwo => 1,
        Role::FlatSix if minor => 1,
        Role::FlatSix => 2,
        Role::LeadingTone => 1,
        Role::PassingDiminished | Role::CommonToneDiminished => 2,
        Role::Borrowed => borrowed(around, key),
        Role::Chromatic => chromatic(around, key),
    }
}

/// Whether a minor chord comes after its iiø and V.
fn is_called(around: &Around) -> bool {
    let calls =
        |two: RootedChord| two.is(ChordFamily::HalfDiminished) && two.above(around.here.class) == 2;
    around.here.is(ChordFamily::Minor) && around.earlier.is_some_and(calls)
}

/// Whether the next chord is the tonic, or the major IV.
fn goes_home(around: &Around, key: Tonality) -> bool {
    around.next.is_some_and(|next| {
        key.is_tonic(next) || next.is(ChordFamily::Major) && next.above(key.tonic) == 5
    })
}

/// Whether the chord after a ii falls on by a fifth.
fn lands(around: &Around) -> bool {
    let falls = around.next.zip(around.after);
    falls.is_some_and(|(five, after)| after.class.above(five.class) == 5)
}

/// Whether a chord comes after its own dominant, as a tonic does.
fn is_led_to(around: &Around) -> bool {
    let leads =
        |five: RootedChord| five.is(ChordFamily::Dominant) && five.above(around.here.class) == 7;
    around.here.is(ChordFamily::Major) && around.before.is_some_and(leads)
}

fn tonic(here: RootedChord, key: Tonality) -> i32 {
    match (key.mode, here.family) {
        // A major seventh is seldom the tonic of a blues.
        (Mode::Blues, ChordFamily::Major) => match here.quality {
            Quality::MajorSeventh => 6,
            _ => 2,
        },
        _ => 0,
    }
}

fn dominant(around: &Around, resolution: Resolution, key: Tonality) -> i32 {
    let home = around.next.is_some_and(|next| key.is_tonic(next));
    match resolution {
        _ if home => 0,
        Resolution::FifthToMajor | Resolution::FifthToMinor => 2,
        Resolution::FifthToDominant => 2,
        _ => 1,
    }
}

fn secondary(to: Numeral, resolution: Resolution, key: Tonality) -> i32 {
    let own = is_own(to, key.mode);
    match resolution {
        Resolution::ToTheDominant | Resolution::ToTheMinorDominant => 2,
        Resolution::FifthToDominant => 3,
        Resolution::DeceptiveFromMajor
        | Resolution::DeceptiveFromMinor
        | Resolution::DeceptiveFromTwo
            if own =>
        {
            3
        }
        Resolution::DeceptiveFromMajor
        | Resolution::DeceptiveFromMinor
        | Resolution::DeceptiveFromTwo => 4,
        _ if own => 2,
        _ => 5,
    }
}

fn diatonic(here: RootedChord, above: u8, minor: bool) -> i32 {
    match (minor, above, here.family) {
        // The sixth of a minor sixth chord is not in the key there.
        (false, 4 | 9, _) if here.quality == Quality::MinorSixth => 3,
        (false, 2 | 4 | 5 | 7 | 9, _) => 1,
        (true, 0, _) => 4,
        (true, 3 | 5 | 8, _) => 1,
        (true, 7 | 9, ChordFamily::Minor | ChordFamily::HalfDiminished) => 3,
        (true, ..) => 2,
        _ => 3,
    }
}

/// Points for a dominant at home, such as the I7 of a blues.
fn dominant_at_home(around: &Around, key: Tonality) -> i32 {
    // A written b9 or b13 leads on.
    if around.here.is_dark {
        return 8;
    }
    let is_four = around.here.above(key.tonic) == 5;
    match key.mode {
        Mode::Blues => 0,
        // The IV7 of a Dorian vamp.
        Mode::Minor if is_four && around.next.is_some_and(|n| key.is_tonic(n)) => 1,
        Mode::Minor if is_four => 2,
        _ if is_four => 3,
        _ => 5,
    }
}

/// Points for the tritone substitute of the dominant of `to`.
fn substitute(to: Numeral, around: &Around, resolution: Resolution, key: Tonality) -> i32 {
    if to.above == 0 {
        return match resolution {
            Resolution::HalfStep => 1,
            _ => 3,
        };
    }
    // Dominants may slide by half steps.
    let slides = || around.next.is_some_and(|n| n.is(ChordFamily::Dominant));
    if is_own(to, key.mode) || slides() {
        2
    } else {
        4
    }
}

fn borrowed(around: &Around, key: Tonality) -> i32 {
    let here = around.here;
    let above = here.above(key.tonic);
    let minor = key.mode == Mode::Minor;
    if is_led_to(around) {
        return borrowed_degree(here, above, minor) + 3;
    }
    // v before IV, the ii of its missing dominant.
    if here.is(ChordFamily::Minor) && above == 7 && !minor && goes_home(around, key) {
        return 3;
    }
    // bVII, IV, I in plain chords.
    if here.quality == Quality::Major && above == 10 && goes_home(around, key) {
        return 1;
    }
    // A minor chord on bVII that stays is a tonic of its own.
    if minor && above == 10 && here.is(ChordFamily::Minor) && around.is_long {
        return 8;
    }
    borrowed_degree(here, above, minor)
}

fn chromatic(around: &Around, key: Tonality) -> i32 {
    let above = around.here.above(key.tonic);
    match around.here.family {
        // The Neapolitan is at home in minor, even with a dominant of its own.
        ChordFamily::Major if above == 1 && key.mode == Mode::Minor => 3,
        ChordFamily::Major if above == 1 && around.next.is_some_and(|next| key.is_tonic(next)) => 2,
        ChordFamily::Major if above == 1 && !is_led_to(around) => 4,
        ChordFamily::Major | ChordFamily::Minor => 8,
        _ => 6,
    }
}

fn borrowed_degree(here: RootedChord, above: u8, minor: bool) -> i32 {
    match (minor, above, here.family) {
        (false, 5, ChordFamily::Minor) | (false, 2, ChordFamily::HalfDiminished) => 3,
        (false, 0, ChordFamily::Minor) => 8,
        (false, 7, ChordFamily::Minor) => 6,
        (false, 3 | 8 | 10, ChordFamily::Major) => 3,
        _ => 5,
    }
}
