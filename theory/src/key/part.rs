//! What matters of a chord for its part in a key: the root that it stands on, and
//! how it sounds there.

use super::roles::Case;
use crate::chord::Chord;
use crate::degree::Degree;
use crate::pitch::{NoteName, PitchClass};
use crate::quality::Quality;

/// How a chord sounds, as far as keys care.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A major third, or none in a chord that is no dominant.
    Major,
    /// Dominants, suspended ones among them.
    Dominant,
    /// Minor chords with a perfect fifth.
    Minor,
    HalfDiminished,
    Diminished,
}

/// A chord by the root that it stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Part {
    pub(super) class: PitchClass,
    pub(super) kind: Kind,
    pub(super) quality: Quality,
    /// The note in the bass.
    pub(super) bass: PitchClass,
    /// A dominant with a written b9 or b13, the notes of a minor goal.
    pub(super) is_dark: bool,
}

impl Kind {
    pub(super) const fn of(quality: Quality) -> Kind {
        match quality {
            Quality::Dominant
            | Quality::Altered
            | Quality::DominantSuspended
            | Quality::Suspended => Kind::Dominant,
            Quality::Minor
            | Quality::MinorSixth
            | Quality::MinorSeventh
            | Quality::MinorMajorSeventh => Kind::Minor,
            Quality::HalfDiminished => Kind::HalfDiminished,
            Quality::Diminished | Quality::DiminishedSeventh => Kind::Diminished,
            Quality::Major
            | Quality::Sixth
            | Quality::MajorSeventh
            | Quality::SuspendedSecond
            | Quality::Augmented
            | Quality::Power => Kind::Major,
        }
    }
}

impl Part {
    /// A major chord over the note a step above its root (F/G), or a minor one
    /// over the note a fourth above (Dm7/G), is a suspended dominant of its bass. A
    /// major triad over its minor seventh is a dominant (common practice, no
    /// published source).
    pub(super) fn of(chord: &Chord) -> Part {
        let class = chord.root.class();
        let kind = Kind::of(chord.quality);
        let over = chord.bass.map(|bass| bass.class().above(class));
        let written = |degree| chord.written.contains(degree);
        let dark =
            chord.quality == Quality::Altered || written(Degree::Flat9) || written(Degree::Flat13);
        let part = |class, kind, quality| Part {
            class,
            kind,
            quality,
            bass: chord.bass.map_or(class, NoteName::class),
            is_dark: dark && kind == Kind::Dominant,
        };
        match (kind, over) {
            (Kind::Major, Some(2)) | (Kind::Minor | Kind::HalfDiminished, Some(5)) => {
                let bass = class.up(if kind == Kind::Major { 2 } else { 5 });
                part(bass, Kind::Dominant, Quality::DominantSuspended)
            }
            (Kind::Major, Some(10)) if chord.quality == Quality::Major => {
                part(class, Kind::Dominant, Quality::Dominant)
            }
            _ => part(class, kind, chord.quality),
        }
    }

    /// Semitones of the root above a tonic.
    pub(super) const fn above(self, tonic: PitchClass) -> u8 {
        self.class.above(tonic)
    }

    pub(super) fn is(self, kind: Kind) -> bool {
        self.kind == kind
    }

    /// Whether the chord has no third.
    pub(super) const fn is_bare(self) -> bool {
        matches!(self.quality, Quality::Power | Quality::SuspendedSecond)
    }

    /// Whether the chord could be a ii.
    pub(super) const fn could_be_two(self) -> bool {
        matches!(
            self.quality,
            Quality::Minor | Quality::MinorSeventh | Quality::HalfDiminished
        )
    }

    /// Whether another chord is this one in other clothes: a suspension that
    /// resolves, a change of tensions, an inner line.
    pub(super) fn continues(self, other: Part) -> bool {
        self.class == other.class && self.kind == other.kind
    }

    pub(super) const fn case(self) -> Case {
        match self.kind {
            Kind::Major | Kind::Dominant => Case::Upper,
            Kind::Minor => Case::Lower,
            Kind::HalfDiminished => Case::HalfDiminished,
            Kind::Diminished => Case::Diminished,
        }
    }

    /// The chord tones that tell whether a scale holds the chord. The major seventh
    /// of a minor chord and the sixth are colours.
    pub(super) fn tones(self) -> impl Iterator<Item = PitchClass> {
        let colour = match self.quality {
            Quality::MinorMajorSeventh => Some(Degree::Seven),
            Quality::MinorSixth | Quality::Sixth => Some(Degree::Six),
            _ => None,
        };
        let degrees = self.quality.degrees();
        let kept = degrees.iter().filter(move |d| Some(*d) != colour);
        kept.map(move |d| self.class.up(d.interval().semitones))
    }
}
