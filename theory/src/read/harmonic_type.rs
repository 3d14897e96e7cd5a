//! The type of a chord for the chords around it, in more detail than a key needs. A tonic m6
//! does not lead to where an m7 leads, and a suspension does not lead to where a dominant
//! leads. Imports `quality`.

use crate::quality::{ChordFamily, Quality};

/// The type of a chord among its neighbours.
#[derive(Clone, Copy)]
pub(super) enum HarmonicType {
    /// Major triads, sixths and major sevenths.
    Major,
    /// 7 and 7alt.
    Dominant,
    /// 7sus4 and sus4.
    Suspended,
    /// m7
    Minor,
    /// A minor triad, which may be any of the minor chords.
    MinorTriad,
    /// m6 and m(maj7): tonics of minor keys, and the minor subdominant.
    MinorTonic,
    /// m7b5
    HalfDiminished,
    /// dim and dim7.
    Diminished,
}

impl HarmonicType {
    pub(super) const fn of(quality: Quality) -> HarmonicType {
        match quality.family() {
            ChordFamily::Major => HarmonicType::Major,
            ChordFamily::Dominant => HarmonicType::Dominant,
            ChordFamily::Suspended => HarmonicType::Suspended,
            ChordFamily::Minor => match quality {
                Quality::Minor => HarmonicType::MinorTriad,
                Quality::MinorSixth | Quality::MinorMajorSeventh => HarmonicType::MinorTonic,
                _ => HarmonicType::Minor,
            },
            ChordFamily::HalfDiminished => HarmonicType::HalfDiminished,
            ChordFamily::Diminished => HarmonicType::Diminished,
        }
    }
}
