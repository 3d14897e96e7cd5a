//! From chords to the harmonies of the standard. Imports `read` and the types of `kind`.

use super::{ALT, Change, Harmony, Kind, Step, change, counted, read};
use crate::chord::Chord;
use crate::degree::Degree;
use crate::pitch::NoteName;
use crate::quality::{Extent, Quality};

/// The harmony of a chord. A polychord becomes its lower chord with the notes of the triad
/// added. An altered dominant with written fifths or ninths becomes one without them, because
/// the standard cannot express more.
#[must_use]
pub fn to_kind(chord: &Chord) -> Harmony {
    let (kind, mut degrees) = kind_of(chord);
    let mut own = read::degrees_of(kind, &degrees);
    for degree in chord.written.iter() {
        let (value, alter) = counted(degree);
        // Degrees that `alt` implies are not repeated, nor is a natural extension that stays
        // beside its alteration.
        let altered_too = chord
            .written
            .iter()
            .any(|d| d != degree && counted(d).0 == value);
        if own.contains(degree) && (chord.quality == Quality::Altered || altered_too) {
            continue;
        }
        let natural = own.iter().find(|d| counted(*d) == (value, 0));
        let moved = natural.filter(|d| value != 7 && alter != 0 && !chord.written.contains(*d));
        if let Some(natural) = moved {
            own = own.without(natural);
        }
        let step = if moved.is_some() {
            Step::Alter
        } else {
            Step::Add
        };
        degrees.push(change(step, value, alter));
    }
    for degree in chord.omitted.iter() {
        degrees.push(change(Step::Subtract, counted(degree).0, 0));
    }
    Harmony {
        root: chord.root,
        kind,
        degrees,
        bass: chord.bass,
    }
}

/// The harmony of a silence, `N.C.`. The standard requires a root and ignores it.
#[must_use]
pub const fn no_chord() -> Harmony {
    Harmony {
        root: NoteName::from_fifths(0),
        kind: Kind::None,
        degrees: Vec::new(),
        bass: None,
    }
}

/// The kind for quality and extent, and the changes that turn it into them.
fn kind_of(chord: &Chord) -> (Kind, Vec<Change>) {
    use Extent::{Eleventh, Ninth, Plain, Thirteenth};
    let minor = match chord.extent {
        Plain => Kind::MinorSeventh,
        Ninth => Kind::MinorNinth,
        Eleventh => Kind::Minor11th,
        Thirteenth => Kind::Minor13th,
    };
    let dominant = match chord.extent {
        Plain => Kind::Dominant,
        Ninth => Kind::DominantNinth,
        Eleventh => Kind::Dominant11th,
        Thirteenth => Kind::Dominant13th,
    };
    let plain = chord.extent == Plain;
    match chord.quality {
        Quality::Major => (Kind::Major, vec![]),
        Quality::Sixth => (Kind::MajorSixth, vec![]),
        Quality::MajorSeventh => {
            let kind = match chord.extent {
                Plain => Kind::MajorSeventh,
                Ninth => Kind::MajorNinth,
                Eleventh => Kind::Major11th,
                Thirteenth => Kind::Major13th,
            };
            (kind, vec![])
        }
        Quality::Dominant => (dominant, vec![]),
        Quality::Altered => (Kind::Dominant, ALT.to_vec()),
        Quality::Suspended => (Kind::SuspendedFourth, vec![]),
        Quality::DominantSuspended if plain && !chord.omitted.contains(Degree::Flat7) => {
            (Kind::SuspendedFourth, vec![change(Step::Add, 7, 0)])
        }
        Quality::DominantSuspended => {
            let fourth = [change(Step::Subtract, 3, 0), change(Step::Add, 4, 0)];
            (dominant, fourth.to_vec())
        }
        Quality::SuspendedSecond => (Kind::SuspendedSecond, vec![]),
        Quality::Minor => (Kind::Minor, vec![]),
        Quality::MinorSixth => (Kind::MinorSixth, vec![]),
        Quality::MinorSeventh => (minor, vec![]),
        Quality::MinorMajorSeventh if plain => (Kind::MajorMinor, vec![]),
        Quality::MinorMajorSeventh => (minor, vec![change(Step::Alter, 7, 1)]),
        Quality::HalfDiminished if plain => (Kind::HalfDiminished, vec![]),
        Quality::HalfDiminished => (minor, vec![change(Step::Alter, 5, -1)]),
        Quality::Diminished => (Kind::Diminished, vec![]),
        Quality::DiminishedSeventh => (Kind::DiminishedSeventh, vec![]),
        Quality::Augmented => (Kind::Augmented, vec![]),
        Quality::Power => (Kind::Power, vec![]),
    }
}
