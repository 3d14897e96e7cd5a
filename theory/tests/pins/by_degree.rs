//! Notes by degree over a known chord.

use super::{chord, data, degrees, keys, moved, notes};
use guidehand_theory::candidates::{self, Hand, Register};
use guidehand_theory::key::{self, Key};
use guidehand_theory::pin::{self, NotesError};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::shape::Texture;
use guidehand_theory::slash;
use guidehand_theory::symbol;
use guidehand_theory::tension::{self, TensionRequests};
use guidehand_theory::voicing::Position;

/// A symbol, notes over it, their degrees and the position. Common practice, no published source.
const ROWS: [(&str, &str, &str, Position); 22] = [
    ("Cm7", "Bb3 D4 Eb4 G4", "b7 9 b3 5", Position::Seventh),
    ("Cm7", "Eb3 G3 Bb3 D4", "b3 5 b7 9", Position::Third),
    ("Cm7", "Bb3 D4 Eb4 G4 D5", "b7 9 b3 5 9", Position::AsPlayed),
    ("C7", "E3 A3 Bb3 D4", "3 13 b7 9", Position::Third),
    ("C7", "E3 Ab3 Bb3 Db4", "3 b13 b7 b9", Position::Third),
    ("C7", "Bb3 Eb4 E4 A4", "b7 #9 3 13", Position::Seventh),
    ("C7(#5)", "E3 G#3 Bb3 D4", "3 #5 b7 9", Position::Third),
    ("C7(b5)", "E3 Gb3 Bb3 D4", "3 b5 b7 9", Position::Third),
    ("C7(#11)", "E3 F#3 Bb3 D4", "3 #11 b7 9", Position::Third),
    ("Cmaj7", "E3 G3 B3 D4", "3 5 7 9", Position::Third),
    ("Cmaj7", "B3 E4 A4", "7 3 13", Position::Fourths),
    ("Cmaj7", "E3 A3 D4", "3 6 9", Position::Fourths),
    ("C", "E3 G3 A3 D4", "3 5 6 9", Position::Third),
    ("C6", "A3 D4 E4 G4", "6 9 3 5", Position::Seventh),
    ("Cm", "Eb3 G3 A3 D4", "b3 5 6 9", Position::Third),
    ("Cm7b5", "Bb3 C4 Eb4 Gb4", "b7 1 b3 b5", Position::Seventh),
    ("Cdim7", "Eb3 Gb3 A3 C4", "b3 b5 bb7 1", Position::Third),
    ("C7sus4", "F3 A3 Bb3 D4", "4 13 b7 9", Position::Third),
    ("C7alt", "E3 Ab3 Bb3 Eb4", "3 b13 b7 #9", Position::Third),
    // What the chord has no place for keeps its usual name.
    ("Cm7", "E3 G3 Bb3 D4", "3 5 b7 9", Position::Fifth),
    ("Cmaj7", "E3 Bb3", "3 b7", Position::Third),
    ("C7alt", "E3 G3 Bb3 Db4", "3 5 b7 b9", Position::Third),
];

#[test]
fn notes_are_named_by_degree_in_every_key() {
    for (symbol, text, expected, position) in ROWS {
        for (fifths, half_steps) in keys() {
            let over = chord(symbol).transposed(fifths);
            let mut played = moved(&notes(text), half_steps);
            // Neither the order nor a note that comes twice counts.
            played.reverse();
            played.push(played[0]);
            let voicing = pin::by_degree(&played, &over, Hand::DEFAULT).unwrap();
            assert_eq!(
                degrees(&voicing),
                expected,
                "{text} over {symbol}, {fifths}"
            );
            assert_eq!(voicing.position, position, "{text} over {symbol}, {fifths}");
            let there: Vec<MidiNote> = voicing.notes().collect();
            assert_eq!(there, moved(&notes(text), half_steps));
        }
    }
}

/// The voicings of the textures, read by their notes alone, have the degrees that they were made
/// of, in every texture, both forms and all keys.
#[test]
fn voicings_of_the_textures_read_back() {
    let mut read = 0;
    for [symbol, _degrees, _libraries] in data::rows(include_str!("../data/everyday-symbols.txt")) {
        for (fifths, _) in keys() {
            let written = symbol::parse(symbol).unwrap().transposed(fifths);
            let over = slash::meant(&written);
            let function = key::live(&over, Key::C_MAJOR);
            for tensions in tension::resolve(&over, &function, TensionRequests::default()) {
                for texture in Texture::ALL {
                    for made in candidates::of(&over, &tensions, texture, Register::DEFAULT) {
                        let notes: Vec<MidiNote> = made.notes().collect();
                        let voicing = pin::by_degree(&notes, &over, Hand::DEFAULT).unwrap();
                        let (mine, theirs) = (degrees(&voicing), degrees(&made));
                        assert_eq!(mine, theirs, "{symbol}, {fifths}, {texture:?}");
                        read += 1;
                    }
                }
            }
        }
    }
    assert!(read > 10_000, "{read}");
}

#[test]
fn too_few_and_too_many_notes_are_told() {
    let over = chord("C7");
    let read = |notes: &[MidiNote]| pin::by_degree(notes, &over, Hand::DEFAULT);
    assert_eq!(read(&[]), Err(NotesError::NoNotes));
    let many: Vec<MidiNote> = (50..59).map(MidiNote::clamp).collect();
    assert_eq!(read(&many), Err(NotesError::TooMany(9)));
    assert_eq!(
        read(&many).unwrap_err().to_string(),
        "9 notes: a voicing holds at most 8"
    );
    assert_eq!(read(&many[1..]).unwrap().voices().len(), 8);
}

/// A hand that reaches all notes takes them; otherwise the hands part where the wider one
/// spans least.
#[test]
fn hands_part_where_both_reach() {
    for (text, left) in [
        ("F3 A3 B3 E4", 4),
        ("F3 B3 E4 A4", 4),
        ("F3 B3 E4 A4 C#5", 2),
        ("C3 Bb3 E4 A4 D5", 2),
        ("F2 B2 E4 A4 D5 G5", 2),
        ("F2 F5", 1),
    ] {
        let voicing = super::voicing(text, &chord("G7"));
        assert_eq!(voicing.left_hand, left, "{text}");
    }
}
