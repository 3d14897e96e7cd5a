//! What decides the part of a chord in a key: the root that it stands on, and its family.
//! Imports `roles`.

use super::roles::Case;
use crate::chord::Chord;
use crate::degree::Degree;
use crate::pitch::{NoteName, PitchClass};
use crate::quality::{ChordFamily, Quality};

/// A chord by the root that it stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct RootedChord {
    pub(super) class: PitchClass,
    /// Never [`ChordFamily::Suspended`].
    pub(super) family: ChordFamily,
    pub(super) quality: Quality,
    /// The note in the bass.
    pub(super) bass: PitchClass,
    /// Whether it is a dominant with a written b9 or b13, the notes of a minor goal.
    pub(super) is_dark: bool,
}

/// The family of a chord for the purpose of keys, in which a suspension is a dominant.
const fn family(quality: Quality) -> ChordFamily {
    match quality.family() {
        ChordFamily::Suspended => ChordFamily::Dominant,
        family => family,
    }
}

impl RootedChord {
    /// The chord by its root. A major chord over the note a step above its root (F/G), or a
    /// minor one over the note a fourth above (Dm7/G), is a suspended dominant of its bass. A
    /// major triad over its minor seventh is a dominant (common practice, no published source).
    pub(super) fn of(chord: &Chord) -> RootedChord {
        let class = chord.root.class();
        let family = family(chord.quality);
        let over = chord.bass.map(|bass| bass.class().above(class));
        let written = |degree| chord.written.contains(degree);
        let dark =
            chord.quality == Quality::Altered || written(Degree::Flat9) || written(Degree::Flat13);
        let part = |class, family, quality| RootedChord {
            class,
            family,
            quality,
            bass: chord.bass.map_or(class, NoteName::class),
            is_dark: dark && family == ChordFamily::Dominant,
        };
        match (family, over) {
            (ChordFamily::Major, Some(2))
            | (ChordFamily::Minor | ChordFamily::HalfDiminished, Some(5)) => {
                let bass = class.up(if family == ChordFamily::Major { 2 } else { 5 });
                part(bass, ChordFamily::Dominant, Quality::DominantSuspended)
            }
            (ChordFamily::Major, Some(10)) if chord.quality == Quality::Major => {
                part(class, ChordFamily::Dominant, Quality::Dominant)
            }
            _ => part(class, family, chord.quality),
        }
    }

    /// Semitones of the root above a tonic.
    pub(super) const fn above(self, tonic: PitchClass) -> u8 {
        self.class.above(tonic)
    }

    pub(super) fn is(self, family: ChordFamily) -> bool {
        self.family == family
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

    /// Whether another chord is a variant of this one, such as a suspension that resolves, a
    /// change of tensions, or an inner line.
    pub(super) fn continues(self, other: RootedChord) -> bool {
        self.class == other.class && self.family == other.family
    }

    pub(super) const fn case(self) -> Case {
        match self.family {
            ChordFamily::Major | ChordFamily::Dominant | ChordFamily::Suspended => Case::Upper,
            ChordFamily::Minor => Case::Lower,
            ChordFamily::HalfDiminished => Case::HalfDiminished,
            ChordFamily::Diminished => Case::Diminished,
        }
    }

    /// The chord tones that decide whether a scale contains the chord. The major seventh of a
    /// minor chord and the sixth are only colours.
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
