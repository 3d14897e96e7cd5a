//! The chord kinds of W3C MusicXML 4.0 against the symbols that stand for them.

#[path = "data/mod.rs"]
mod data;

use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::symbol;
use std::collections::{BTreeMap, BTreeSet};

const KINDS: &str = include_str!("data/musicxml-4.0-kinds.txt");

/// What stands after the root for each kind that a chord symbol can say.
const SUFFIXES: [(&str, &[&str]); 25] = [
    ("major", &["", "maj", "M"]),
    ("minor", &["m", "min", "-"]),
    ("augmented", &["aug", "+"]),
    ("diminished", &["dim", "°"]),
    ("dominant", &["7"]),
    ("major-seventh", &["maj7", "M7", "△7"]),
    ("minor-seventh", &["m7", "min7", "-7"]),
    ("diminished-seventh", &["dim7", "°7"]),
    ("augmented-seventh", &["7#5", "+7", "aug7"]),
    ("half-diminished", &["m7b5", "ø7", "ø"]),
    ("major-minor", &["m(maj7)", "mM7", "-△7"]),
    ("major-sixth", &["6", "maj6"]),
    ("minor-sixth", &["m6", "-6"]),
    ("dominant-ninth", &["9"]),
    ("major-ninth", &["maj9", "M9", "△9"]),
    ("minor-ninth", &["m9", "-9"]),
    ("dominant-11th", &["11"]),
    ("major-11th", &["maj11", "△11"]),
    ("minor-11th", &["m11", "-11"]),
    ("dominant-13th", &["13"]),
    ("major-13th", &["maj13", "△13"]),
    ("minor-13th", &["m13", "-13"]),
    ("suspended-second", &["sus2"]),
    ("suspended-fourth", &["sus4", "sus"]),
    ("power", &["5"]),
];

/// Kinds that no symbol stands for here, and why.
const WITHOUT_SYMBOL: [(&str, &str); 8] = [
    (
        "Neapolitan",
        "a function of a triad; its symbol is that triad's",
    ),
    (
        "Italian",
        "a function; what sounds is a dominant without its fifth",
    ),
    ("French", "a function; what sounds is a dominant with a b5"),
    ("German", "a function; what sounds is a dominant"),
    ("pedal", "a bass under whatever chords, no chord"),
    (
        "Tristan",
        "one chord of one work; what sounds is half-diminished",
    ),
    ("other", "made of added degrees alone"),
    ("none", "no chord: a chart says N.C."),
];

struct Kind {
    words: &'static str,
    degrees: &'static str,
}

fn kinds() -> BTreeMap<&'static str, Kind> {
    let mut kinds = BTreeMap::new();
    for [value, words, degrees] in data::rows(KINDS) {
        let before = kinds.insert(value, Kind { words, degrees });
        assert!(before.is_none(), "{value} stands twice in the table");
    }
    kinds
}

fn set(names: &str) -> DegreeSet {
    let degree = |name| Degree::from_name(name).unwrap_or_else(|| panic!("no degree {name}"));
    names.split_whitespace().map(degree).collect()
}

/// The degree that the standard's words for an interval name.
fn interval(words: &str) -> Option<Degree> {
    Some(match words {
        "major second" => Degree::Two,
        "minor third" => Degree::Flat3,
        "major third" => Degree::Three,
        "perfect fourth" => Degree::Four,
        "diminished fifth" => Degree::Flat5,
        "perfect fifth" => Degree::Five,
        "augmented fifth" => Degree::Sharp5,
        "added sixth" => Degree::Six,
        "diminished seventh" => Degree::DoubleFlat7,
        "minor seventh" => Degree::Flat7,
        "major seventh" => Degree::Seven,
        "major ninth" => Degree::Nine,
        "perfect 11th" => Degree::Eleven,
        "major 13th" => Degree::Thirteen,
        _ => return None,
    })
}

/// The contents that the standard's words describe: intervals above the root,
/// and other kinds by name.
fn described(words: &str, kinds: &BTreeMap<&str, Kind>) -> DegreeSet {
    let mut contents = DegreeSet::of(&[Degree::Root]);
    for part in words.split(", ") {
        if let Some(degree) = interval(part) {
            contents = contents.with(degree);
            continue;
        }
        let name = match part {
            // The documentation's long name for `dominant`.
            "dominant-seventh" => "dominant",
            _ => part.strip_suffix(" triad").unwrap_or(part),
        };
        let inner = kinds.get(name).unwrap_or_else(|| panic!("no kind {name}"));
        contents = contents.union(described(inner.words, kinds));
    }
    contents
}

#[test]
fn degrees_in_the_table_are_what_its_words_describe() {
    let kinds = kinds();
    for (value, kind) in &kinds {
        if !kind.degrees.is_empty() {
            assert_eq!(described(kind.words, &kinds), set(kind.degrees), "{value}");
        }
    }
}

#[test]
fn every_kind_has_its_symbols_or_the_reason_why_not() {
    let listed = SUFFIXES.iter().map(|(kind, _)| *kind);
    let listed = listed.chain(WITHOUT_SYMBOL.iter().map(|(kind, _)| *kind));
    let ours: BTreeSet<&str> = listed.clone().collect();
    assert_eq!(ours.len(), listed.count(), "a kind is listed twice");
    let standard: BTreeSet<&str> = kinds().into_keys().collect();
    assert_eq!(ours, standard);
}

#[test]
fn a_kind_without_symbol_has_no_contents_to_hold() {
    let kinds = kinds();
    for (kind, reason) in WITHOUT_SYMBOL {
        assert!(kinds[kind].degrees.is_empty(), "{kind}: {reason}");
    }
}

/// Exactly what the standard describes, the whole stack of thirds, on all roots.
#[test]
fn symbols_hold_what_the_standard_describes() {
    let kinds = kinds();
    for (kind, suffixes) in SUFFIXES {
        let contents = set(kinds[kind].degrees);
        for suffix in suffixes {
            for letter in ["C", "D", "E", "F", "G", "A", "B"] {
                for sign in ["", "b", "#"] {
                    let text = format!("{letter}{sign}{suffix}");
                    let chord = symbol::parse(&text).unwrap_or_else(|e| panic!("{text}: {e}"));
                    assert_eq!(chord.root.to_string(), format!("{letter}{sign}"), "{text}");
                    assert_eq!(chord.stack(), contents, "{text} stands for {kind}");
                }
            }
        }
    }
}
