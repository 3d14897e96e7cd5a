//! How far the hand moved, beside the least that it could have moved.

use crate::asked::{four, notes, question};
use guidehand_theory::candidates::{Hand, Register};
use guidehand_theory::judge::{Accepts, Motion, Question, judge, least_motion, motion};
use guidehand_theory::pin;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::voicing::Position::{self, Seventh, Third};
use guidehand_theory::voicing::Voicing;

const ALL: [Accepts; 3] = [Accepts::Exact, Accepts::SameTensions, Accepts::AnyGood];

/// Notes by degree over the chord of a question.
fn voicing(text: &str, question: &Question) -> Voicing {
    pin::by_degree(&notes(text), &question.placed.chord, Hand::DEFAULT).unwrap()
}

/// The moves of cadences, counted by hand. Common practice, no published source.
#[test]
fn the_moves_of_cadences() {
    for (before, symbol, position, answer, moved, least) in [
        ("F3 A3 C4 E4", "G13", Seventh, "F3 A3 B3 E4", 1, [1, 1, 1]),
        ("F3 A3 B3 E4", "Cmaj9", Third, "E3 G3 B3 D4", 5, [5, 5, 1]),
        ("F3 A3 Bb3 D4", "C13", Third, "E3 A3 Bb3 D4", 1, [1, 1, 1]),
        (
            "E3 A3 Bb3 D4",
            "Fmaj9",
            Seventh,
            "E3 G3 A3 C4",
            5,
            [5, 5, 1],
        ),
        ("F3 Ab3 B3 Eb4", "Cm9", Third, "Eb3 G3 Bb3 D4", 5, [5, 5, 2]),
        // Where any good voicing counts, one in which less has moved may do: F3 stays as the 11 of C
        // minor, and E3 A3 B3 E4 is Cmaj7.
        // A leap into the other position, which is right where the tensions alone count.
        ("F3 A3 B3 E4", "Cmaj9", Third, "B3 D4 E4 G4", 19, [5, 5, 1]),
    ] {
        let question = four(symbol, position);
        let before = voicing(before, &question);
        for (accepts, least) in ALL.into_iter().zip(least) {
            let judgement = judge(&question, &notes(answer), accepts, Register::DEFAULT);
            let told = motion(&before, &question, &judgement, accepts, Register::DEFAULT);
            assert_eq!(told, Motion { moved, least }, "{answer} {accepts:?}");
        }
    }
}

/// Every set of so many of the keys.
fn sets(keys: &[MidiNote], size: usize, visit: &mut dyn FnMut(&[MidiNote])) {
    fn go(
        rest: &[MidiNote],
        size: usize,
        held: &mut Vec<MidiNote>,
        visit: &mut dyn FnMut(&[MidiNote]),
    ) {
        if size == 0 {
            visit(held);
            return;
        }
        for (at, key) in rest.iter().enumerate() {
            held.push(*key);
            go(&rest[at + 1..], size - 1, held, visit);
            held.pop();
        }
    }
    go(keys, size, &mut Vec::new(), visit);
}

/// The least motion against every set of as many keys as the question has, judged one by one.
#[test]
fn nothing_right_is_nearer_than_the_least() {
    let of = |text: &str, texture, position: Position, either_position| {
        let chord = symbol::parse(text).unwrap();
        let question = question(chord, texture, position).unwrap();
        Question {
            either_position,
            ..question
        }
    };
    for question in [
        of("G7(b9,13)", Texture::FourNotes, Seventh, false),
        of("G7", Texture::FourNotes, Third, true),
        of("Cmaj7", Texture::FourNotes, Third, true),
        of("Bm7b5", Texture::FourNotes, Third, false),
        of("Dm7", Texture::ThreeNotes, Third, true),
        of("Dm7", Texture::GuideTones, Third, false),
    ] {
        let size = question.voiced.voicing.voices().len();
        let keys: Vec<MidiNote> = (46..=73).map(MidiNote::clamp).collect();
        let befores = [
            "F3 A3 C4 E4",
            "C4 E4 G4 B4",
            "E3 B3",
            "D4",
            "E3 G3 Bb3 D4 F4",
            "C6 E6 G6 B6",
            "C2 E2 G2",
        ];
        let befores = befores.map(|text| voicing(text, &question));
        for accepts in ALL {
            let mut nearest = [u32::MAX; 7];
            sets(&keys, size, &mut |keys| {
                let judgement = judge(&question, keys, accepts, Register::DEFAULT);
                if judgement.is_right() {
                    for (before, nearest) in befores.iter().zip(&mut nearest) {
                        *nearest = (*nearest).min(before.motion(judgement.played()));
                    }
                }
            });
            for (before, nearest) in befores.iter().zip(nearest) {
                let register = Register::DEFAULT;
                let least = least_motion(before, &question, accepts, register, None);
                assert_eq!(
                    least, nearest,
                    "{accepts:?} {before:?} {:?}",
                    question.placed.chord
                );
            }
        }
    }
}

/// Two hands: the least over every way to lay the same degrees.
#[test]
fn nothing_right_in_two_hands_is_nearer_than_the_least() {
    let chord = symbol::parse("G7(b9,13)").unwrap();
    let question = question(chord, Texture::TwoHands, Third).unwrap();
    let asked: Vec<MidiNote> = question.voiced.voicing.notes().collect();
    let keys: Vec<MidiNote> = (46..=83)
        .map(MidiNote::clamp)
        .filter(|key| asked.iter().any(|note| note.class() == key.class()))
        .collect();
    let accepts = Accepts::SameTensions;
    for before in ["F3 C4 E4 A4 D5", "F3 A3 C4 E4", "C4 E4 G4 B4 D5 F5"] {
        let before = voicing(before, &question);
        let mut nearest = u32::MAX;
        sets(&keys, asked.len(), &mut |keys| {
            let judgement = judge(&question, keys, accepts, Register::DEFAULT);
            if judgement.is_right() {
                nearest = nearest.min(before.motion(judgement.played()));
            }
        });
        let least = least_motion(&before, &question, accepts, Register::DEFAULT, None);
        assert_eq!(least, nearest, "{before:?}");
    }
}
