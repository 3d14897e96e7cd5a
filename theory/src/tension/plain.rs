//! Chords that are not dominants: what the symbol says, what the chord takes by itself,
//! and what the player asks of it. Imports `choices`, `requests` and `over_bass`.

use super::choices::{NINTHS, Tensions, append, written_first};
use super::over_bass;
use super::reason::Reason;
use super::requests::{
    MajorEleventhRequest, MajorTonicRequest, MinorEleventhRequest, MinorTonicRequest,
    PlainNinthRequest, TensionRequests,
};
use crate::chord::Chord;
use crate::degree::Degree::{
    self, DoubleFlat7, Eleven, Five, Flat5, Flat7, Flat13, Nine, Root, Seven, Sharp5, Sharp11, Six,
    Thirteen,
};
use crate::degree::DegreeSet;
use crate::key::{Function, Role};
use crate::quality::{Extent, Quality};

/// Whether a chord takes nothing by itself. This is so for a chord without a third, a triad
/// with an added note, and a triad over a bass that makes no other chord of it.
pub(super) fn is_bare(chord: &Chord) -> bool {
    let triad = matches!(
        chord.quality,
        Quality::Major
            | Quality::Minor
            | Quality::Diminished
            | Quality::Augmented
            | Quality::SuspendedSecond
    );
    let added = chord.written.iter().any(|d| d.family().is_some());
    let stated = chord.degrees();
    let foreign = chord
        .bass
        .is_some_and(|bass| !stated.iter().any(|d| d.class(chord.root) == bass.class()));
    chord.third().is_none() || triad && chord.seventh().is_none() && (added || foreign)
}

/// A chord with the degrees that its symbol states and nothing else. A fifth takes the place of
/// a missing third, and the root that of a missing seventh.
pub(super) fn bare(chord: &Chord) -> Tensions {
    const FIFTHS: [Degree; 3] = [Five, Flat5, Sharp5];
    let stated = chord.degrees();
    let fifth = FIFTHS.into_iter().find(|d| stated.contains(*d));
    let third = chord.third().or(fifth);
    let seventh = chord.seventh().or(Some(Root));
    let mut others = written_first(chord);
    let tones = [Nine, Five, Flat5, Sharp5, Root, Eleven, Thirteen];
    append(
        &mut others,
        tones.into_iter().filter(|d| stated.contains(*d)),
    );
    others.retain(|d| Some(*d) != third && Some(*d) != seventh);
    if others.is_empty() {
        // There are only two notes, so the right hand of two doubles them.
        append(&mut others, third.into_iter().chain(seventh));
    }
    Tensions {
        third,
        seventh,
        others,
        rank: 0,
        reason: Reason::AsWritten,
    }
}

/// A chord whose tensions do not depend on where it goes.
pub(super) fn plain(chord: &Chord, function: &Function, requests: TensionRequests) -> Tensions {
    let (seventh, reason) = seventh(chord, function, requests);
    let third = chord.third();
    let stated = chord.degrees();
    let sixth = seventh == Some(Six);
    // A degree that is written altered does not sound natural as well.
    let clashes = |degree: Degree| match degree {
        Nine => stated.intersects(NINTHS.without(Nine)),
        Eleven => stated.contains(Sharp11),
        Five => stated.intersects(DegreeSet::of(&[Flat5, Sharp5])),
        Thirteen => sixth || stated.contains(Flat13),
        _ => false,
    };
    let mut others = written_first(chord);
    let asked = asked(chord, requests).into_iter().flatten();
    append(&mut others, asked.filter(|d| !clashes(*d)));
    let takes = takes(chord, function, requests).iter().copied();
    append(&mut others, takes.filter(|d| !clashes(*d)));
    if requests.minor_eleventh == MinorEleventhRequest::None {
        others.retain(|d| *d != Eleven || stated.contains(Eleven));
    }
    others.retain(|d| Some(*d) != third && Some(*d) != seventh);
    Tensions {
        third,
        seventh,
        others,
        rank: 0,
        reason,
    }
}

/// The degree in the seventh's slot, with the reason: the seventh or sixth of the symbol, the
/// one that a triad takes, or the one that is asked for a tonic.
fn seventh(
    chord: &Chord,
    function: &Function,
    requests: TensionRequests,
) -> (Option<Degree>, Reason) {
    let as_written = if chord.degrees().contains(Nine) {
        Reason::AsWritten
    } else {
        Reason::AsUsual
    };
    if let Some((asked, reason)) = asked_seventh(chord, function, requests) {
        return (Some(asked), reason);
    }
    let written = chord.seventh();
    if written.is_some() {
        return (written, as_written);
    }
    let tonic = function.role == Role::Tonic;
    match chord.quality {
        Quality::Major => (Some(Six), Reason::MajorTriad),
        Quality::Minor if tonic => (Some(Six), Reason::MinorTonic),
        Quality::Minor => (Some(Flat7), Reason::MinorTriad),
        Quality::Diminished => (Some(DoubleFlat7), Reason::DiminishedTriad),
        Quality::SuspendedSecond => (Some(Six), Reason::SuspendedSecond),
        // There is no seventh, so the altered fifth is the guide tone.
        Quality::Augmented => (Some(Sharp5), as_written),
        _ => (None, as_written),
    }
}

/// The sixth or seventh that the player asks of a tonic. It replaces the one that a plain triad
/// takes, and the sixth or seventh of a plain symbol, because players take C6 and Cmaj7, or
/// Cm6, Cm7 and Cm(maj7), for one another. A symbol that writes more (Cmaj9, C6/9, Cmaj7#5)
/// keeps what it says. So does a symbol over a bass that is its seventh, or that lies a half
/// step from the requested degree.
fn asked_seventh(
    chord: &Chord,
    function: &Function,
    requests: TensionRequests,
) -> Option<(Degree, Reason)> {
    let plain = chord.extent == Extent::Plain
        && chord.written.is_empty()
        && chord.omitted.is_empty()
        && chord.upper.is_none();
    let tonic = function.role == Role::Tonic;
    let (degree, reason) = match chord.quality {
        Quality::Major | Quality::Sixth | Quality::MajorSeventh => match requests.major_tonic {
            MajorTonicRequest::Six if tonic => (Six, Reason::AskedSixth),
            MajorTonicRequest::Seven if tonic => (Seven, Reason::AskedSeventh),
            _ => return None,
        },
        Quality::Minor
        | Quality::MinorSixth
        | Quality::MinorSeventh
        | Quality::MinorMajorSeventh
            if tonic =>
        {
            match requests.minor_tonic {
                MinorTonicRequest::ByContext => return None,
                MinorTonicRequest::Six => (Six, Reason::AskedSixth),
                MinorTonicRequest::Flat7 => (Flat7, Reason::AskedMinorSeventh),
                MinorTonicRequest::Seven => (Seven, Reason::AskedMajorSeventh),
            }
        }
        _ => return None,
    };
    let written = chord.seventh();
    if !plain || written == Some(degree) {
        return None;
    }
    let over_its_seventh = chord
        .bass
        .is_some_and(|bass| written.is_some_and(|d| d.class(chord.root) == bass.class()));
    let refused = over_its_seventh || over_bass::is_against(chord, degree);
    (!refused).then_some((degree, reason))
}

/// The requested ninth and eleventh, the eleventh first, because its place is the fifth's slot.
/// A chord with a written second needs no ninth. A request does not affect chords that have no
/// such family.
fn asked(chord: &Chord, requests: TensionRequests) -> [Option<Degree>; 2] {
    let eleventh = match chord.quality {
        Quality::Minor
        | Quality::MinorSixth
        | Quality::MinorSeventh
        | Quality::MinorMajorSeventh
        | Quality::HalfDiminished
            if requests.minor_eleventh == MinorEleventhRequest::Eleven =>
        {
            Some(Eleven)
        }
        Quality::Major | Quality::Sixth | Quality::MajorSeventh
            if requests.major_eleventh == MajorEleventhRequest::Sharp11
                && !chord.degrees().intersects(DegreeSet::of(&[Eleven, Flat5])) =>
        {
            Some(Sharp11)
        }
        _ => None,
    };
    let second = chord.quality == Quality::SuspendedSecond;
    let ninth = (requests.plain_ninth == PlainNinthRequest::Nine && !second).then_some(Nine);
    [eleventh, ninth]
}

/// The degrees that a chord takes by itself, the most needed first.
fn takes(chord: &Chord, function: &Function, requests: TensionRequests) -> &'static [Degree] {
    let ninth = match requests.plain_ninth {
        _ if chord.degrees().contains(Nine) => true,
        PlainNinthRequest::None => false,
        PlainNinthRequest::Nine => true,
        PlainNinthRequest::ByContext => {
            !over_bass::is_against(chord, Nine) && !is_outside(chord, function)
        }
    };
    match (chord.quality, ninth) {
        (
            Quality::Minor
            | Quality::MinorSeventh
            | Quality::MinorMajorSeventh
            | Quality::MinorSixth,
            true,
        ) => &[Nine, Five, Eleven, Root],
        (
            Quality::Minor
            | Quality::MinorSeventh
            | Quality::MinorMajorSeventh
            | Quality::MinorSixth,
            false,
        ) => &[Five, Root, Eleven],
        // The eleventh comes after the root. A ninth comes only on request.
        (Quality::HalfDiminished, _) => &[Root, Eleven],
        (Quality::Diminished | Quality::DiminishedSeventh, true) => &[Root, Nine],
        (Quality::Diminished | Quality::DiminishedSeventh, false) => &[Root],
        (Quality::Augmented, true) => &[Nine, Root],
        (Quality::Augmented, false) => &[Root],
        (Quality::SuspendedSecond, _) => &[Five, Root],
        (_, true) => &[Nine, Five, Thirteen, Root],
        (_, false) => &[Five, Root, Thirteen],
    }
}

/// Whether a minor chord is at home on a degree whose scale has no natural
/// ninth, such as the iii of a major key, and is not on its way as a ii.
fn is_outside(chord: &Chord, function: &Function) -> bool {
    matches!(chord.quality, Quality::Minor | Quality::MinorSeventh)
        && function.role == Role::Diatonic
        && !function.is_two
        && !function.key.notes().contains(Nine.class(chord.root))
}
