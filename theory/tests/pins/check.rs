//! What is told of a voicing that a player has placed.

use super::{chord, data, keys, moved, notes};
use guidehand_theory::candidates::{self, Hand, Register};
use guidehand_theory::key::{self, Key};
use guidehand_theory::pin::{self, Verdict};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension::{self, TensionRequests};

fn told(symbol: &str, text: &str) -> Vec<String> {
    let over = chord(symbol);
    let voicing = super::voicing(text, &over);
    let verdicts = pin::check(&voicing, &over, Register::DEFAULT);
    verdicts.iter().map(Verdict::to_string).collect()
}

/// Common practice, no published source.
#[test]
fn what_is_told() {
    let rows: [(&str, &str, &[&str]); 27] = [
        ("G7", "F3 A3 B3 E4", &[]),
        ("G7", "B3 E4 F4 A4", &[]),
        ("G7", "F3 Ab3 B3 Eb4", &[]),
        ("Cm7", "Eb3 G3 Bb3 D4", &[]),
        ("C6", "E3 G3 A3 D4", &[]),
        ("C", "E3 G3 A3 D4", &[]),
        // Guide tones.
        ("G7", "A3 B3 E4", &["the guide tone b7 is missing"]),
        ("G7", "F3 A3 E4", &["the guide tone 3 is missing"]),
        ("G7sus4", "F3 A3 D4", &["the guide tone 4 is missing"]),
        ("Cdim7", "Eb3 Gb3", &["the guide tone bb7 is missing"]),
        // Notes against the chord.
        (
            "Cm7",
            "E3 G3 Bb3 D4",
            &[
                "the guide tone b3 is missing",
                "E3 has no place in this chord",
            ],
        ),
        (
            "G7(b9)",
            "F3 A3 B3 E4",
            &["A3 is the 9, but the chord has b9"],
        ),
        (
            "G9",
            "F3 Ab3 B3 E4",
            &["Ab3 is the b9, but the chord has 9"],
        ),
        (
            "G7(b9)",
            "F3 A#3 B3 E4",
            &["the #9 lies a half step under the third; it sits better on top"],
        ),
        ("G7alt", "F3 Ab3 B3 E4", &["E4 has no place in this chord"]),
        // Avoid notes.
        ("Cmaj7", "E3 F3 B3", &["F3, the 11, rubs against the 3"]),
        ("C7", "E3 F3 Bb3", &["F3, the 11, rubs against the 3"]),
        ("Cm7", "Eb3 Ab3 Bb3", &["Ab3, the b13, rubs against the 5"]),
        (
            "Cmaj7",
            "E3 G3 B3 Db4",
            &["Db4, the b9, rubs against the 1"],
        ),
        ("C7", "E3 G3 Ab3 Bb3", &["Ab3, the b13, rubs against the 5"]),
        ("Cm7", "D3 Bb3 Eb4", &["D3 and Eb4 lie a minor ninth apart"]),
        // Hands.
        (
            "Cm7",
            "Eb3 Bb3 D4 F#4",
            &["a hand spans a minor tenth, more than a ninth; never force a stretch"],
        ),
        (
            "Cm7",
            "Eb3 Bb3 D4 G4 C5",
            &[
                "it spans 21 half steps, more than a tenth, and takes two hands; never force a stretch",
                "the root sounds; the bass has it",
            ],
        ),
        // Low intervals.
        (
            "Cm7",
            "Eb2 G2 Bb2 D3",
            &[
                "Eb2 and G2 lie too low to sound clear together",
                "G2 and Bb2 lie too low to sound clear together",
                "Eb2 lies below the register",
                "G2 lies below the register",
                "Bb2 lies below the register",
            ],
        ),
        // The register and the root.
        ("Cm7", "Bb3 Eb4 Bb4", &["Bb4 lies above the register"]),
        (
            "Cm7",
            "C4 Eb4 Bb4",
            &[
                "Bb4 lies above the register",
                "the root sounds; the bass has it",
            ],
        ),
        ("Cm7b5", "Eb3 Gb3 Bb3 C4", &[]),
    ];
    for (symbol, text, expected) in rows {
        assert_eq!(told(symbol, text), expected, "{text} over {symbol}");
    }
}

/// A hand that reaches neither alone nor with the other is told of.
#[test]
fn two_hands_reach_only_so_far() {
    let told = told("G7", "F3 B4 E6 D7");
    let words =
        "a hand of two would span an augmented eleventh, more than a tenth; never force a stretch";
    assert!(told.iter().any(|word| word == words), "{told:?}");
}

/// The same is told in every key, whatever the register says.
#[test]
fn the_key_makes_no_difference() {
    for (symbol, text) in [
        ("C7", "E3 F3 Bb3 D4"),
        ("C7(b9)", "E3 A3 Bb3 D4"),
        ("Cmaj7", "E3 G3 B3 Db4"),
        ("Cm7", "D3 Bb3 Eb4"),
        ("C7", "E3 A3 Bb3 D4"),
    ] {
        let kinds = |fifths: i8, half_steps: i32| {
            let over = chord(symbol).transposed(fifths);
            let notes = moved(&notes(text), half_steps);
            let voicing = pin::by_degree(&notes, &over, Hand::DEFAULT).unwrap();
            let verdicts = pin::check(&voicing, &over, Register::DEFAULT);
            let musical = |verdict: &&Verdict| {
                !matches!(
                    verdict,
                    Verdict::LowInterval { .. } | Verdict::OutOfRegister { .. }
                )
            };
            let kinds = verdicts.iter().filter(musical).map(std::mem::discriminant);
            kinds.collect::<Vec<_>>()
        };
        for (fifths, half_steps) in keys() {
            assert_eq!(kinds(fifths, half_steps), kinds(0, 0), "{symbol} {fifths}");
        }
    }
}

/// Of the four-note forms of everyday chords there is nothing to tell but where they lie.
#[test]
fn nothing_is_told_of_the_usual_forms() {
    let mut checked = 0;
    for [symbol, _degrees, _libraries] in data::rows(include_str!("../data/everyday-symbols.txt")) {
        let over = symbol::parse(symbol).unwrap();
        if over.bass.is_some() || over.upper.is_some() || over.seventh().is_none() {
            continue;
        }
        for (fifths, _) in keys() {
            let over = over.transposed(fifths);
            let function = key::live(&over, Key::C_MAJOR);
            let tensions = tension::resolve(&over, &function, TensionRequests::default());
            for tensions in tensions {
                for voicing in
                    candidates::of(&over, &tensions, Texture::FourNotes, Register::DEFAULT)
                {
                    let notes: Vec<MidiNote> = voicing.notes().collect();
                    let voicing = pin::by_degree(&notes, &over, Hand::DEFAULT).unwrap();
                    for verdict in pin::check(&voicing, &over, Register::DEFAULT) {
                        let place = matches!(
                            verdict,
                            Verdict::OutOfRegister { .. }
                                | Verdict::LowInterval { .. }
                                | Verdict::SharpNineInside
                                | Verdict::RootSounds
                        );
                        assert!(place, "{symbol}, {fifths}: {verdict}");
                    }
                    checked += 1;
                }
            }
        }
    }
    assert!(checked > 2000, "{checked}");
}
