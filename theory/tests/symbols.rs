//! Chord symbols as people write them, compared with a frozen table of what each one
//! states, and texts that are not symbols.

#[path = "data/mod.rs"]
mod data;

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::pitch::NoteNames;
use guidehand_theory::symbol::{self, NamedSymbol, Sign, Symbol};
use std::collections::{BTreeMap, BTreeSet};

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
        let plain = plain.trim_start_matches('(');
        assert_eq!(chord.root.to_string(), note(plain), "{text}");
        // What stands behind a slash, or beside the word for it.
        let behind = match plain.split_once("bass") {
            Some((before, after)) if after.trim_matches([' ', ')']).is_empty() => before
                .trim_end()
                .rsplit_once(['/', '(', ' '])
                .map(|(_, bass)| bass),
            Some((_, after)) => Some(after.trim_start()),
            None => plain.rsplit_once('/').map(|(_, bass)| bass),
        };
        let under_slash = behind.map(note);
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

/// Whatever the text, reading ends with a chord that prints and reads back, or with an error
/// whose place holds exactly what it says was found.
fn check(text: &str) {
    for names in [NoteNames::English, NoteNames::German] {
        check_in(text, names);
    }
}

fn check_in(text: &str, names: NoteNames) {
    match symbol::parse_with(text, names) {
        Ok(chord) => {
            for sign in [Sign::Ascii, Sign::Unicode] {
                let printed = NamedSymbol(&chord, sign, names).to_string();
                let again = symbol::parse_with(&printed, names);
                assert_eq!(again, Ok(chord), "{text:?}: {printed}");
            }
        }
        Err(error) => {
            let place = text.get(error.at..error.at + error.len);
            assert_eq!(place, Some(error.found.as_str()), "{text:?}: {error}");
            if let Some(suggestion) = &error.suggestion {
                assert!(
                    symbol::parse_with(suggestion, names).is_ok(),
                    "{text:?}: {error}"
                );
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
    const PIECES: [&str; 82] = [
        "C", "F#", "Bb", "E♭", "H", "m", "-", "−", "min", "maj", "M", "Δ", "△", "dim", "°", "o",
        "ø", "aug", "+", "7", "9", "11", "13", "6", "5", "2", "4", "b", "♭", "#", "♯", "(", ")",
        ",", "/", "sus", "sus4", "add", "no", "omit", "alt", "b9", "#11", "𝄪", "𝄫", "♮", " ", "x",
        "maj7", "m7", "7", "3", "/C7", "/Gm7", "/Ab", "addb9", " b9", " alt", " (", "⁷", "⁶", "⁹",
        "¹", "³", "⁄", "₆", "⁽", "⁾", "⁺", "7M", "half", "half-dim", "nat", "nat9", "bass ",
        " bass", "/bass E", "Fis", "Es", "B", "(Dm7)", "No Chord",
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

/// Everyday symbols with a typing error: a character is lost, doubled, swapped or
/// replaced.
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

const LIBRARIES: &str = include_str!("data/symbols-against-libraries.txt");
const DISAGREEMENTS: &str = include_str!("data/symbols-disagreements.txt");

/// The pitch classes that this crate hears, the bass among them.
fn classes(text: &str) -> BTreeSet<u8> {
    let chord = read(text);
    let degrees = chord.degrees();
    let notes = degrees.iter().map(|d| d.class(chord.root));
    let bass = chord.bass.map(|bass| bass.class());
    notes.chain(bass).map(|class| class.number()).collect()
}

/// What the two libraries hear, music21 first; none where they refuse the text.
fn libraries() -> BTreeMap<&'static str, [Option<BTreeSet<u8>>; 2]> {
    let column = |text: &str| {
        let numbers = text.split(' ').map(|n| n.parse().expect("a pitch class"));
        (text != "-").then(|| numbers.collect())
    };
    let mut table = BTreeMap::new();
    for [symbol, music21, tonal] in data::rows(LIBRARIES) {
        let before = table.insert(symbol, [column(music21), column(tonal)]);
        assert!(before.is_none(), "{symbol} stands twice in the table");
    }
    table
}

/// Every difference from a library is in the table of disagreements, every row of that
/// table is such a difference, and it names the library that is followed.
#[test]
fn libraries_hear_the_same_or_the_table_says_why_not() {
    let table = libraries();
    assert!(table.len() >= 300, "{} symbols", table.len());
    let mut found = BTreeMap::new();
    for (symbol, heard) in &table {
        let ours = classes(symbol);
        let agrees = |library: &Option<BTreeSet<u8>>| library.as_ref() == Some(&ours);
        let [music21, tonal] = heard;
        for (name, library, other) in [
            ("music21", music21, ("tonal", tonal)),
            ("tonal", tonal, ("music21", music21)),
        ] {
            if library.is_some() && !agrees(library) {
                let followed = if agrees(other.1) { other.0 } else { "practice" };
                found.insert((*symbol, name), followed);
            }
        }
    }
    let mut expected = BTreeMap::new();
    for [symbol, library, followed, reason] in data::rows(DISAGREEMENTS) {
        assert!(!reason.is_empty(), "{symbol}: no reason");
        let before = expected.insert((symbol, library), followed);
        assert!(before.is_none(), "{symbol} stands twice for {library}");
    }
    assert_eq!(found, expected);
}

#[test]
fn libraries_are_asked_all_everyday_symbols() {
    let table = libraries();
    for (symbol, _) in everyday() {
        assert!(table.contains_key(symbol), "{symbol}");
    }
}

/// What lead sheets are written with day by day, one spelling or two for each
/// chord.
const DAY_BY_DAY: [&str; 68] = [
    "C",
    "Cm",
    "C-",
    "Cdim",
    "C°",
    "Caug",
    "C+",
    "Csus4",
    "Csus2",
    "Cadd9",
    "C6",
    "Cm6",
    "C6/9",
    "Cm6/9",
    "Cmaj7",
    "CM7",
    "Cma7",
    "CΔ",
    "CΔ7",
    "Cmaj9",
    "Cmaj7#11",
    "Cmaj7#5",
    "Cmaj13",
    "C7",
    "C9",
    "C11",
    "C13",
    "C7b5",
    "C7#5",
    "C+7",
    "C7b9",
    "C7#9",
    "C7#11",
    "C7b13",
    "C9#11",
    "C13#11",
    "C13b9",
    "C7b9b13",
    "C7#9b13",
    "C7b9#11",
    "C7#5#9",
    "G7(b9,b13)",
    "C7alt",
    "C7sus4",
    "C9sus4",
    "C13sus4",
    "C7b9sus4",
    "Cm7",
    "C-7",
    "Cmin7",
    "Cm9",
    "Cm11",
    "Cm13",
    "CmMaj7",
    "CmM7",
    "Ebm(maj7)",
    "Cm7b5",
    "F#m7(b5)",
    "Cø",
    "Cø7",
    "Cm9b5",
    "Cdim7",
    "C°7",
    "C/E",
    "Am7/G",
    "F/G",
    "Bb7",
    "F#m7",
];

/// All of them can be read here. The libraries read fewer, and neither of them reads
/// five.
#[test]
fn day_by_day_symbols_read() {
    let table = libraries();
    let heard = |symbol: &str| {
        let ours = classes(symbol);
        table[symbol]
            .clone()
            .map(|library| library.map(|heard| heard == ours))
    };
    let count = |wanted: fn([Option<bool>; 2]) -> bool| {
        DAY_BY_DAY
            .iter()
            .filter(|symbol| wanted(heard(symbol)))
            .count()
    };
    // Read at all, and read as the same notes.
    let music21 = [
        count(|[music21, _]| music21.is_some()),
        count(|[music21, _]| music21 == Some(true)),
    ];
    let tonal = [
        count(|[_, tonal]| tonal.is_some()),
        count(|[_, tonal]| tonal == Some(true)),
    ];
    assert_eq!((music21, tonal), ([50, 45], [62, 58]));
    let neither = DAY_BY_DAY
        .iter()
        .filter(|symbol| heard(symbol) == [None, None]);
    let neither: Vec<&str> = neither.copied().collect();
    assert_eq!(
        neither,
        ["Cm6/9", "CΔ7", "G7(b9,b13)", "Ebm(maj7)", "F#m7(b5)"]
    );
}
