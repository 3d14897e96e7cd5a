//! Questions and answers in text.

use guidehand_theory::candidates::Register;
use guidehand_theory::chord::Chord;
use guidehand_theory::judge::{Accepts, Judgement, Question, judge};
use guidehand_theory::key::{self, Key};
use guidehand_theory::pipeline::{ChordInKey, Taste};
use guidehand_theory::pitch::{MidiNote, SpelledPitch};
use guidehand_theory::shape::Texture;
use guidehand_theory::slash;
use guidehand_theory::symbol;
use guidehand_theory::tension;
use guidehand_theory::voicing::Position;

/// The notes of a text such as `F3 Ab3`.
pub fn notes(text: &str) -> Vec<MidiNote> {
    let pitches = text.split_whitespace().map(SpelledPitch::parse);
    pitches.map(|p| p.unwrap().midi().unwrap()).collect()
}

/// A chord in C major.
pub fn placed(chord: Chord) -> ChordInKey {
    let meant = slash::meant(&chord);
    ChordInKey::new(chord, key::live(&meant, Key::C_MAJOR))
}

/// The cheapest voicing of a chord in a position, with the first tensions, as a question. None if
/// the texture does not have it.
pub fn question(chord: Chord, texture: Texture, position: Position) -> Option<Question> {
    let placed = placed(chord);
    let taste = Taste {
        texture,
        ..Taste::default()
    };
    let choices = tension::resolve(&placed.chord, &placed.function, taste.requests);
    let all = taste.setting().candidates(&placed.chord, &choices);
    let fits = all.filter(|(_, v)| v.tensions.rank == 0 && v.voicing.position == position);
    let (_, voiced) = fits.min_by_key(|(cost, _)| *cost)?;
    Some(Question {
        placed,
        voiced,
        either_position: false,
    })
}

/// A chord in four notes, in a position.
pub fn four(symbol: &str, position: Position) -> Question {
    let chord = symbol::parse(symbol).unwrap();
    question(chord, Texture::FourNotes, position).unwrap()
}

/// The voicing that is asked for, in text.
pub fn text(question: &Question) -> String {
    let spelled = question.voiced.voicing.spelled(question.placed.chord.root);
    let names: Vec<String> = spelled.map(|note| note.to_string()).collect();
    names.join(" ")
}

pub fn judged(question: &Question, notes: &[MidiNote], accepts: Accepts) -> Judgement {
    judge(question, notes, accepts, Register::DEFAULT)
}

/// What is wrong with an answer, in words; nothing if it is right.
pub fn wrong(question: &Question, answer: &str, accepts: Accepts) -> Vec<String> {
    let judgement = judged(question, &notes(answer), accepts);
    let told = judgement.told(question);
    let wrong = told.filter(|told| !told.finding.is_right());
    let wrong: Vec<String> = wrong.map(|told| told.to_string()).collect();
    assert_eq!(
        judgement.is_right(),
        wrong.is_empty(),
        "{answer}: {wrong:?}"
    );
    wrong
}
