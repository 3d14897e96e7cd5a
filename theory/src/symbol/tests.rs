//! Tests of the grammar on its own tables.

use super::print::OMISSIONS;
use super::{NamedSymbol, Sign, Symbol, SymbolProblem, parse, parse_with};
use crate::chord::{Chord, Triad};
use crate::degree::{Degree, DegreeSet};
use crate::pitch::{NoteName, NoteNames};
use crate::quality::{Extent, Quality, TABLE};
use std::collections::HashSet;

#[test]
fn every_spelling_in_the_table_reads_back_to_its_row() {
    for row in &TABLE {
        for spelling in std::iter::once(&row.suffix).chain(row.aliases) {
            for root in ["C", "F#", "Bb", "E♭"] {
                // `C#5` is the fifth on C sharp; the table says so with its brackets.
                let text = format!("{root}{spelling}");
                let chord = parse(&text).unwrap_or_else(|e| panic!("{text}: {e}"));
                assert_eq!(
                    chord.quality, row.quality,
                    "{text} reads as {:?}, not as {}",
                    chord, row.name
                );
                assert!(chord.written.is_empty(), "{text} writes {}", chord.written);
            }
        }
    }
}

#[test]
fn what_is_written_stays_written() {
    let read = |s| parse(s).unwrap();
    assert_ne!(read("C7#5"), read("C7b13"));
    assert_eq!(read("C7(b9,b13)"), read("C7b13b9"));
    assert_eq!(read("C7-9"), read("C7(b9)"));
    assert_eq!(read("C7+11"), read("C7(#11)"));
    assert_eq!(read("C6/9"), read("C69"));
    assert_eq!(read("Cø"), read("Cm7b5"));
    assert_eq!(read("C+7"), read("C7#5"));
    assert_eq!(read("C7+"), read("C7#5"));
    assert_eq!(read("C4"), read("Csus4"));
    assert_eq!(read("Bb(#7)"), read("Bbmaj7"));
}

#[test]
fn errors_say_where_and_what() {
    let e = |s: &str| parse(s).unwrap_err();
    assert_eq!(e("H7").suggestion.as_deref(), Some("B7"));
    assert_eq!(e("c7").suggestion.as_deref(), Some("C7"));
    assert_eq!((e("C7q").at, e("C7q").found.as_str()), (2, "q"));
    assert_eq!(e("C7(b9").problem, SymbolProblem::Bracket);
    assert_eq!(e("C7)").problem, SymbolProblem::Bracket);
    assert_eq!(e("Dm7/").problem, SymbolProblem::Bass);
    assert_eq!(e("C7b8").at, 2);
    assert_eq!(e("C7(b9,b9)").problem, SymbolProblem::Clash);
    for nonsense in [
        "Cmaj7alt",
        "Cm7alt",
        "Csus2sus4",
        "C77",
        "Cdimsus4",
        "C7altsus4",
    ] {
        assert!(parse(nonsense).is_err(), "{nonsense}");
    }
    assert_eq!(e("").problem, SymbolProblem::Root);
}

#[test]
fn what_was_perhaps_meant() {
    for (slip, meant) in [
        ("H7", "B7"),
        ("hm7b5", "Bm7b5"),
        ("c7", "C7"),
        ("bbmaj7", "Bbmaj7"),
        ("Es7", "Eb7"),
        ("Fism7", "F#m7"),
        (" C7", "C7"),
        ("Chalf", "Chalf-dim"),
        ("Chafldim", "Chalfdim"),
        ("(Dm7", "(Dm7)"),
        ("(dm7)", "Dm7"),
        ("Cm7b5(nt9)", "Cm7b5(nat9)"),
        ("C13alt", "C7alt"),
        ("CmAj7", "Cmaj7"),
        ("CMAJOR7", "Cmajor7"),
        ("Cmj7", "Cmaj7"),
        ("Cdm7", "Cdim7"),
        ("C7ssus4", "C7sus4"),
        ("Cmm7", "Cm7"),
        ("C77", "C7"),
        ("Cmin7b5b5", "Cmin7b5"),
        ("Cm7♭5♭5", "Cm7♭5"),
        ("C7(b9,b9)", "C7(b9)"),
        ("C7b5#5b9#9#9#11", "C7b5#5b9#9#11"),
        ("C7(b9", "C7(b9)"),
        ("C7)", "C7"),
        ("Dm7/", "Dm7"),
        ("C/e", "C/E"),
        ("C/H", "C/B"),
        ("C/E/G", "C/E"),
        ("Am7/D7", "Am7/D"),
        ("C7b10", "C7#9"),
    ] {
        let error = parse(slip).expect_err(slip);
        assert_eq!(error.suggestion.as_deref(), Some(meant), "{slip}");
    }
    for unclear in [
        "", "N.C.", "No Chord", "X7", "C15", "C7b8", "Cm7alt", "Cdimsus4", "B/C7",
    ] {
        let error = parse(unclear).expect_err(unclear);
        assert_eq!(error.suggestion, None, "{unclear}");
    }
}

/// Silence is not a chord, and the error says so.
#[test]
fn silence_is_named() {
    for text in [
        "N.C.", "NC", "No Chord", "no chord", "Tacet", "tacet", "(N.C.)",
    ] {
        let error = parse(text).unwrap_err();
        assert_eq!(error.problem, SymbolProblem::Silence, "{text}");
        assert!(error.to_string().contains("silence"), "{error}");
    }
}

/// The quality may stand apart from its root, as long as it is not a note.
#[test]
fn a_quality_may_stand_apart() {
    for (apart, joined) in [
        ("Bb 7", "Bb7"),
        ("C maj7", "Cmaj7"),
        ("D -7", "Dm7"),
        ("F# m7b5", "F#m7b5"),
        ("C 6/9", "C6/9"),
        ("C sus4 b9", "Csus4b9"),
    ] {
        assert_eq!(parse(apart), parse(joined), "{apart}");
        assert!(parse(joined).is_ok(), "{joined}");
    }
    for two in ["C A7", "C F", "C (F7)", "C Dim", "C7 -7"] {
        assert!(parse(two).is_err(), "{two}");
    }
}

#[test]
fn german_symbols() {
    let german = |s: &str| parse_with(s, NoteNames::German).unwrap_or_else(|e| panic!("{s}: {e}"));
    for (text, english) in [
        ("H7", "B7"),
        ("B7", "Bb7"),
        ("Bb7", "Bb7"),
        ("B", "Bb"),
        ("Besmaj7", "Bbmaj7"),
        ("Hm7b5", "Bm7b5"),
        ("Fism7", "F#m7"),
        ("Es7", "Eb7"),
        ("Esus4", "Esus4"),
        ("Essus4", "Ebsus4"),
        ("Asmaj7", "Abmaj7"),
        ("Am7/G", "Am7/G"),
        ("G7/H", "G7/B"),
        ("C/B", "C/Bb"),
        ("H/C7alt", "B/C7alt"),
        ("Es/C7", "Eb/C7"),
        ("C/bass H", "C/B"),
        ("(Cism7)", "C#m7"),
        ("Des7 b9", "Db7b9"),
        ("Bdim7", "Bbdim7"),
        ("F#m7", "F#m7"),
    ] {
        let english = parse(english).map_err(|e| e.problem);
        let read = parse_with(text, NoteNames::German).map_err(|e| e.problem);
        assert_eq!(read, english, "{text}");
    }
    assert!(parse("H7").is_err(), "English stays as it is");
    let error = parse_with("hm7", NoteNames::German).unwrap_err();
    assert_eq!(error.suggestion.as_deref(), Some("Hm7"));
    for row in &TABLE {
        for root in (-15..=19).map(NoteName::from_fifths) {
            let mut chord = Chord::new(root, row.quality);
            chord.bass =
                (root.fifths() % 2 == 0).then_some(NoteName::from_fifths(-root.fifths().min(15)));
            for sign in [Sign::Ascii, Sign::Unicode] {
                let printed = NamedSymbol(&chord, sign, NoteNames::German).to_string();
                assert_eq!(german(&printed), chord, "{printed}");
            }
        }
    }
    let flat = parse("Bb7").unwrap();
    let printed = NamedSymbol(&flat, Sign::Ascii, NoteNames::German);
    assert_eq!(printed.to_string(), "B7");
}

#[test]
fn errors_of_polychords() {
    let error = parse("B/C7").unwrap_err();
    let b = NoteName::from_fifths(5);
    assert_eq!(error.problem, SymbolProblem::Foreign(b));
    assert_eq!((error.at, error.len, error.found.as_str()), (0, 1, "B"));
    assert_eq!(parse("Am7/D7").unwrap_err().problem, SymbolProblem::Upper);
    assert_eq!(parse("D/C7q").unwrap_err().at, 4);
    assert_eq!(parse("D/C7/G").unwrap_err().at, 4);
}

#[test]
fn spellings_and_orders_that_come_to_one_chord() {
    let read = |s: &str| parse(s).unwrap_or_else(|e| panic!("{s}: {e}"));
    for (text, plain) in [
        ("Cmajor7", "Cmaj7"),
        ("Cminor7", "Cm7"),
        ("CMIN7", "Cm7"),
        ("Cj7", "Cmaj7"),
        ("C^9", "Cmaj9"),
        ("C7aug", "C7#5"),
        ("C9+", "C9#5"),
        ("C-5", "C(b5)"),
        ("C-9", "Cm9"),
        ("Cmaj(#5)", "Caug"),
        ("Cmaj(b9)", "Cmaj7(b9)"),
        ("C+(b9)", "C7(#5,b9)"),
        ("C(b9)", "C7(b9)"),
        ("C(9)", "Cadd9"),
        ("Cm9(maj7)", "Cm(maj9)"),
        ("Cm/maj7", "Cm(maj7)"),
        ("Cdim(b7)", "Cm7b5"),
        ("Cadd6", "C6"),
        ("C7/b9", "C7b9"),
        ("C7(#11 b9 13)", "C7b9#11(13)"),
        ("C7(add 13, no 5)", "C7(13)no5"),
        ("C7(no5th,no3rd)", "C7no3no5"),
        ("C7-9+11", "C7(#11,b9)"),
        ("C9(9)", "C9"),
        ("C7sus13", "C13sus4"),
        ("C-7(b5)", "Cø"),
        ("Bb#7", "Bbmaj7"),
        ("Cno3no3", "C(no3)"),
        ("C7 b9", "C7b9"),
        ("C7 alt", "C7alt"),
        ("C7 (b9)", "C7(b9)"),
        ("C7 (b9, #11)", "C7(b9,#11)"),
        ("C7  #9 b13", "C7(#9,b13)"),
        ("C9 sus4", "C9sus4"),
        ("C add9", "Cadd9"),
        ("C7 no5", "C7no5"),
        ("Cm⁷", "Cm7"),
        ("C⁶", "C6"),
        ("C₆", "C6"),
        ("C⁶⁄₉", "C6/9"),
        ("C⁶⁹", "C6/9"),
        ("C¹³", "C13"),
        ("Cmaj⁷", "Cmaj7"),
        ("C⁷⁽♭⁹⁾", "C7(b9)"),
        ("C⁷⁺⁵", "C7+5"),
        ("C7M", "Cmaj7"),
        ("Cm7M", "Cm(maj7)"),
        ("C7M(9)", "Cmaj7(9)"),
        ("C7M/E", "Cmaj7/E"),
        ("(Dm7)", "Dm7"),
        ("(G7(b9))", "G7(b9)"),
        ("(D/C7)", "D/C7"),
        ("(F/G)", "F/G"),
        ("C/bass E", "C/E"),
        ("C/Bass Bb", "C/Bb"),
        ("C/E bass", "C/E"),
        ("C bass E", "C/E"),
        ("C E bass", "C/E"),
        ("Am7 (G bass)", "Am7/G"),
        ("Am7 (bass G)", "Am7/G"),
        ("C7 b9/E", "C7(b9)/E"),
        ("Chalfdim", "Cm7b5"),
        ("Chalfdim7", "Cm7b5"),
        ("Chalf-dim", "Cm7b5"),
        ("C half-dim", "Cm7b5"),
        ("C half-diminished", "Cm7b5"),
        ("Chalfdiminished", "Cm7b5"),
        ("Cdiminished7", "Cdim7"),
        ("Caugmented", "Caug"),
        ("Cm7b5(nat9)", "Cm7b5(9)"),
        ("Cm7b5(♮9)", "Cm7b5(9)"),
        ("C7b9(nat13)", "C7b9(13)"),
        ("C♮7", "C7"),
    ] {
        assert_eq!(read(text), read(plain), "{text}");
    }
    assert_ne!(read("C(addb9)"), read("C(b9)"));
    assert_eq!(read("C(addb9)").quality, Quality::Major);
    assert_eq!(read("Cdim7(maj7)").quality, Quality::DiminishedSeventh);
}

/// Reads what is printed, in both styles, back to the same chord.
fn check_print(chord: &Chord) {
    for sign in [Sign::Ascii, Sign::Unicode] {
        let printed = Symbol(chord, sign).to_string();
        let again = parse(&printed).unwrap_or_else(|e| panic!("{printed}: {e}; {chord:?}"));
        assert_eq!(again, *chord, "{printed}");
    }
}

const EXTENTS: [Extent; 4] = [
    Extent::Plain,
    Extent::Ninth,
    Extent::Eleventh,
    Extent::Thirteenth,
];

const WRITTEN: [Degree; 12] = [
    Degree::Flat9,
    Degree::Nine,
    Degree::Sharp9,
    Degree::Eleven,
    Degree::Sharp11,
    Degree::Flat5,
    Degree::Sharp5,
    Degree::Flat13,
    Degree::Six,
    Degree::Thirteen,
    Degree::Flat7,
    Degree::Seven,
];

/// Whether the chord has two sevenths, which no symbol can express. Over a diminished seventh
/// chord the major one is a tension.
fn has_two_sevenths(chord: &Chord) -> bool {
    let both = chord.quality.degrees().union(chord.written);
    both.contains(Degree::Flat7) && both.contains(Degree::Seven)
        || both.contains(Degree::Flat7) && both.contains(Degree::DoubleFlat7)
}

/// Every quality with every extent, up to three written degrees and an omission, in normal
/// form: every chord that a symbol can express with so many.
fn representable() -> impl Iterator<Item = Chord> {
    let written = (0_u16..1 << WRITTEN.len()).filter(|mask| mask.count_ones() <= 3);
    let sets: Vec<DegreeSet> = written
        .map(|mask| {
            let picked = WRITTEN
                .iter()
                .enumerate()
                .filter(|(i, _)| mask >> i & 1 == 1);
            picked.map(|(_, degree)| *degree).collect()
        })
        .collect();
    let omissions = std::iter::once(DegreeSet::EMPTY)
        .chain(OMISSIONS.iter().map(|row| DegreeSet::of(row.degrees)));
    let omissions: Vec<DegreeSet> = omissions.collect();
    let mut chords = HashSet::new();
    for row in &TABLE {
        for extent in EXTENTS {
            for written in &sets {
                for omitted in &omissions {
                    let plain = Chord::new(NoteName::from_fifths(-3), row.quality);
                    let chord = Chord {
                        written: *written,
                        omitted: *omitted,
                        ..plain.extended(extent)
                    };
                    chords.insert(chord.normal());
                }
            }
        }
    }
    chords.into_iter().filter(|chord| !has_two_sevenths(chord))
}

#[test]
fn printing_and_reading_are_inverse() {
    let mut tried = 0;
    for chord in representable() {
        assert_eq!(chord.normal(), chord);
        check_print(&chord);
        tried += 1;
    }
    assert!(tried > 10_000, "{tried}");
}

#[test]
fn a_bass_prints_and_reads_back() {
    for row in &TABLE {
        for bass in (-15..=19).map(NoteName::from_fifths) {
            for root in (-15..=19).map(NoteName::from_fifths) {
                let mut chord = Chord::new(root, row.quality);
                chord.bass = Some(bass);
                check_print(&chord);
            }
        }
    }
}

/// All triads over chords of every kind. Each reads back, or the error names the note that has
/// no name. The lower chord loses nothing.
#[test]
fn polychords_print_and_read_back() {
    let (mut named, mut foreign) = (0, 0);
    let lowers = representable().filter(|chord| chord.written.len() <= 2);
    for lower in lowers {
        for root in (-8..=8).map(NoteName::from_fifths) {
            for quality in [
                Quality::Major,
                Quality::Minor,
                Quality::Augmented,
                Quality::Diminished,
            ] {
                let triad = Triad::new(root, quality).unwrap();
                match lower.with_upper(triad) {
                    Ok(chord) => {
                        named += 1;
                        assert_eq!(chord.normal(), chord);
                        let degrees = chord.degrees();
                        assert!(lower.degrees().minus(degrees).is_empty(), "{chord:?}");
                        let classes = |d: Degree| d.class(chord.root);
                        for note in triad.notes() {
                            let sounds = degrees.iter().map(classes).any(|c| c == note.class());
                            assert!(sounds, "{chord:?}");
                        }
                        if named % 16 == 0 {
                            check_print(&chord);
                        }
                    }
                    Err(note) => {
                        foreign += 1;
                        assert!(triad.notes().any(|n| n == note));
                    }
                }
            }
        }
    }
    assert!(named > 10_000 && foreign > 10_000, "{named} {foreign}");
}

#[test]
fn a_polychord_is_its_lower_chord_with_tensions() {
    let read = |s: &str| parse(s).unwrap_or_else(|e| panic!("{s}: {e}"));
    for (text, degrees) in [
        ("D/C7", "1 3 5 b7 9 #11 13"),
        ("D/C9", "1 3 5 b7 9 #11 13"),
        ("D/C11", "1 3 5 b7 9 11 #11 13"),
        ("Eb/C7", "1 3 5 b7 #9"),
        ("Gb/C7", "1 3 5 b7 b9 #11"),
        ("Ab/C7", "1 3 5 b7 #9 b13"),
        ("A/C7", "1 3 5 b7 b9 13"),
        ("A/C9", "1 3 5 b7 b9 9 13"),
        ("F#m/C7", "1 3 5 b7 b9 #11 13"),
        ("Daug/C7", "1 3 5 b7 9 #11"),
        ("D/Cmaj7", "1 3 5 7 9 #11 13"),
        ("G/Am7", "1 b3 5 b7 9 11"),
        ("Bb/Cm", "1 b3 5 b7 9 11"),
        ("G/Cm", "1 b3 5 7 9"),
        ("D/Cmaj", "1 3 5 9 #11 13"),
        ("B♭/A♭7", "1 3 5 b7 9 #11 13"),
        ("B/Cdim7", "1 b3 b5 bb7 7"),
        ("Gb/C7alt", "1 3 b7 b9 #11"),
    ] {
        let chord = read(text);
        let degrees: DegreeSet = degrees.split(' ').filter_map(Degree::from_name).collect();
        assert_eq!(chord.degrees(), degrees, "{text}");
        assert!(chord.bass.is_none() && chord.upper.is_some(), "{text}");
    }
    assert_eq!(Symbol(&read("D/C7(#11)"), Sign::Ascii).to_string(), "D/C7");
    assert_eq!(read("D/C").bass, Some(NoteName::from_fifths(0)));
    assert_eq!(read("C7/G").bass, Some(NoteName::from_fifths(1)));
    let up = read("D/C7").transposed(2);
    assert_eq!(up, read("E/D7"));
}
