//! Scale suggestions against all that can sound: symbols, asks, textures and
//! keys together; and the table of scales against set theory.

mod domain;

use domain::Sounds;
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::{self, Function};
use guidehand_theory::pitch::{NoteName, PitchClass};
use guidehand_theory::scale::{self, Scale, Suggestion};
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::tension::{self, Asks};
use std::collections::HashSet;

/// Twelve bits, one for each key of the octave.
fn bits(classes: impl Iterator<Item = PitchClass>) -> u16 {
    classes.fold(0, |bits, class| bits | 1 << class.number())
}

/// What the symbol states and no scale may leave out: all but a natural five in
/// whose place an altered fifth or b13 is written or sounds.
fn chord_tones(chord: &Chord, sounding: DegreeSet) -> DegreeSet {
    let stated = chord.degrees();
    let against_five = DegreeSet::of(&[Degree::Flat5, Degree::Sharp5, Degree::Flat13]);
    if stated.union(sounding).meets(against_five) && !sounding.has(Degree::Five) {
        stated.without(Degree::Five)
    } else {
        stated
    }
}

/// Checks all suggestions of one case; whether it falls back on the chromatic
/// scale.
fn is_chromatic(chord: &Chord, sounding: DegreeSet, function: &Function) -> bool {
    let case = |s: &Suggestion| {
        let symbol = Symbol(chord, Sign::Ascii);
        format!("{} over {symbol} with {sounding}, {function}", s.scale.name)
    };
    let over_root = |degrees: DegreeSet| bits(degrees.iter().map(|d| d.class(chord.root)));
    let sounds = over_root(sounding);
    let stated = over_root(chord_tones(chord, sounding));
    let all = scale::suggest(chord, sounding, function);
    assert!(!all.is_empty(), "nothing over {chord:?} with {sounding}");
    for (i, s) in all.iter().enumerate() {
        let notes = bits(s.notes().map(NoteName::class));
        let avoid = bits(s.avoid_notes().map(NoteName::class));
        assert_eq!(sounds & !notes, 0, "{} lacks what sounds", case(s));
        assert_eq!(stated & !notes, 0, "{} lacks a chord tone", case(s));
        assert_eq!(avoid & sounds, 0, "{} avoids what sounds", case(s));
        assert_eq!(avoid & !notes, 0, "{} avoids what it lacks", case(s));
        assert!(!s.reason.is_empty(), "{} has no reason", case(s));
        let twice = all.iter().take(i).any(|e| e.scale.name == s.scale.name);
        assert!(!twice, "{} twice", case(s));
    }
    all.iter().any(|s| s.scale.name == "chromatic")
}

/// Every key, ask and texture.
#[test]
fn everyday_symbols_always_find_a_scale_that_holds_them() {
    for chord in domain::everyday() {
        let mut sounds = Sounds::new(&Texture::ALL);
        for (chord, function) in domain::placed(chord) {
            for sounding in sounds.of(&chord, &function) {
                let symbol = Symbol(&chord, Sign::Ascii);
                assert!(
                    !is_chromatic(&chord, sounding, &function),
                    "only the chromatic scale over {symbol} with {sounding}"
                );
            }
        }
    }
}

/// Every symbol, ask and texture; keys by turns, three for each symbol, so that
/// all 24 come up equally often. Says how many cases no scale of the table holds.
#[test]
fn all_symbols_find_a_scale_that_holds_them() {
    const EVERY: usize = 8;
    let (mut cases, mut chromatic, mut helpless) = (0, 0, 0);
    let chords = domain::systematic();
    for (i, chord) in chords.iter().enumerate() {
        let before = chromatic;
        let mut sounds = Sounds::new(&Texture::ALL);
        for (chord, function) in domain::placed(*chord).skip(i % EVERY).step_by(EVERY) {
            for sounding in sounds.of(&chord, &function) {
                cases += 1;
                chromatic += u32::from(is_chromatic(&chord, sounding, &function));
            }
        }
        helpless += u32::from(chromatic > before);
    }
    println!(
        "{chromatic} of {cases} cases are chromatic, of {helpless} of {} symbols",
        chords.len()
    );
}

/// Chord and key moved together get the same tensions, and the same scales with
/// the same reasons.
#[test]
fn tensions_and_scales_move_with_chord_and_key() {
    for chord in domain::everyday() {
        for (chord, function) in domain::placed(chord).step_by(5) {
            let sounding = chord.degrees();
            let tensions = tension::resolve(&chord, &function, Asks::default());
            let suggestions = scale::suggest(&chord, sounding, &function);
            for fifths in -6..=6 {
                let moved = chord.transposed(fifths);
                let mut key = function.key;
                key.tonic = key.tonic.along_fifths(fifths);
                let function = key::live(&moved, key);
                let there = tension::resolve(&moved, &function, Asks::default());
                assert_eq!(tensions, there, "{moved:?}");
                let there = scale::suggest(&moved, sounding, &function);
                assert_eq!(suggestions.len(), there.len(), "{moved:?}");
                for (a, b) in suggestions.iter().zip(&there) {
                    let same = (a.scale, a.avoid, a.reason) == (b.scale, b.avoid, b.reason);
                    assert!(same, "{} and {} over {moved:?}", a.scale.name, b.scale.name);
                }
            }
        }
    }
}

/// Every scale on every root with up to two accidentals: each note sounds its
/// degree, and a scale of seven notes has one of each letter. Where it holds b9
/// and #9 together both take the ninth's letter: G Ab A# B, as the trade spells it.
#[test]
fn scales_are_spelled_by_degree() {
    let b9_and_sharp9 = [Degree::Flat9, Degree::Sharp9];
    for scale in scale::all() {
        for root in (-15..=19).map(NoteName::from_fifths) {
            let suggestion = Suggestion {
                scale,
                root,
                ..Suggestion::default()
            };
            let notes: Vec<NoteName> = suggestion.notes().collect();
            for (note, degree) in notes.iter().zip(scale.degrees) {
                let class = root.class().up(degree.interval().semitones);
                assert_eq!(note.class(), class, "{degree} of {root} {}", scale.name);
            }
            let letters: HashSet<_> = notes.iter().map(|n| n.letter).collect();
            let both_ninths = b9_and_sharp9.iter().all(|d| scale.degrees.contains(d));
            if notes.len() == 7 {
                let expected = if both_ninths { 6 } else { 7 };
                assert_eq!(letters.len(), expected, "{root} {}", scale.name);
            }
        }
    }
}

/// Set classes by Allen Forte, The Structure of Atonal Music (1973): prime forms
/// computed here, class names from memory. 8-26 is named by its complement, the
/// minor seventh chord, as tables differ on its own prime form.
const CLASSES: [(&str, &[u8], &[&str]); 8] = [
    (
        "5-35",
        &[0, 2, 4, 7, 9],
        &["major pentatonic", "minor pentatonic"],
    ),
    (
        "7-35",
        &[0, 1, 3, 5, 6, 8, 10],
        &[
            "Ionian",
            "Dorian",
            "Phrygian",
            "Lydian",
            "Mixolydian",
            "Aeolian",
            "Locrian",
        ],
    ),
    (
        "7-34",
        &[0, 1, 3, 4, 6, 8, 10],
        &[
            "melodic minor",
            "Dorian b9",
            "Lydian augmented",
            "Lydian dominant",
            "Mixolydian b13",
            "Locrian natural 9",
            "altered",
        ],
    ),
    (
        "7-32",
        &[0, 1, 3, 4, 6, 8, 9],
        &[
            "harmonic minor",
            "Locrian natural 13",
            "Ionian augmented",
            "Phrygian dominant",
            "harmonic major",
            "Dorian #11",
            "Lydian #9",
            "Dorian b5",
            "Lydian b3",
            "Mixolydian b9",
        ],
    ),
    (
        "8-28",
        &[0, 1, 3, 4, 6, 7, 9, 10],
        &["half-whole diminished", "whole-half diminished"],
    ),
    ("6-35", &[0, 2, 4, 6, 8, 10], &["whole tone"]),
    (
        "8-23",
        &[0, 1, 2, 3, 5, 7, 8, 10],
        &["bebop dominant", "bebop Dorian"],
    ),
    (
        "8-26, by 4-26",
        &[0, 3, 5, 8],
        &["Phrygian dominant with #9", "bebop major"],
    ),
];

#[test]
fn scales_have_their_set_class() {
    for scale in scale::all().filter(|s| s.name != "chromatic") {
        let mut named = CLASSES
            .iter()
            .filter(|(.., scales)| scales.contains(&scale.name));
        let (class, prime, _) = named
            .next()
            .unwrap_or_else(|| panic!("{} has no class", scale.name));
        let inside: Vec<u8> = semitones(scale).collect();
        let outside: Vec<u8> = (0..12).filter(|c| !inside.contains(c)).collect();
        let set = if prime.len() == inside.len() {
            inside
        } else {
            outside
        };
        assert_eq!(prime_form(&set), *prime, "{} is {class}", scale.name);
    }
}

fn semitones(scale: &Scale) -> impl Iterator<Item = u8> {
    let c = NoteName::from_fifths(0);
    scale.degrees.iter().map(move |d| d.class(c).number())
}

/// The most compact of all rotations of a set and of its inversion, from 0.
fn prime_form(set: &[u8]) -> Vec<u8> {
    let inverted = set.iter().map(|c| (12 - c) % 12).collect();
    let rotations = [set.to_vec(), inverted]
        .into_iter()
        .flat_map(|set: Vec<u8>| {
            set.clone().into_iter().map(move |first| {
                let mut form: Vec<u8> = set.iter().map(|c| (c + 12 - first) % 12).collect();
                form.sort_unstable();
                form
            })
        });
    rotations
        .min_by_key(|form| (form.last().copied(), form.clone()))
        .unwrap()
}

/// A scale that the table calls a mode of another one is just that.
#[test]
fn modes_are_modes_of_their_parents() {
    let mut modes = 0;
    for scale in scale::all() {
        let Some((parent, place)) = scale.parent.split_once(", ") else {
            continue;
        };
        let Some(digit) = place.strip_suffix("mode").and_then(|p| p.chars().next()) else {
            continue;
        };
        let parent = if parent == "major" { "Ionian" } else { parent };
        let parent = scale::all().find(|s| s.name == parent).unwrap();
        let notes: Vec<u8> = semitones(parent).collect();
        let start = usize::try_from(digit.to_digit(10).unwrap() - 1).unwrap();
        let mut expected: Vec<u8> = notes.iter().map(|n| (n + 12 - notes[start]) % 12).collect();
        expected.sort_unstable();
        assert!(
            semitones(scale).eq(expected),
            "{} of {}",
            scale.name,
            parent.name
        );
        modes += 1;
    }
    assert!(modes > 0);
}
