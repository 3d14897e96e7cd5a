//! Whether a pinned voicing still fits a chord that has been edited.

use super::{chord, degrees, keys, moved, notes};
use guidehand_theory::candidates::Hand;
use guidehand_theory::pin;
use proptest::collection::vec;
use proptest::prelude::*;

/// Notes over a chord, what it is edited to, and the degrees of the notes over that, or why they do
/// not fit. Common practice, no published source.
const ROWS: [(&str, &str, &str, Result<&str, &str>); 25] = [
    ("F3 A3 B3 E4", "G7", "G9", Ok("b7 9 3 13")),
    ("F3 A3 B3 E4", "G7", "G13", Ok("b7 9 3 13")),
    ("F3 Ab3 B3 E4", "G7", "G7(b9,13)", Ok("b7 b9 3 13")),
    ("F3 Ab3 B3 Eb4", "G7", "G7alt", Ok("b7 b9 3 b13")),
    ("F3 Ab3 B3 Eb4", "G7(b9,b13)", "Db9", Ok("3 5 b7 9")),
    ("F3 Ab3 B3 Eb4", "G7", "G7(#9)", Ok("b7 b9 3 b13")),
    ("B3 Eb4 F4 A4", "G7", "G7(#5)", Ok("3 #5 b7 9")),
    ("F3 B3 E4", "G7", "G7(b9)", Ok("b7 3 13")),
    ("E3 G3 B3 D4", "Cmaj7", "Cmaj9", Ok("3 5 7 9")),
    ("F3 A3 C4 E4", "Dm7", "Fmaj7", Ok("1 3 5 7")),
    // A shell without its third was meant so.
    ("F3 A3 D4", "G7", "Gm7", Ok("b7 9 5")),
    ("F3 A3 C4 E4", "C7sus4", "C11", Ok("11 13 1 3")),
    // What was strange before may stay.
    ("F3 Bb3 B3 E4", "Gm7", "Gm9", Ok("b7 b3 3 13")),
    (
        "F3 A3 B3 E4",
        "G7",
        "G7(b9)",
        Err("A3 is the 9, but the chord has b9"),
    ),
    (
        "F3 A3 B3 E4",
        "G7",
        "G7(b13)",
        Err("E4 is the 13, but the chord has b13"),
    ),
    (
        "F3 Ab3 B3 E4",
        "G7",
        "G9",
        Err("Ab3 is the b9, but the chord has 9"),
    ),
    (
        "F3 A3 B3 E4",
        "G7",
        "G7alt",
        Err("A3 has no place in this chord"),
    ),
    (
        "F3 A3 B3 E4",
        "G7",
        "Gm7",
        Err("the guide tone b3 is missing"),
    ),
    (
        "F3 A3 B3 E4",
        "G7",
        "Gmaj7",
        Err("the guide tone 7 is missing"),
    ),
    (
        "F3 A3 B3 E4",
        "G7",
        "G6",
        Err("F3 is the b7, but the chord has 6"),
    ),
    (
        "F3 A3 C4 E4",
        "G7sus4",
        "G7",
        Err("the guide tone 3 is missing"),
    ),
    (
        "F3 A3 B3 E4",
        "G7",
        "C7",
        Err("the guide tone b7 is missing"),
    ),
    (
        "F3 A3 C4 E4",
        "Dm7",
        "Am7",
        Err("the guide tone b7 is missing"),
    ),
    (
        "E3 G3 B3 D4",
        "Cmaj7",
        "C6",
        Err("the guide tone 6 is missing"),
    ),
    (
        "Bb3 D4 Eb4 G4",
        "Cm7",
        "Cm7b5",
        Err("G4 has no place in this chord"),
    ),
];

#[test]
fn a_pin_stays_where_it_fits() {
    for (text, was, now, expected) in ROWS {
        let (was, now) = (chord(was), chord(now));
        let voicing = super::voicing(text, &was);
        let fitted = pin::still_fits(&voicing, &was, &now);
        let told = fitted.as_ref().map(degrees).map_err(ToString::to_string);
        let expected_too = expected.map(str::to_owned).map_err(str::to_owned);
        assert_eq!(told, expected_too, "{text}: {was:?} to {now:?}");
        for (fifths, half_steps) in keys() {
            let (was, now) = (was.transposed(fifths), now.transposed(fifths));
            let notes = moved(&notes(text), half_steps);
            let there = pin::by_degree(&notes, &was, Hand::DEFAULT).unwrap();
            let fitted = pin::still_fits(&there, &was, &now);
            assert_eq!(fitted.is_ok(), expected.is_ok(), "{text}, {fifths}");
            if let (Ok(fitted), Ok(expected)) = (fitted, expected) {
                assert_eq!(degrees(&fitted), expected, "{text}, {fifths}");
                assert!(fitted.notes().eq(notes));
            }
        }
    }
}

/// Without a chord before, a missing guide tone counts.
#[test]
fn by_itself_a_voicing_needs_its_guide_tones() {
    let g7 = chord("G7");
    assert!(pin::fits(&super::voicing("F3 A3 B3 E4", &g7), &g7).is_ok());
    let shell = pin::fits(&super::voicing("F3 A3 D4", &g7), &g7);
    assert_eq!(
        shell.unwrap_err().to_string(),
        "the guide tone 3 is missing"
    );
}

#[test]
fn a_transposed_pin_keeps_its_degrees_and_comes_back() {
    for (text, was, ..) in ROWS {
        let over = chord(was);
        let voicing = super::voicing(text, &over);
        for (fifths, half_steps) in keys() {
            for octave in [-12, 0] {
                let by = i8::try_from(half_steps + octave).unwrap();
                let there = voicing.transposed(by).unwrap();
                assert_eq!(degrees(&there), degrees(&voicing));
                let over = over.transposed(fifths);
                let read = super::moved(&notes(text), i32::from(by));
                let read = pin::by_degree(&read, &over, Hand::DEFAULT).unwrap();
                assert_eq!(there, read, "{text} over {was}, {fifths}");
                assert_eq!(there.transposed(-by), Some(voicing));
            }
        }
        assert_eq!(voicing.transposed(100), None);
        assert_eq!(voicing.transposed(-100), None);
    }
}

proptest! {
    /// Whatever a player has pinned stays where nothing has changed, also if the symbol is only
    /// written anew.
    #[test]
    fn a_pin_fits_its_own_chord(
        symbol in prop::sample::select(vec!["Cmaj7", "C", "Cm7", "C7alt", "C7sus4", "C6", "Cdim7"]),
        numbers in vec(20i32..110, 1..8),
    ) {
        let over = chord(symbol);
        let notes: Vec<_> = numbers.into_iter().map(super::MidiNote::clamp).collect();
        let voicing = pin::by_degree(&notes, &over, Hand::DEFAULT).unwrap();
        prop_assert_eq!(pin::still_fits(&voicing, &over, &over), Ok(voicing));
        let mut bass = over;
        bass.bass = Some(over.root);
        prop_assert_eq!(pin::still_fits(&voicing, &over, &bass), Ok(voicing));
    }
}
