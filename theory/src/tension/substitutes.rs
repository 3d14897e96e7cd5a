//! What takes the place of a degree that the melody speaks against, family by family. Imports
//! `chord` and `degree`; `agree` imports it.

use crate::chord::Chord;
use crate::degree::Degree::{
    self, Eleven, Five, Flat5, Flat9, Flat13, Nine, Root, Sharp5, Sharp9, Sharp11, Thirteen,
};
use crate::quality::{ChordFamily, Quality};

/// Degrees that can take a place, each list in the order of preference.
pub(super) struct Substitutes {
    /// Degrees that are taken if the melody plays them.
    pub(super) of_its_kind: &'static [Degree],
    /// Degrees that are taken otherwise.
    pub(super) otherwise: &'static [Degree],
}

impl Substitutes {
    /// What can take the place of a degree in a chord. The chord is dark if it has a b13 or #5.
    /// Common practice, no published source.
    pub(super) fn of(degree: Degree, chord: &Chord, dark: bool) -> Substitutes {
        let (of_its_kind, otherwise) = match chord.quality.family() {
            ChordFamily::Dominant if chord.quality == Quality::Altered => altered(degree),
            ChordFamily::Dominant if chord.degrees().contains(Eleven) => suspended(degree),
            ChordFamily::Dominant => dominant(degree, dark),
            ChordFamily::Suspended => suspended(degree),
            ChordFamily::Major => major(degree),
            ChordFamily::Minor => minor(degree),
            ChordFamily::HalfDiminished | ChordFamily::Diminished => diminished(degree, chord),
        };
        Substitutes {
            of_its_kind,
            otherwise,
        }
    }
}

type Lists = (&'static [Degree], &'static [Degree]);

const fn dominant(degree: Degree, dark: bool) -> Lists {
    match degree {
        Flat9 => (&[Nine], &[Root]),
        Nine => (&[Flat9, Sharp9], &[Flat9, Root]),
        Sharp9 if dark => (&[Nine], &[Flat9, Nine, Root]),
        Sharp9 => (&[Nine], &[Nine, Flat9, Root]),
        Sharp11 | Flat5 => (&[], &[Thirteen, Five]),
        Five => (&[Sharp11, Flat13], &[Thirteen]),
        Flat13 | Sharp5 => (&[Thirteen, Five], &[Five]),
        Thirteen => (&[Flat13], &[Five, Root]),
        _ => (&[], &[]),
    }
}

/// No natural 5, 9 or 13.
const fn altered(degree: Degree) -> Lists {
    match degree {
        Flat9 => (&[], &[Root]),
        Sharp9 => (&[], &[Flat9, Root]),
        Flat13 => (&[], &[Sharp11]),
        _ => (&[], &[]),
    }
}

const fn suspended(degree: Degree) -> Lists {
    match degree {
        Flat9 => (&[Nine], &[Root]),
        Nine => (&[Flat9], &[Root]),
        Five => (&[], &[Thirteen, Root]),
        Flat13 => (&[Thirteen, Five], &[Five, Root]),
        Thirteen => (&[], &[Five, Root]),
        _ => (&[], &[]),
    }
}

const fn major(degree: Degree) -> Lists {
    match degree {
        Flat9 | Nine | Sharp9 => (&[], &[Thirteen, Root]),
        Five => (&[Sharp11], &[Thirteen, Root]),
        Eleven | Sharp11 | Flat5 | Sharp5 | Thirteen | Flat13 => (&[], &[Five, Root]),
        _ => (&[], &[]),
    }
}

const fn minor(degree: Degree) -> Lists {
    match degree {
        Flat9 | Nine => (&[], &[Root, Eleven]),
        Five => (&[], &[Eleven, Root]),
        Eleven | Sharp11 | Flat5 | Sharp5 | Thirteen | Flat13 => (&[], &[Five, Root]),
        _ => (&[], &[]),
    }
}

fn diminished(degree: Degree, chord: &Chord) -> Lists {
    let half = chord.quality == Quality::HalfDiminished;
    match degree {
        Root | Flat5 if half => (&[], &[Eleven]),
        Flat9 | Nine | Eleven | Thirteen | Flat13 => (&[], &[Root]),
        _ => (&[], &[]),
    }
}
