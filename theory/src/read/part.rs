//! What a kind of chord is to the chords around it, more finely than a key needs:
//! a tonic m6 leads elsewhere than an m7, a suspension elsewhere than a dominant.
//! Imports `quality`.

use crate::quality::Quality;

/// A chord's kind among its neighbours.
#[derive(Clone, Copy)]
pub(super) enum Part {
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
    Half,
    /// dim and dim7.
    Diminished,
}

impl Part {
    pub(super) const fn of(quality: Quality) -> Part {
        match quality {
            Quality::Dominant | Quality::Altered => Part::Dominant,
            Quality::DominantSuspended | Quality::Suspended => Part::Suspended,
            Quality::MinorSeventh => Part::Minor,
            Quality::Minor => Part::MinorTriad,
            Quality::MinorSixth | Quality::MinorMajorSeventh => Part::MinorTonic,
            Quality::HalfDiminished => Part::Half,
            Quality::Diminished | Quality::DiminishedSeventh => Part::Diminished,
            Quality::Major
            | Quality::Sixth
            | Quality::MajorSeventh
            | Quality::SuspendedSecond
            | Quality::Augmented
            | Quality::Power => Part::Major,
        }
    }
}
