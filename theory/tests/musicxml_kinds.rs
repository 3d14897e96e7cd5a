//! The chord kinds of W3C MusicXML 4.0, compared with the symbols that stand for them,
//! and the way from chords to kinds with degrees and back.

#[path = "data/mod.rs"]
mod data;

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::kind::{self, Change, Harmony, Kind, KindError, Step};
use guidehand_theory::pitch::NoteName;
use guidehand_theory::quality::{Quality, TABLE};
use guidehand_theory::symbol::{self, Sign, Symbol};
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

struct Described {
    words: &'static str,
    degrees: &'static str,
}

fn kinds() -> BTreeMap<&'static str, Described> {
    let mut kinds = BTreeMap::new();
    for [value, words, degrees] in data::rows(KINDS) {
        let before = kinds.insert(value, Described { words, degrees });
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
fn described(words: &str, kinds: &BTreeMap<&str, Described>) -> DegreeSet {
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

fn read(text: &str) -> Chord {
    symbol::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"))
}

fn print(chord: &Chord) -> String {
    Symbol(chord, Sign::Ascii).to_string()
}

fn harmony(kind: Kind, degrees: &[(Step, u8, i8)]) -> Harmony {
    let change = |&(step, value, alter)| Change { value, alter, step };
    Harmony {
        root: NoteName::from_fifths(0),
        kind,
        degrees: degrees.iter().map(change).collect(),
        bass: None,
    }
}

fn chord(kind: Kind, degrees: &[(Step, u8, i8)]) -> Result<String, KindError> {
    let chord = kind::from_kind(&harmony(kind, degrees))?;
    Ok(chord.map_or("N.C.".to_owned(), |chord| print(&chord)))
}

#[test]
fn kinds_are_those_of_the_standard_in_its_order() {
    let standard: Vec<&str> = data::rows(KINDS).map(|[value, _, _]| value).collect();
    assert_eq!(Kind::ALL.map(Kind::name).to_vec(), standard);
    for name in standard {
        assert_eq!(Kind::from_name(name).map(Kind::name), Some(name));
    }
}

/// What the standard describes comes out of a kind by itself, and goes back to it.
#[test]
fn kinds_alone_hold_what_the_standard_describes() {
    for [value, _, degrees] in data::rows(KINDS) {
        if degrees.is_empty() {
            continue;
        }
        let plain = harmony(Kind::from_name(value).unwrap(), &[]);
        let chord = kind::from_kind(&plain).unwrap().unwrap();
        assert_eq!(chord.stack(), set(degrees), "{value}");
        let again = kind::to_kind(&chord);
        if value == "augmented-seventh" {
            assert_eq!(kind::from_kind(&again), Ok(Some(chord)));
        } else {
            assert_eq!(again, plain, "{value}");
        }
    }
}

#[test]
fn kinds_without_symbol_are_what_sounds() {
    for (kind, expected) in [
        (Kind::Neapolitan, Ok("C")),
        (Kind::Italian, Ok("C7(no5)")),
        (Kind::French, Ok("C7(b5)")),
        (Kind::German, Ok("C7")),
        (Kind::Tristan, Ok("Cm7b5")),
        (Kind::None, Ok("N.C.")),
        (Kind::Pedal, Err(KindError::Kind(Kind::Pedal))),
        (Kind::Other, Err(KindError::Notes)),
    ] {
        assert_eq!(
            chord(kind, &[]),
            expected.map(str::to_owned),
            "{}",
            kind.name()
        );
        assert!(WITHOUT_SYMBOL.iter().any(|(name, _)| *name == kind.name()));
    }
    assert_eq!(kind::from_kind(&kind::no_chord()), Ok(None));
}

/// Harmonies as other programs may write them.
#[test]
fn degrees_change_their_kind() {
    type Case = (Kind, &'static [(Step, u8, i8)], &'static str);
    use Step::{Add, Alter, Subtract};
    let cases: [Case; 20] = [
        (Kind::Dominant, &[(Add, 9, -1)], "C7(b9)"),
        (
            Kind::Dominant,
            &[(Alter, 9, -1), (Alter, 5, 1)],
            "C7(b9,#5)",
        ),
        (Kind::DominantNinth, &[(Alter, 9, -1)], "C9(b9)"),
        (Kind::DominantNinth, &[(Add, 9, -1)], "C9(b9,9)"),
        (Kind::Dominant, &[(Subtract, 3, 0), (Add, 4, 0)], "C7sus4"),
        (Kind::Dominant, &[(Add, 4, 0), (Subtract, 3, 0)], "C7sus4"),
        (Kind::SuspendedFourth, &[(Add, 7, 0)], "C7sus4"),
        (
            Kind::SuspendedFourth,
            &[(Add, 7, 0), (Add, 9, -1)],
            "C7sus4(b9)",
        ),
        (Kind::SuspendedSecond, &[(Add, 7, 0)], "C7sus2"),
        (Kind::Major, &[(Add, 2, 0)], "C(add9)"),
        (Kind::Major, &[(Add, 9, 0)], "C(add9)"),
        (Kind::Major, &[(Add, 9, -1)], "C(addb9)"),
        (Kind::Major, &[(Add, 7, 1)], "Cmaj7"),
        (Kind::MajorSixth, &[(Add, 9, 0)], "C6/9"),
        (Kind::MinorSeventh, &[(Alter, 5, -1)], "Cm7b5"),
        (Kind::MinorNinth, &[(Alter, 7, 1)], "Cm(maj9)"),
        (Kind::Minor, &[(Add, 7, 1)], "Cm(maj7)"),
        // The natural fifth stays: the same key, one name further on.
        (Kind::Dominant, &[(Add, 5, -1)], "C7(#11)"),
        (
            Kind::Other,
            &[(Add, 3, -1), (Add, 5, 0), (Add, 7, 0)],
            "Cm7",
        ),
        (
            Kind::Other,
            &[(Add, 3, 0), (Add, 7, 0), (Add, 13, -1)],
            "C7(b13,no5)",
        ),
    ];
    for (kind, degrees, symbol) in cases {
        assert_eq!(chord(kind, degrees).as_deref(), Ok(symbol), "{degrees:?}");
    }
    for (kind, degrees) in [
        (Kind::Major, (Subtract, 7, 0)),
        (Kind::Major, (Subtract, 1, 0)),
        (Kind::Major, (Add, 8, 0)),
        (Kind::Major, (Alter, 5, 3)),
        (Kind::Dominant13th, (Alter, 13, i8::MAX)),
    ] {
        let (step, value, alter) = degrees;
        let error = KindError::Change(Change { value, alter, step });
        assert_eq!(chord(kind, &[degrees]), Err(error));
    }
}

/// Every chord that a quality, an extent, two written degrees and an omission make.
fn systematic() -> BTreeMap<String, Chord> {
    const WRITTEN: [&str; 13] = [
        "", "addb9", "9", "#9", "11", "#11", "b5", "#5", "b13", "13", "add6", "b7", "maj7",
    ];
    const OMITTED: [&str; 6] = ["", "no3", "no5", "no7", "no9", "no11"];
    let stems = TABLE.iter().flat_map(|row| {
        let extended = row.extended.into_iter().flat_map(|(before, after)| {
            ["9", "11", "13"].map(|number| format!("{before}{number}{after}"))
        });
        std::iter::once(row.suffix.to_owned()).chain(extended)
    });
    let mut chords = BTreeMap::new();
    for stem in stems {
        for first in WRITTEN {
            for second in WRITTEN {
                for omitted in OMITTED {
                    let text = format!("Eb{stem}({first},{second},{omitted})/Bb");
                    if let Ok(chord) = symbol::parse(&text) {
                        chords.insert(print(&chord), chord);
                    }
                }
            }
        }
    }
    chords
}

#[test]
fn chords_go_to_the_standard_and_back() {
    // The standard has no kind for `alt`, which is written as all altered fifths and
    // ninths.
    let alt = set("b5 #5 b9 #9");
    let chords = systematic();
    assert!(chords.len() > 5_000, "{}", chords.len());
    for (symbol, chord) in chords {
        let harmony = kind::to_kind(&chord);
        let mut expected = chord;
        if chord.quality == Quality::Altered {
            expected.written = chord.written.minus(alt);
        }
        assert_eq!(
            kind::from_kind(&harmony),
            Ok(Some(expected)),
            "{symbol}: {harmony:?}"
        );
    }
}

#[test]
fn a_polychord_goes_as_the_notes_that_it_holds() {
    for text in [
        "D/C7",
        "Ab/C7",
        "F#m/C7(#5)",
        "G/Am7",
        "B/Cdim7",
        "A/C9",
        "Bb/Cm",
    ] {
        let chord = read(text);
        let back = kind::from_kind(&kind::to_kind(&chord)).unwrap().unwrap();
        assert_eq!(back.upper, None);
        assert_eq!(back.degrees(), chord.degrees(), "{text}");
    }
}

/// Whatever the degrees, the answer is an error or a chord that a symbol can say,
/// and that goes to the standard and back.
#[test]
fn random_harmonies_make_chords_that_print() {
    let mut random = fastrand::Rng::with_seed(20_260_102);
    let mut chords = 0;
    for _ in 0..100_000 {
        let kind = Kind::ALL[random.usize(..Kind::ALL.len())];
        let steps = [Step::Add, Step::Alter, Step::Subtract];
        let degrees: Vec<_> = (0..random.usize(..5))
            .map(|_| (steps[random.usize(..3)], random.u8(1..14), random.i8(-1..2)))
            .collect();
        let Ok(Some(chord)) = kind::from_kind(&harmony(kind, &degrees)) else {
            continue;
        };
        chords += 1;
        assert_eq!(read(&print(&chord)), chord, "{kind:?} {degrees:?}");
        let again = kind::from_kind(&kind::to_kind(&chord));
        assert_eq!(
            again,
            Ok(Some(chord)),
            "{kind:?} {degrees:?} {}",
            print(&chord)
        );
    }
    assert!(chords > 20_000, "{chords}");
}
