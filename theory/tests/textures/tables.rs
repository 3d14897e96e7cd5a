//! What each texture gives the chords of the trade.

use super::{names, register};
use guidehand_theory::candidates::{self, Hand, Register};
use guidehand_theory::key::{self, Key};
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension::{self, TensionRequests};
use guidehand_theory::voicing::Position;
use std::collections::BTreeSet;

/// What a symbol gets on every root in a texture, by form, with what is chosen for
/// it at rest in C.
fn rows(text: &str, texture: Texture, register: Register) -> BTreeSet<(Position, String)> {
    let mut rows = BTreeSet::new();
    for fifths in -6..=5 {
        let chord = symbol::parse(text).unwrap();
        let function = key::live(&chord, Key::C_MAJOR);
        let tensions = tension::resolve(&chord, &function, TensionRequests::default())[0];
        let chord = chord.transposed(fifths);
        for v in candidates::of(&chord, &tensions, texture, register) {
            rows.insert((v.position, names(&v)));
        }
    }
    rows
}

/// Stacks of fourths. Common practice, no published source.
#[test]
fn chords_in_fourths_have_the_stacks_of_the_trade() {
    for (text, stacks) in [
        ("Cmaj7", &["7 3 13", "7 3 13 9"][..]),
        ("Cmaj9", &["7 3 13 9"]),
        ("Cmaj13", &["7 3 13", "7 3 13 9"]),
        ("C6", &["3 6 9"]),
        ("C6/9", &["3 6 9"]),
        ("C", &["3 6 9"]),
        ("Cmaj7#11", &["#11 7 3"]),
        ("C7", &["b7 3 13", "b7 3 13 9"]),
        ("C9", &["b7 3 13 9"]),
        ("C13", &["b7 3 13", "b7 3 13 9"]),
        ("C7alt", &["3 b7 #9", "3 b7 #9 b13"]),
        ("C7(#9,b13)", &["3 b7 #9", "3 b7 #9 b13"]),
        ("C7(#5,#9)", &["3 b7 #9", "3 b7 #9 #5"]),
        ("C7sus4", &["1 4 b7", "5 1 4 b7"]),
        ("Csus4", &["1 4 b7", "5 1 4 b7"]),
        ("Cm7", &["1 11 b7 b3", "11 b7 b3"]),
        ("Cm11", &["1 11 b7 b3", "11 b7 b3"]),
        ("Cm6", &["b3 6 9", "b3 6 9 5"]),
    ] {
        let rows = rows(text, Texture::Fourths, Register::DEFAULT);
        let expected = stacks.iter().map(|s| (Position::Fourths, (*s).to_string()));
        assert_eq!(rows, expected.collect(), "{text}");
    }
}

/// What has no stack that holds its guide tones and what is written keeps its three
/// notes; so does what the hand does not reach.
#[test]
fn chords_without_a_stack_of_fourths_keep_their_three_notes() {
    for text in [
        "Cm7b5",
        "Cdim7",
        "Cm(maj7)",
        "Caug",
        "Cmaj7#5",
        "C7b9",
        "C7(b9,b13)",
        "C7#11",
        "C13#11",
        "Cm9",
        "C9sus",
    ] {
        let fourths = rows(text, Texture::Fourths, Register::DEFAULT);
        assert_eq!(
            fourths,
            rows(text, Texture::ThreeNotes, Register::DEFAULT),
            "{text}"
        );
        for (_, row) in fourths {
            assert_eq!(row.split(' ').count(), 3, "{text} {row}");
        }
    }
    let small = Register {
        hand: Hand::new(12, 12),
        ..Register::DEFAULT
    };
    let expected = [(Position::Fourths, "b7 3 13".to_string())];
    assert_eq!(rows("C13", Texture::Fourths, small), expected.into());
    let nines = rows("C9", Texture::Fourths, small);
    assert_eq!(nines, rows("C9", Texture::ThreeNotes, small));
}

/// Three notes with the third and with the seventh lowest. Common practice, no
/// published source.
#[test]
fn three_notes_take_what_is_written_first() {
    for (text, on_third, on_seventh) in [
        ("C7", "3 b7 9", "b7 3 13"),
        ("Cmaj7", "3 7 9", "7 3 5"),
        ("Cm7", "b3 b7 9", "b7 b3 5"),
        ("C6", "3 6 9", "6 3 5"),
        ("C9", "3 b7 9", "b7 9 3"),
        ("C13", "3 13 b7", "b7 3 13"),
        ("C7#11", "3 #11 b7", "b7 3 #11"),
        ("C7#5", "3 #5 b7", "b7 3 #5"),
        ("C7(b9,b13)", "3 b7 b9", "b7 3 b13"),
        ("C7(b9,13)", "3 b7 b9", "b7 b9 3"),
        ("C7(#9,b13)", "3 b7 #9", "b7 3 b13"),
        ("C13#11", "3 #11 b7", "b7 3 #11"),
        ("Cm11", "b3 11 b7", "b7 b3 11"),
        ("Cm7b5", "b3 b5 b7", "b7 b3 b5"),
        ("Cmaj7#11", "3 #11 7", "7 3 #11"),
        ("C9sus", "4 b7 9", "b7 9 4"),
        ("C13sus", "4 13 b7", "b7 4 13"),
    ] {
        let rows = rows(text, Texture::ThreeNotes, Register::DEFAULT);
        let expected = [
            (Position::Third, on_third.to_string()),
            (Position::Seventh, on_seventh.to_string()),
        ];
        assert_eq!(rows, expected.into(), "{text}");
    }
}

/// A written 11 takes the place of a major third. Common practice, no published
/// source.
#[test]
fn a_major_third_yields_to_a_written_eleventh() {
    for (text, texture, on_third, on_seventh) in [
        ("Cmaj11", Texture::GuideTones, "11 7", "7 11"),
        ("Cmaj11", Texture::ThreeNotes, "11 7 9", "7 11 5"),
        ("Cmaj11", Texture::FourNotes, "11 5 7 9", "7 9 11 5"),
    ] {
        let expected = [
            (Position::Third, on_third.to_string()),
            (Position::Seventh, on_seventh.to_string()),
        ];
        let rows = rows(text, texture, Register::DEFAULT);
        assert_eq!(rows, expected.into(), "{text} {texture:?}");
    }
}

/// Five notes hold what four cannot: both #11 and 13, and a b9 with them.
#[test]
fn two_hands_hold_all_that_is_written() {
    for (text, held) in [
        ("C13#11", "#11 13"),
        ("C13(b9,#11)", "b9 #11 13"),
        ("C7(b9,#11,b13)", "b9 #11 b13"),
        ("C7(#9,#11)", "#9 #11"),
        ("Cmaj13(#11)", "#11 13"),
        ("Cm13", "13"),
    ] {
        for texture in [Texture::TwoHands, Texture::UpperStructure] {
            for (_, row) in rows(text, texture, Register::DEFAULT) {
                let row: Vec<_> = row.split(' ').collect();
                assert_eq!(row.len(), 5, "{text} {row:?}");
                for degree in held.split(' ') {
                    assert!(row.contains(&degree), "{text} {row:?}");
                }
            }
        }
    }
}

/// The upper structure over a dominant that is settled. Common practice, no
/// published source.
#[test]
fn upper_structures_are_triads_of_the_trade() {
    for (text, triad) in [
        ("C13#11", "9 #11 13"),
        ("C13(b9)", "13 b9 3"),
        ("C7(#9,b13)", "b13 1 #9"),
        ("C13(b9,#11)", "#11 13 b9"),
        ("C7(b9,b13)", "b9 3 b13"),
    ] {
        let triad: BTreeSet<_> = triad.split(' ').collect();
        for (_, row) in rows(text, Texture::UpperStructure, Register::DEFAULT) {
            let right: BTreeSet<_> = row.split(' ').skip(2).collect();
            assert_eq!(right, triad, "{text}");
        }
    }
}

/// An open voicing wider than a hand is shared: the right hand takes the top.
#[test]
fn the_right_hand_takes_the_top_of_an_open_voicing() {
    let chord = symbol::parse("C13").unwrap();
    let function = key::live(&chord, Key::C_MAJOR);
    let tensions = tension::resolve(&chord, &function, TensionRequests::default())[0];
    for widest in 12..=17 {
        let register = Register {
            hand: Hand::new(12, widest),
            ..register(48, 72)
        };
        for v in candidates::of(&chord, &tensions, Texture::Open, register) {
            let span = match names(&v).as_str() {
                // A tenth, and an octave and a fourth.
                "b7 3 13 9" => 16,
                "3 b7 9 13" => 17,
                other => panic!("{other}"),
            };
            let left = if span <= widest { 4 } else { 3 };
            assert_eq!((v.left_hand, v.span()), (left, span), "{widest}");
        }
    }
}
