//! What there is to tell of an answer. Imports `question`.

use super::question::Question;
use crate::pin::Verdict;
use crate::pitch::MidiNote;
use crate::voicing::{MOST_NOTES, Position, Voice, Voicing};
use tinyvec::ArrayVec;

/// The most that is told of one answer: each note that was asked for, each that was played, and what
/// concerns the whole hand.
pub const MOST_FINDINGS: usize = 2 * MOST_NOTES + 2;

/// One thing to tell of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finding {
    /// A note is right. Where any octave counts, it is the note that was played.
    Right(Voice),
    /// A note is right but for its octave.
    OtherOctave {
        /// The note that was asked for.
        asked: Voice,
        /// What was played.
        played: MidiNote,
    },
    /// A note stands in the place of the one that was asked for. Where any octave counts, that one
    /// is told in the octave nearest to what was played.
    Off {
        /// The note that was asked for.
        asked: Voice,
        /// What was played, by its degree in this place: a minor third and not a #9 in the place of
        /// the third.
        played: Voice,
    },
    /// A note is missing.
    Missing(Voice),
    /// A note was not asked for: a degree that the chord has and that is left out here, or a tension.
    NotAsked(Voice),
    /// A note was not asked for, and the chord has no place for it.
    NoPlace(Voice),
    /// A note is there twice, in another octave.
    Doubled {
        /// The note that counts.
        kept: Voice,
        /// The one that is too many.
        played: MidiNote,
    },
    /// The root, which rootless voicings leave to the bass.
    RootPlayed(MidiNote),
    /// The right notes lie in another position.
    OtherPosition {
        /// The position that was asked for.
        asked: Position,
        /// The one that was played.
        played: Position,
    },
    /// The whole hand lies so many octaves too high, or too low if negative. What else is told
    /// counts from there.
    OctaveOff(i8),
    /// The notes do not make a good voicing together, or one of them clashes.
    NotGood(Verdict),
    /// So many keys are held, more than a voicing holds. What is told of the notes that were asked
    /// for looks at all of them.
    TooMany(u8),
}

impl Default for Finding {
    fn default() -> Finding {
        Finding::Missing(Voice::default())
    }
}

impl Finding {
    /// Whether this tells of a note that is right.
    #[must_use]
    pub const fn is_right(&self) -> bool {
        matches!(self, Finding::Right(_))
    }

    /// The note of the voicing that was asked for that this tells of.
    #[must_use]
    pub const fn asked(&self) -> Option<Voice> {
        match *self {
            Finding::Right(voice) | Finding::Missing(voice) => Some(voice),
            Finding::OtherOctave { asked, .. } | Finding::Off { asked, .. } => Some(asked),
            _ => None,
        }
    }

    /// The key that this tells of.
    #[must_use]
    pub const fn played(&self) -> Option<MidiNote> {
        match *self {
            Finding::Right(voice) | Finding::NotAsked(voice) | Finding::NoPlace(voice) => {
                Some(voice.note)
            }
            Finding::OtherOctave { played, .. }
            | Finding::Doubled { played, .. }
            | Finding::RootPlayed(played) => Some(played),
            Finding::Off { played, .. } => Some(played.note),
            _ => None,
        }
    }

    /// How many half steps a note lies above the one that was asked for, below if negative. None
    /// for what is not told of two notes.
    #[must_use]
    pub const fn half_steps(&self) -> Option<i32> {
        match *self {
            Finding::Right(_) => Some(0),
            Finding::OtherOctave { asked, played } => {
                Some(played.semitones() - asked.note.semitones())
            }
            Finding::Off { asked, played } => {
                Some(played.note.semitones() - asked.note.semitones())
            }
            _ => None,
        }
    }
}

/// A finding to put into words, see [`crate::words`].
#[derive(Clone, Copy, Debug)]
pub struct Told<'a> {
    /// What was asked.
    pub question: &'a Question,
    /// What there is to tell.
    pub finding: Finding,
}

/// What there is to tell of an answer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Judgement {
    findings: ArrayVec<[Finding; MOST_FINDINGS]>,
    right: bool,
    played: Voicing,
}

impl Judgement {
    pub(super) fn new(played: Voicing, right: bool) -> Judgement {
        Judgement {
            findings: ArrayVec::default(),
            right,
            played,
        }
    }

    /// Adds a finding while there is room.
    pub(super) fn tell(&mut self, finding: Finding) {
        let _full = self.findings.try_push(finding);
    }

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

    /// All that there is to tell: first what concerns the whole hand, then each note that was asked
    /// for, from the lowest, then what was played beside them, from the lowest. There is always
    /// something that is not right in an answer that is wrong, and nothing else in one that is right.
    #[must_use]
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// All that there is to tell, to be put into words.
    pub fn told<'a>(&'a self, question: &'a Question) -> impl Iterator<Item = Told<'a>> {
        let findings = self.findings.iter();
        findings.map(|finding| Told {
            question,
            finding: *finding,
        })
    }

    /// What was played, by degree: the lowest notes, if there are more than a voicing holds.
    #[must_use]
    pub const fn played(&self) -> &Voicing {
        &self.played
    }
}
