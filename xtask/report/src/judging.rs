//! What `judge` reports of an answer: as JSON and as a text. Imports the rows of a performance and the
//! theory.

use crate::performance::NoteRow;
use guidehand_theory::degree::Degree;
use guidehand_theory::judge::{Accepts, Finding, Judgement, Motion, Question, Told};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::voicing::{Form, Voice};
use serde::Serialize;
use std::fmt;

/// An answer, and what there is to tell of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct JudgeReport {
    /// The symbol that was asked for, in ASCII.
    pub symbol: String,
    /// The root's name.
    pub root: String,
    /// What counts as right: `exact`, `same tensions` or `any good`.
    pub accepts: &'static str,
    /// The voicing that was asked for.
    pub asked: AskedRow,
    /// The notes that were played, from the lowest: the lowest eight, if there are more.
    pub played: Vec<NoteRow>,
    /// Whether the answer is right.
    pub right: bool,
    /// All there is to tell.
    pub findings: Vec<FindingRow>,
    /// How far the hand moved; none if it is not known where it was, or if the answer is wrong.
    pub motion: Option<MotionRow>,
}

/// The voicing that was asked for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct AskedRow {
    /// `A`, `B` or another form, as in the rows of a performance.
    pub form: String,
    /// The slot that is lowest in close position.
    pub lowest: Option<&'static str>,
    /// Whether the other position counts as well.
    pub either_position: bool,
    /// The notes, from the lowest.
    pub notes: Vec<NoteRow>,
}

/// One thing to tell of an answer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FindingRow {
    /// What it is: `right`, `other octave`, `off`, `missing`, `not asked`, `no place`, `doubled`,
    /// `root`, `other position`, `octave off`, `not good` or `too many`.
    pub kind: &'static str,
    /// The slot that it is about, by the number of the degree that was asked for: `ninth`.
    pub slot: Option<&'static str>,
    /// The note that was asked for, or the one that counts of a note that is there twice.
    pub asked: Option<NoteRow>,
    /// The note that was played.
    pub played: Option<NoteRow>,
    /// How many half steps it lies above the one that was asked for, below if negative. None for
    /// what is not told of two notes.
    pub half_steps: Option<i32>,
    /// How many octaves the whole hand lies too high, too low if negative; none for what is about
    /// something else.
    pub octaves: Option<i8>,
    /// The slot that is lowest in the position that was played instead of the one that was asked for.
    pub lowest: Option<&'static str>,
    /// The same in one sentence.
    pub words: String,
}

/// How far the hand moved from the answer before.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct MotionRow {
    /// The half steps that all voices moved together.
    pub moved: u32,
    /// The least that they could have moved to a right answer.
    pub least: u32,
}

impl JudgeReport {
    /// The report of an answer.
    #[must_use]
    pub fn new(
        question: &Question,
        accepts: Accepts,
        judgement: &Judgement,
        motion: Option<Motion>,
    ) -> JudgeReport {
        let chord = question.placed.chord;
        let asked = &question.voiced.voicing;
        let told = judgement.told(question);
        JudgeReport {
            symbol: Symbol(&question.placed.written, Sign::Ascii).to_string(),
            root: chord.root.to_string(),
            accepts: word(accepts),
            asked: AskedRow {
                form: Form::of(asked.position, chord.quality).to_string(),
                lowest: asked.position.lowest(),
                either_position: question.either_position,
                notes: NoteRow::all(asked, chord.root),
            },
            played: NoteRow::all(judgement.played(), chord.root),
            right: judgement.is_right(),
            findings: told.map(|told| FindingRow::new(&told)).collect(),
            motion: motion.map(|motion| MotionRow {
                moved: motion.moved,
                least: motion.least,
            }),
        }
    }
}

/// What counts as right, in a word.
pub(crate) const fn word(accepts: Accepts) -> &'static str {
    match accepts {
        Accepts::Exact => "exact",
        Accepts::SameTensions => "same tensions",
        Accepts::AnyGood => "any good",
    }
}

impl FindingRow {
    /// The row of a finding.
    #[must_use]
    pub fn new(told: &Told<'_>) -> FindingRow {
        let root = told.question.placed.chord.root;
        let row = |voice: Voice| NoteRow::new(&voice, root);
        let (asked, played) = match told.finding {
            Finding::Doubled { kept, played } => (
                Some(kept),
                Some(Voice {
                    note: played,
                    ..kept
                }),
            ),
            finding => (finding.asked(), played(&finding)),
        };
        let of_a_slot = told.finding.asked();
        FindingRow {
            kind: kind(&told.finding),
            slot: of_a_slot.map(|voice| voice.degree.number()),
            asked: asked.map(row),
            played: played.map(row),
            half_steps: told.finding.half_steps(),
            octaves: match told.finding {
                Finding::OctaveOff(octaves) => Some(octaves),
                _ => None,
            },
            lowest: match told.finding {
                Finding::OtherPosition { played, .. } => played.lowest(),
                _ => None,
            },
            words: told.to_string(),
        }
    }
}

/// The note that was played, by its degree.
fn played(finding: &Finding) -> Option<Voice> {
    let of = |note: MidiNote, degree: Degree| Some(Voice { note, degree });
    match *finding {
        Finding::Right(voice) | Finding::NotAsked(voice) | Finding::NoPlace(voice) => Some(voice),
        Finding::Off { played, .. } => Some(played),
        Finding::OtherOctave { asked, played } => of(played, asked.degree),
        Finding::RootPlayed(note) => of(note, Degree::Root),
        _ => None,
    }
}

const fn kind(finding: &Finding) -> &'static str {
    match finding {
        Finding::Right(_) => "right",
        Finding::OtherOctave { .. } => "other octave",
        Finding::Off { .. } => "off",
        Finding::Missing(_) => "missing",
        Finding::NotAsked(_) => "not asked",
        Finding::NoPlace(_) => "no place",
        Finding::Doubled { .. } => "doubled",
        Finding::RootPlayed(_) => "root",
        Finding::OtherPosition { .. } => "other position",
        Finding::OctaveOff(_) => "octave off",
        Finding::NotGood(_) => "not good",
        Finding::TooMany(_) => "too many",
    }
}

/// The names of notes with spaces between them.
fn names(notes: &[NoteRow]) -> String {
    let names: Vec<&str> = notes.iter().map(|note| note.name.as_str()).collect();
    names.join(" ")
}

impl fmt::Display for JudgeReport {
    /// What was asked, what was played, and what there is to tell of it, one line each.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let asked = &self.asked;
        write!(
            f,
            "{}, asked {} ({}",
            self.symbol,
            names(&asked.notes),
            asked.form
        )?;
        if let Some(lowest) = asked.lowest {
            write!(f, ", {lowest} lowest")?;
        }
        let more = match self.accepts {
            "any good" => "or any good voicing",
            "same tensions" => "or the same degrees in any order",
            _ if asked.either_position => "or the other position",
            _ => "note for note",
        };
        writeln!(f, "), {more}")?;
        let notes = names(&self.played);
        let notes = if notes.is_empty() { "nothing" } else { &notes };
        let verdict = if self.right { "right" } else { "wrong" };
        writeln!(f, "played {notes}: {verdict}")?;
        for finding in &self.findings {
            writeln!(f, "  {}", finding.words)?;
        }
        if let Some(MotionRow { moved, least }) = self.motion {
            let steps = if moved == 1 { "step" } else { "steps" };
            writeln!(f, "moved {moved} half {steps}, {least} would do")?;
        }
        Ok(())
    }
}
