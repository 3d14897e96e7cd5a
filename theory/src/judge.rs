//! Judges what a hand holds against a chord that was asked for, by degree, one slot at a time. `Copy`
//! and of bounded work, so that the audio thread can do it: nothing here allocates. Imports
//! `pipeline` and what is above it.

use crate::candidates::Register;
use crate::pipeline::ChordInKey;
use crate::pitch::MidiNote;
use crate::plan::Voiced;
use crate::voicing::{MOST_NOTES, Position, Voice, Voicing};
use tinyvec::ArrayVec;

/// The most that is told of one answer: each note that was asked, and each that was played.
pub const MOST_FINDINGS: usize = 2 * MOST_NOTES + 2;

/// A chord that is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Question {
    /// The chord in its key.
    pub placed: ChordInKey,
    /// The voicing that is asked for.
    pub voiced: Voiced,
    /// Whether the other position counts as well.
    pub either_position: bool,
}

/// What counts as right.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Accepts {
    /// The voicing that is asked for, note for note.
    #[default]
    Exact,
    /// Any rootless voicing of the chord with the tensions that are asked for.
    SameTensions,
    /// Any good voicing of the chord: guide tones, no clash, within span and register.
    AnyGood,
}

/// One thing to tell of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finding {
    /// A note is as asked.
    Right(Voice),
    /// A note is right but for its octave.
    OtherOctave {
        /// The note that was asked for.
        asked: Voice,
        /// What was played.
        played: MidiNote,
    },
    /// A note stands in the place of the one that was asked for.
    Off {
        /// The note that was asked for.
        asked: Voice,
        /// What was played.
        played: Voice,
    },
    /// A note is missing.
    Missing(Voice),
    /// A note was not asked for.
    NotAsked(Voice),
    /// The root, which the bass has.
    RootPlayed(MidiNote),
    /// The right notes lie in another position.
    OtherPosition {
        /// The position that was asked for.
        asked: Position,
        /// The one that was played.
        played: Position,
    },
}

impl Default for Finding {
    fn default() -> Finding {
        Finding::Missing(Voice::default())
    }
}

/// What there is to tell of an answer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Judgement {
    findings: ArrayVec<[Finding; MOST_FINDINGS]>,
    right: bool,
    played: Voicing,
}

impl Judgement {
    /// Whether the answer is right.
    #[must_use]
    pub const fn is_right(&self) -> bool {
        self.right
    }

    /// Whether nothing is wrong but that notes are missing.
    #[must_use]
    pub fn lacks_only(&self) -> bool {
        let fine = |finding: &Finding| matches!(finding, Finding::Right(_) | Finding::Missing(_));
        !self.right && self.findings.iter().all(fine)
    }

    /// All that there is to tell, from the lowest note that was asked for.
    #[must_use]
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// What was played, by degree.
    #[must_use]
    pub const fn played(&self) -> &Voicing {
        &self.played
    }
}

/// How far a hand has moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Motion {
    /// The semitones that all voices have moved together.
    pub moved: u32,
    /// The least that they could have moved to a right answer.
    pub least: u32,
}

/// Judges ascending notes.
#[must_use]
pub fn judge(
    question: &Question,
    notes: &[MidiNote],
    _accepts: Accepts,
    _register: Register,
) -> Judgement {
    let asked = &question.voiced.voicing;
    let mut judgement = Judgement::default();
    for voice in asked.voices() {
        let finding = if notes.contains(&voice.note) {
            Finding::Right(*voice)
        } else {
            Finding::Missing(*voice)
        };
        judgement.findings.push(finding);
    }
    judgement.right = asked.notes().eq(notes.iter().copied());
    judgement
}

/// How far the hand has moved from the answer before, and the least that it could have moved.
#[must_use]
pub fn motion(
    before: &Voicing,
    question: &Question,
    judgement: &Judgement,
    _accepts: Accepts,
    _register: Register,
) -> Motion {
    Motion {
        moved: before.motion(&judgement.played),
        least: before.motion(&question.voiced.voicing),
    }
}
