//! Chord symbols as people write them, against a frozen table of what each one
//! states, and texts that are no symbols.

#[path = "data/mod.rs"]
mod data;

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::symbol::{self, Sign, Symbol};
use std::collections::BTreeSet;

const EVERYDAY: &str = include_str!("data/everyday-symbols.txt");

fn everyday() -> impl Iterator<Item = (&'static str, DegreeSet)> {
    data::rows(EVERYDAY).map(|[symbol, degrees, _libraries]| (symbol, set(degrees)))
}

fn set(names: &str) -> DegreeSet {
    let degree = |name| Degree::from_name(name).unwrap_or_else(|| panic!("no degree {name}"));
    names.split_whitespace().map(degree).collect()
}

fn read(text: &str) -> Chord {
    symbol::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"))
}

/// The text in ASCII, as far as root and bass go.
fn ascii(text: &str) -> String {
    text.replace('♭', "b").replace('♯', "#")
}

/// The note name at the start of the text.
fn note(text: &str) -> String {
    let mut chars = text.chars();
    let letter = chars.next();
    letter
        .into_iter()
        .chain(chars.take_while(|c| "b#".contains(*c)))
        .collect()
}

#[test]
fn everyday_symbols_state_their_degrees() {
    let mut seen = BTreeSet::new();
    for (text, degrees) in everyday() {
        assert!(seen.insert(text), "{text} stands twice in the table");
        assert_eq!(read(text).degrees(), degrees, "{text}");
    }
}

#[test]
fn everyday_symbols_keep_their_root_and_bass() {
    for (text, _) in everyday() {
        let chord = read(text);
        let plain = ascii(text);
        assert_eq!(chord.root.to_string(), note(&plain), "{text}");
        let under_slash = plain.rsplit_once('/').map(|(_, bass)| note(bass));
        let bass = under_slash.filter(|b| b.starts_with(|c: char| c.is_ascii_uppercase()));
        assert_eq!(chord.bass.map(|b| b.to_string()), bass, "{text}");
    }
}

/// What is printed, in either style, reads back to the same chord.
#[test]
fn everyday_symbols_print_and_read_back() {
    for (text, _) in everyday() {
        let chord = read(text);
        for sign in [Sign::Ascii, Sign::Unicode] {
            let printed = Symbol(&chord, sign).to_string();
            assert_eq!(read(&printed), chord, "{text} prints as {printed}");
        }
    }
}

/// Spellings of one chord that general libraries of chord symbols miss: each
/// reads as its plainer neighbour.
#[test]
fn spellings_that_libraries_miss() {
    for (text, plainer) in [
        ("Cm6/9", "Cm69"),
        ("CΔ7", "Cmaj7"),
        ("Ebm(maj7)", "EbmM7"),
        ("F#m7(b5)", "F#m7b5"),
        ("G7(b9,b13)", "G7b9b13"),
    ] {
        assert_eq!(read(text), read(plainer), "{text}");
    }
}

#[test]
fn unicode_and_ascii_are_one_notation() {
    for (unicode, plain) in [
        ("B♭7", "Bb7"),
        ("F♯ø7", "F#m7b5"),
        ("E♭△7", "Ebmaj7"),
        ("E♭Δ7", "Ebmaj7"),
        ("C♯°7", "C#dim7"),
        ("G7(♭9,♭13)", "G7(b9,b13)"),
        ("D♭7♯11/C♭", "Db7#11/Cb"),
        ("F−7", "F-7"),
        ("C7−9", "C7-9"),
        ("B𝄫maj7", "Bbbmaj7"),
        ("F𝄪m7", "F##m7"),
    ] {
        assert_eq!(read(unicode), read(plain), "{unicode}");
    }
}

/// The seed of all texts below: a failure names the text, so it need not change.
const SEED: u64 = 20_260_101;

/// Whatever the text, reading ends with a chord that prints, or with an error
/// whose place holds exactly what it says was found.
fn check(text: &str) {
    match symbol::parse(text) {
        Ok(chord) => {
            let printed = Symbol(&chord, Sign::Unicode).to_string();
            assert!(
                printed.starts_with(|c: char| c.is_ascii_uppercase()),
                "{text:?}"
            );
        }
        Err(error) => {
            let place = text.get(error.at..error.at + error.len);
            assert_eq!(place, Some(error.found.as_str()), "{text:?}: {error}");
            if let Some(suggestion) = &error.suggestion {
                assert!(symbol::parse(suggestion).is_ok(), "{text:?}: {error}");
            }
        }
    }
}

#[test]
fn random_bytes_never_panic() {
    let mut random = fastrand::Rng::with_seed(SEED);
    for _ in 0..20_000 {
        let bytes: Vec<u8> = (0..random.usize(..80)).map(|_| random.u8(..)).collect();
        check(&String::from_utf8_lossy(&bytes));
        let chars: String = (0..random.usize(..24)).map(|_| random.char(..)).collect();
        check(&chars);
    }
}

/// Pieces of real symbols in any order.
#[test]
fn soups_of_symbol_pieces_never_panic() {
    const PIECES: [&str; 48] = [
        "C", "F#", "Bb", "E♭", "H", "m", "-", "−", "min", "maj", "M", "Δ", "△", "dim", "°", "o",
        "ø", "aug", "+", "7", "9", "11", "13", "6", "5", "2", "4", "b", "♭", "#", "♯", "(", ")",
        ",", "/", "sus", "sus4", "add", "no", "omit", "alt", "b9", "#11", "𝄪", "𝄫", "♮", " ", "x",
    ];
    let mut random = fastrand::Rng::with_seed(SEED);
    for _ in 0..40_000 {
        let root = PIECES[random.usize(..5)];
        let length = random.usize(..9);
        let pieces = (0..length).map(|_| PIECES[random.usize(..PIECES.len())]);
        let text: String = std::iter::once(root).chain(pieces).collect();
        check(&text);
    }
}

/// Everyday symbols with a slip of the hand: a character lost, doubled, swapped
/// or replaced.
#[test]
fn slips_in_everyday_symbols_never_panic() {
    let mut random = fastrand::Rng::with_seed(SEED);
    for (text, _) in everyday() {
        for _ in 0..100 {
            let mut chars: Vec<char> = text.chars().collect();
            let at = random.usize(..chars.len());
            match random.u8(..4) {
                0 => drop(chars.remove(at)),
                1 => chars.insert(at, chars[at]),
                2 => chars.swap(at, 0),
                _ => chars[at] = random.char(..),
            }
            check(&chars.into_iter().collect::<String>());
        }
    }
}

#[test]
fn a_symbol_has_an_end() {
    for longest in ["C", "Cm7(", "C♭♭"] {
        for length in 0..40 {
            check(&format!("{longest}{}", "♭9,".repeat(length)));
            check(&format!("{longest}{}", "(".repeat(length * 8)));
        }
    }
}
