//! What a kind of chord is to the chords around it, more finely than a key needs:
//! a tonic m6 leads elsewhere than an m7, a suspension elsewhere than a dominant.
//! Imports `quality`.

use crate::quality::{ChordFamily, Quality};

/// A chord's kind among its neighbours.
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
