//! The chord that names what sounds. Imports `chord` and what is above it.

use crate::chord::Chord;
use crate::degree::Degree::{
    self, DoubleFlat7, Eleven, Flat3, Flat7, Flat9, Four, Nine, Seven, Sharp9, Six, Thirteen, Three,
};
use crate::degree::DegreeSet;
use crate::quality::{Extent, Quality};

/// The chord as it sounds: the symbol with the tensions that a voicing adds, without the
/// degrees that it leaves out.
#[must_use]
pub fn sounding(chord: &Chord, degrees: DegreeSet) -> Chord {
    // The result is one chord, even if the symbol writes a triad over another one.
    let mut sounding = Chord {
        upper: None,
        ..*chord
    };
    if chord.upper.is_some() && chord.bass.is_some_and(|b| b.class() == chord.root.class()) {
        sounding.bass = None;
    }
    sounding.quality = quality(chord, degrees);
    let stated = chord.degrees();
    // The eleventh of a dominant with a thirteenth is called a suspension.
    let suspended = chord.quality == Quality::Dominant
        && stated.contains(Eleven)
        && stated.union(degrees).contains(Thirteen)
        && degrees.contains(Eleven)
        && !degrees.contains(Three);
    if suspended {
        sounding.quality = Quality::DominantSuspended;
        sounding.written = sounding.written.without(Eleven);
        sounding.extent = match sounding.extent {
            Extent::Eleventh => Extent::Ninth,
            extent => extent,
        };
    }
    let tensions = degrees.iter().filter(|d| d.family().is_some());
    let mut added: DegreeSet = tensions.collect::<DegreeSet>().minus(stated);
    if sounding.quality.row().extended.is_some() {
        let natural = |d: Degree| added.contains(d) || stated.contains(d);
        let dark_ninth = DegreeSet::of(&[Flat9, Sharp9]).intersects(added.union(chord.written));
        let eleventh = sounding.quality.is_minor() || sounding.quality == Quality::Dominant;
        let extent = if natural(Thirteen) && !dark_ninth {
            Extent::Thirteenth
        } else if natural(Eleven) && natural(Nine) && eleventh {
            Extent::Eleventh
        } else if natural(Nine) {
            Extent::Ninth
        } else {
            Extent::Plain
        };
        let spoken = match extent {
            Extent::Plain => DegreeSet::EMPTY,
            Extent::Ninth => DegreeSet::of(&[Nine]),
            Extent::Eleventh => DegreeSet::of(&[Nine, Eleven]),
            Extent::Thirteenth => DegreeSet::of(&[Nine, Thirteen]),
        };
        if extent > sounding.extent {
            sounding.extent = extent;
            sounding.written = sounding.written.minus(spoken);
        }
        if sounding.extent >= extent {
            added = added.minus(spoken);
        }
    }
    sounding.written = sounding.written.union(added);
    sounding
}

/// The chord with the sixth or seventh that sounds in place of its own, if one does: for
/// scales, a Cm7 that takes its sixth is a Cm6. Any other chord stays as it was.
#[must_use]
pub fn with_seventh(chord: &Chord, degrees: DegreeSet) -> Chord {
    let silent = chord.seventh().is_some_and(|d| !degrees.contains(d));
    if silent {
        Chord {
            quality: quality(chord, degrees),
            ..*chord
        }
    } else {
        *chord
    }
}

/// The quality of what sounds: that of a triad with the sixth or seventh that it takes, or of a
/// tonic with the one that was requested in place of its own. A chord whose third or seventh has
/// yielded to a melody is called by what sounds in its place.
fn quality(chord: &Chord, degrees: DegreeSet) -> Quality {
    let seventh_is = |d: Degree| degrees.contains(d) && !degrees.contains(Flat7);
    let suspended = degrees.contains(Four) && !DegreeSet::of(&[Three, Flat3]).intersects(degrees);
    match chord.quality {
        Quality::Dominant | Quality::MinorSeventh if suspended && degrees.contains(Flat7) => {
            Quality::DominantSuspended
        }
        Quality::Dominant if seventh_is(Six) => Quality::Sixth,
        Quality::Sixth if degrees.contains(Flat7) => Quality::Dominant,
        Quality::HalfDiminished if seventh_is(DoubleFlat7) => Quality::DiminishedSeventh,
        Quality::DiminishedSeventh if degrees.contains(Flat7) => Quality::HalfDiminished,
        Quality::Major | Quality::MajorSeventh if degrees.contains(Six) => Quality::Sixth,
        Quality::Major | Quality::Sixth if degrees.contains(Seven) => Quality::MajorSeventh,
        Quality::Minor | Quality::MinorSeventh | Quality::MinorMajorSeventh
            if degrees.contains(Six) =>
        {
            Quality::MinorSixth
        }
        Quality::Minor | Quality::MinorSixth | Quality::MinorMajorSeventh
            if degrees.contains(Flat7) =>
        {
            Quality::MinorSeventh
        }
        Quality::Minor | Quality::MinorSixth | Quality::MinorSeventh if degrees.contains(Seven) => {
            Quality::MinorMajorSeventh
        }
        Quality::Diminished if degrees.contains(DoubleFlat7) => Quality::DiminishedSeventh,
        Quality::Suspended if degrees.contains(Flat7) => Quality::DominantSuspended,
        Quality::Altered => Quality::Dominant,
        quality => quality,
    }
}
