//! The chord qualities, as a table of rows in musicians' words. Alterations and
//! extensions belong to the chord, not to its quality. Imports `degree`.

use crate::degree::Degree::{
    self, DoubleFlat7, Five, Flat3, Flat5, Flat7, Four, Root, Seven, Sharp5, Six, Three, Two,
};
use crate::degree::DegreeSet;

/// What a chord is before extensions and alterations.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Quality {
    /// C
    Major,
    /// C6
    Sixth,
    /// Cmaj7
    MajorSeventh,
    /// C7
    Dominant,
    /// C7alt: no natural 5, 9 or 13
    Altered,
    /// Csus4
    Suspended,
    /// C7sus4
    DominantSuspended,
    /// Csus2
    SuspendedSecond,
    /// Cm
    Minor,
    /// Cm6
    MinorSixth,
    /// Cm7
    MinorSeventh,
    /// Cm(maj7)
    MinorMajorSeventh,
    /// Cm7b5
    HalfDiminished,
    /// Cdim
    Diminished,
    /// Cdim7
    DiminishedSeventh,
    /// Caug
    Augmented,
    /// C5
    Power,
}

/// How many thirds the symbol stacks: `7`, `9`, `11` or `13`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Extent {
    /// No natural extension is written.
    #[default]
    Plain,
    /// `9`
    Ninth,
    /// `11`, with the ninth
    Eleventh,
    /// `13`, with the ninth. It has the eleventh too unless a major third would clash with it.
    Thirteenth,
}

/// What chords of several qualities have in common: which chords they can follow, lead to and
/// replace.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ChordFamily {
    /// A major third or no third, in a chord that is not a dominant.
    Major,
    /// A major third and a minor seventh.
    Dominant,
    /// Dominants with a fourth in place of their third.
    Suspended,
    /// A minor third and a perfect fifth.
    Minor,
    /// A diminished triad with a minor seventh.
    HalfDiminished,
    /// A diminished triad, with its seventh or without one.
    Diminished,
}

/// A row of the table of qualities.
#[derive(Debug)]
pub struct QualityRow {
    /// The quality that the row describes.
    pub quality: Quality,
    /// The trade's name for it.
    pub name: &'static str,
    /// The canonical suffix in ASCII, without extensions.
    pub suffix: &'static str,
    /// The suffix up to the place of an extension's number, and the part after the number.
    /// `None` if the quality takes no extensions.
    pub extended: Option<(&'static str, &'static str)>,
    /// Other everyday spellings. Each reads back to this row.
    pub aliases: &'static [&'static str],
    /// The chord tones.
    pub degrees: &'static [Degree],
}

/// All qualities.
pub static TABLE: [QualityRow; 17] = [
    QualityRow {
        quality: Quality::Major,
        name: "major triad",
        suffix: "",
        extended: None,
        aliases: &["maj", "Maj", "ma", "Ma", "M"],
        degrees: &[Root, Three, Five],
    },
    QualityRow {
        quality: Quality::Sixth,
        name: "sixth",
        suffix: "6",
        extended: None,
        aliases: &["maj6", "M6", "ma6", "(6)"],
        degrees: &[Root, Three, Five, Six],
    },
    QualityRow {
        quality: Quality::MajorSeventh,
        name: "major seventh",
        suffix: "maj7",
        extended: Some(("maj", "")),
        aliases: &["Maj7", "ma7", "Ma7", "M7", "Δ", "Δ7", "△", "△7", "(maj7)"],
        degrees: &[Root, Three, Five, Seven],
    },
    QualityRow {
        quality: Quality::Dominant,
        name: "dominant seventh",
        suffix: "7",
        extended: Some(("", "")),
        aliases: &["dom7", "(7)"],
        degrees: &[Root, Three, Five, Flat7],
    },
    QualityRow {
        quality: Quality::Altered,
        name: "altered dominant",
        suffix: "7alt",
        extended: None,
        aliases: &["alt", "7(alt)", "7alt."],
        degrees: &[Root, Three, Flat7],
    },
    QualityRow {
        quality: Quality::Suspended,
        name: "suspended fourth",
        suffix: "sus4",
        extended: None,
        aliases: &["sus", "(sus4)", "(sus)"],
        degrees: &[Root, Four, Five],
    },
    QualityRow {
        quality: Quality::DominantSuspended,
        name: "suspended dominant",
        suffix: "7sus4",
        extended: Some(("", "sus4")),
        aliases: &["7sus", "7(sus4)", "sus7", "sus4(7)"],
        degrees: &[Root, Four, Five, Flat7],
    },
    QualityRow {
        quality: Quality::SuspendedSecond,
        name: "suspended second",
        suffix: "sus2",
        extended: None,
        aliases: &["(sus2)"],
        degrees: &[Root, Two, Five],
    },
    QualityRow {
        quality: Quality::Minor,
        name: "minor triad",
        suffix: "m",
        extended: None,
        aliases: &["min", "mi", "-", "Min"],
        degrees: &[Root, Flat3, Five],
    },
    QualityRow {
        quality: Quality::MinorSixth,
        name: "minor sixth",
        suffix: "m6",
        extended: None,
        aliases: &["min6", "mi6", "-6", "m(6)"],
        degrees: &[Root, Flat3, Five, Six],
    },
    QualityRow {
        quality: Quality::MinorSeventh,
        name: "minor seventh",
        suffix: "m7",
        extended: Some(("m", "")),
        aliases: &["min7", "mi7", "-7", "Min7", "m(7)"],
        degrees: &[Root, Flat3, Five, Flat7],
    },
    QualityRow {
        quality: Quality::MinorMajorSeventh,
        name: "minor with major seventh",
        suffix: "m(maj7)",
        extended: Some(("m(maj", ")")),
        aliases: &[
            "mMaj7", "mM7", "m(M7)", "-Δ7", "mΔ", "minmaj7", "-(maj7)", "m+7",
        ],
        degrees: &[Root, Flat3, Five, Seven],
    },
    QualityRow {
        quality: Quality::HalfDiminished,
        name: "half-diminished",
        suffix: "m7b5",
        extended: Some(("m", "b5")),
        aliases: &[
            "ø", "ø7", "m7(b5)", "-7b5", "-7(b5)", "min7b5", "mi7b5", "m7-5", "m7♭5",
        ],
        degrees: &[Root, Flat3, Flat5, Flat7],
    },
    QualityRow {
        quality: Quality::Diminished,
        name: "diminished triad",
        suffix: "dim",
        extended: None,
        aliases: &["°", "o", "mb5", "m(b5)"],
        degrees: &[Root, Flat3, Flat5],
    },
    QualityRow {
        quality: Quality::DiminishedSeventh,
        name: "diminished seventh",
        suffix: "dim7",
        extended: None,
        aliases: &["°7", "o7", "dim(7)"],
        degrees: &[Root, Flat3, Flat5, DoubleFlat7],
    },
    QualityRow {
        quality: Quality::Augmented,
        name: "augmented triad",
        suffix: "aug",
        extended: None,
        aliases: &["+", "(#5)"],
        degrees: &[Root, Three, Sharp5],
    },
    QualityRow {
        quality: Quality::Power,
        name: "fifth",
        suffix: "5",
        extended: None,
        aliases: &[],
        degrees: &[Root, Five],
    },
];

impl Quality {
    /// The quality's row in the table. Rows stand in the order of the qualities.
    #[must_use]
    pub fn row(self) -> &'static QualityRow {
        let [first, ..] = &TABLE;
        TABLE.get(self as usize).unwrap_or(first)
    }

    /// The chord tones.
    #[must_use]
    pub fn degrees(self) -> DegreeSet {
        DegreeSet::of(self.row().degrees)
    }

    /// The family of the chord.
    #[must_use]
    pub const fn family(self) -> ChordFamily {
        match self {
            Quality::Dominant | Quality::Altered => ChordFamily::Dominant,
            Quality::DominantSuspended | Quality::Suspended => ChordFamily::Suspended,
            Quality::Minor
            | Quality::MinorSixth
            | Quality::MinorSeventh
            | Quality::MinorMajorSeventh => ChordFamily::Minor,
            Quality::HalfDiminished => ChordFamily::HalfDiminished,
            Quality::Diminished | Quality::DiminishedSeventh => ChordFamily::Diminished,
            Quality::Major
            | Quality::Sixth
            | Quality::MajorSeventh
            | Quality::SuspendedSecond
            | Quality::Augmented
            | Quality::Power => ChordFamily::Major,
        }
    }

    /// Whether the chord is a dominant. Suspended dominants count.
    #[must_use]
    pub const fn is_dominant(self) -> bool {
        matches!(
            self.family(),
            ChordFamily::Dominant | ChordFamily::Suspended
        )
    }

    /// Whether the fourth takes the place of the third.
    #[must_use]
    pub const fn is_suspended(self) -> bool {
        matches!(
            self,
            Quality::DominantSuspended | Quality::Suspended | Quality::SuspendedSecond
        )
    }

    /// Whether the third is minor.
    #[must_use]
    pub const fn is_minor(self) -> bool {
        matches!(
            self.family(),
            ChordFamily::Minor | ChordFamily::HalfDiminished | ChordFamily::Diminished
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashMap;

    #[test]
    fn rows_are_unique() {
        let mut degrees = HashMap::new();
        let mut spellings = HashMap::new();
        for row in &TABLE {
            let set = DegreeSet::of(row.degrees);
            if let Some(other) = degrees.insert(set, row.name) {
                panic!("{} and {} hold the same degrees", row.name, other);
            }
            for spelling in std::iter::once(&row.suffix).chain(row.aliases) {
                if let Some(other) = spellings.insert(*spelling, row.name) {
                    panic!("{spelling:?} stands in {} and in {other}", row.name);
                }
            }
            assert!(
                row.degrees.is_sorted_by_key(|d| d.interval().semitones),
                "{} ascends",
                row.name
            );
            assert_eq!(row.quality.row().name, row.name, "rows stand in order");
        }
    }
}
