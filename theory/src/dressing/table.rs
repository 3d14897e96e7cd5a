//! The table of dressings. Imports `name` and `tones`.

use super::name::Name;
use super::tones::Tones;
use crate::degree::Degree::{
    self, DoubleFlat7, Eleven, Five, Flat3, Flat5, Flat7, Flat9, Flat13, Four, Nine, Root, Seven,
    Sharp5, Sharp9, Sharp11, Six, Thirteen, Three,
};
use crate::quality::{ChordFamily, Quality};

/// How the table names a row.
#[derive(Clone, Copy, Debug)]
enum Says {
    Degrees(&'static [Degree]),
    Plain,
    Raised(Degree, Degree),
}

/// A row: one way to dress the chords of a family.
#[derive(Debug)]
pub(super) struct Row {
    /// Which chords it dresses.
    pub family: ChordFamily,
    /// What they become.
    pub quality: Quality,
    /// What sounds.
    pub tones: Tones,
    says: Says,
}

impl Row {
    /// What the dressing is called, where its degrees are called by these names.
    pub fn name(&self, change: impl Fn(Degree) -> Degree) -> Name {
        match self.says {
            Says::Degrees(degrees) => Name::Degrees(degrees.iter().copied().map(change).collect()),
            Says::Plain => Name::Plain,
            Says::Raised(from, to) => Name::Raised { from, to },
        }
    }
}

const fn row(
    family: ChordFamily,
    quality: Quality,
    says: Says,
    third: Degree,
    seventh: Degree,
    others: [Degree; 2],
) -> Row {
    Row {
        family,
        quality,
        says,
        tones: Tones {
            third,
            seventh,
            others,
            also: None,
        },
    }
}

/// A dominant with a ninth, and a thirteenth, eleventh or fifth.
const fn dominant(says: &'static [Degree; 2]) -> Row {
    let (family, says, others) = (ChordFamily::Dominant, Says::Degrees(says), *says);
    row(family, Quality::Dominant, says, Three, Flat7, others)
}

const fn suspended(says: &'static [Degree; 2]) -> Row {
    let (family, says, others) = (ChordFamily::Suspended, Says::Degrees(says), *says);
    row(
        family,
        Quality::DominantSuspended,
        says,
        Four,
        Flat7,
        others,
    )
}

const fn major(
    quality: Quality,
    says: &'static [Degree],
    seventh: Degree,
    others: [Degree; 2],
) -> Row {
    let says = Says::Degrees(says);
    row(ChordFamily::Major, quality, says, Three, seventh, others)
}

const fn minor(
    quality: Quality,
    says: &'static [Degree],
    seventh: Degree,
    others: [Degree; 2],
) -> Row {
    let says = Says::Degrees(says);
    row(ChordFamily::Minor, quality, says, Flat3, seventh, others)
}

const fn half_diminished(says: Says, others: [Degree; 2]) -> Row {
    let family = ChordFamily::HalfDiminished;
    row(family, Quality::HalfDiminished, says, Flat3, Flat7, others)
}

const fn diminished(says: Says, third: Degree, seventh: Degree, others: [Degree; 2]) -> Row {
    let (family, quality) = (ChordFamily::Diminished, Quality::DiminishedSeventh);
    row(family, quality, says, third, seventh, others)
}

/// Chord tones alone.
const fn plain(
    family: ChordFamily,
    quality: Quality,
    third: Degree,
    seventh: Degree,
    others: [Degree; 2],
) -> Row {
    row(family, quality, Says::Plain, third, seventh, others)
}

/// All dressings in which nothing moves while the chord sounds, in the order in which players
/// think of them (common practice, no published source).
pub(super) static TABLE: [Row; 37] = [
    dominant(&[Nine, Thirteen]),
    dominant(&[Flat9, Thirteen]),
    dominant(&[Flat9, Flat13]),
    dominant(&[Nine, Flat13]),
    dominant(&[Nine, Sharp11]),
    // Four notes leave the ninth out.
    Row {
        tones: Tones {
            third: Three,
            seventh: Flat7,
            others: [Sharp11, Thirteen],
            also: Some(Nine),
        },
        says: Says::Degrees(&[Nine, Sharp11, Thirteen]),
        ..dominant(&[Nine, Sharp11])
    },
    dominant(&[Sharp9, Flat13]),
    dominant(&[Sharp9, Thirteen]),
    dominant(&[Sharp9, Five]),
    dominant(&[Nine, Five]),
    plain(
        ChordFamily::Dominant,
        Quality::Dominant,
        Three,
        Flat7,
        [Root, Five],
    ),
    suspended(&[Nine, Thirteen]),
    suspended(&[Nine, Five]),
    suspended(&[Flat9, Five]),
    suspended(&[Flat9, Thirteen]),
    plain(
        ChordFamily::Suspended,
        Quality::DominantSuspended,
        Four,
        Flat7,
        [Root, Five],
    ),
    major(Quality::MajorSeventh, &[Nine], Seven, [Nine, Five]),
    major(Quality::Sixth, &[Six, Nine], Six, [Nine, Five]),
    major(
        Quality::MajorSeventh,
        &[Nine, Thirteen],
        Seven,
        [Nine, Thirteen],
    ),
    major(
        Quality::MajorSeventh,
        &[Nine, Sharp11],
        Seven,
        [Nine, Sharp11],
    ),
    major(
        Quality::MajorSeventh,
        &[Nine, Sharp5],
        Seven,
        [Nine, Sharp5],
    ),
    plain(
        ChordFamily::Major,
        Quality::MajorSeventh,
        Three,
        Seven,
        [Root, Five],
    ),
    plain(ChordFamily::Major, Quality::Sixth, Three, Six, [Root, Five]),
    minor(Quality::MinorSeventh, &[Nine], Flat7, [Nine, Five]),
    minor(
        Quality::MinorSeventh,
        &[Nine, Eleven],
        Flat7,
        [Nine, Eleven],
    ),
    minor(Quality::MinorSixth, &[Six, Nine], Six, [Nine, Five]),
    minor(
        Quality::MinorMajorSeventh,
        &[Seven, Nine],
        Seven,
        [Nine, Five],
    ),
    minor(Quality::MinorSeventh, &[Eleven], Flat7, [Eleven, Five]),
    plain(
        ChordFamily::Minor,
        Quality::MinorSeventh,
        Flat3,
        Flat7,
        [Root, Five],
    ),
    half_diminished(Says::Plain, [Root, Flat5]),
    half_diminished(Says::Degrees(&[Eleven]), [Eleven, Flat5]),
    half_diminished(Says::Degrees(&[Nine]), [Nine, Flat5]),
    diminished(Says::Plain, Flat3, DoubleFlat7, [Root, Flat5]),
    diminished(Says::Raised(Root, Nine), Flat3, DoubleFlat7, [Nine, Flat5]),
    diminished(
        Says::Raised(DoubleFlat7, Seven),
        Flat3,
        Seven,
        [Root, Flat5],
    ),
    diminished(
        Says::Raised(Flat5, Flat13),
        Flat3,
        DoubleFlat7,
        [Root, Flat13],
    ),
    diminished(
        Says::Raised(Flat3, Eleven),
        Eleven,
        DoubleFlat7,
        [Root, Flat5],
    ),
];
