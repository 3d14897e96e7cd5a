//! Textures against the tables of the trade, and laws that no voicing breaks.

use guidehand_theory::candidates::{self, Edges, Hand, Register};
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree::{
    self, Eleven, Five, Flat5, Flat9, Nine, Root, Sharp5, Sharp9, Thirteen, Three,
};
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::key::{self, Key};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::quality::{self, Extent};
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension::{self, Asks, EleventhAsk, NinthAsk, Tensions, ThirteenthAsk};
use guidehand_theory::voicing::{Form, Voicing};
use std::collections::BTreeSet;

fn register(lowest: i32, highest: i32) -> Register {
    Register::new(MidiNote::clamp(lowest), MidiNote::clamp(highest))
}

fn names(voicing: &Voicing) -> String {
    let names: Vec<_> = voicing.voices().iter().map(|v| v.degree.name()).collect();
    names.join(" ")
}

/// What a symbol gets on every root in a texture, by form, with what is chosen for
/// it at rest in C.
fn rows(text: &str, texture: Texture, register: Register) -> BTreeSet<(Form, String)> {
    let mut rows = BTreeSet::new();
    for fifths in -6..=5 {
        let chord = symbol::parse(text).unwrap();
        let function = key::live(&chord, Key::C_MAJOR);
        let tensions = tension::resolve(&chord, &function, Asks::default())[0];
        let chord = chord.transposed(fifths);
        for v in candidates::of(&chord, &tensions, texture, register) {
            rows.insert((v.form, names(&v)));
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
        let expected = stacks.iter().map(|s| (Form::Fourths, (*s).to_string()));
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
    let expected = [(Form::Fourths, "b7 3 13".to_string())];
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
            (Form::A, on_third.to_string()),
            (Form::B, on_seventh.to_string()),
        ];
        assert_eq!(rows, expected.into(), "{text}");
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

/// Symbols beyond the plain qualities: alterations, extents, added notes, and what
/// the ear has to guess.
const SYMBOLS: [&str; 58] = [
    "C9",
    "C13",
    "C7b9",
    "C7#9",
    "C7#11",
    "C7b13",
    "C7#5",
    "C7b5",
    "C9#5",
    "C9#11",
    "C9b5",
    "C13#11",
    "C13b9",
    "C13#9",
    "C13(b9,#11)",
    "C7(b9,b13)",
    "C7(#9,b13)",
    "C7(b9,#11)",
    "C7(#9,#11)",
    "C7(b9,#11,b13)",
    "C7(#5,#9)",
    "C7(b9,#9)",
    "C11",
    "C13sus",
    "C9sus",
    "C7sus(b9)",
    "C13sus(b9)",
    "Cmaj9",
    "Cmaj11",
    "Cmaj13",
    "Cmaj7#11",
    "Cmaj9#11",
    "Cmaj13(#11)",
    "Cmaj7#5",
    "Cmaj7b5",
    "C6/9",
    "C6/9(#11)",
    "Cm9",
    "Cm11",
    "Cm13",
    "Cm6/9",
    "Cm7(b13)",
    "Cm9(maj7)",
    "Cm9b5",
    "Cm11b5",
    "Cadd9",
    "Cadd11",
    "Cm(add9)",
    "Cm(add11)",
    "C7no3",
    "C7no5",
    "C7b9no5",
    "Cmaj7no3",
    "C/E",
    "C7/Bb",
    "D/C7",
    "Cm7/F",
    "F/G",
];

fn chords() -> Vec<(String, Chord)> {
    let plain = quality::TABLE.iter().map(|row| format!("C{}", row.suffix));
    let more = SYMBOLS.iter().map(|text| (*text).to_string());
    plain
        .chain(more)
        .map(|text| {
            let chord = symbol::parse(&text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
            (text, chord)
        })
        .collect()
}

/// Every choice of tensions that a chord has in any key, and as the player asks.
fn choices(chord: &Chord) -> Vec<Tensions> {
    let mut all: Vec<Tensions> = Vec::new();
    let mut add = |tensions: Tensions| {
        let same = |t: &Tensions| {
            (t.third, t.seventh, t.others) == (tensions.third, tensions.seventh, tensions.others)
        };
        if !all.iter().any(same) {
            all.push(tensions);
        }
    };
    for next in ["F", "Fm", "B", "Bb", "D", "Dm7", "G7", "Am"] {
        let next = symbol::parse(next).unwrap();
        let functions = key::analyse(&[Some(*chord), Some(next)], None);
        for tensions in tension::resolve(chord, &functions[0].unwrap(), Asks::default()) {
            add(tensions);
        }
    }
    let function = key::live(chord, Key::C_MAJOR);
    for ninth in [
        NinthAsk::ByContext,
        NinthAsk::Nine,
        NinthAsk::Flat9,
        NinthAsk::Sharp9,
    ] {
        for eleventh in [
            EleventhAsk::ByContext,
            EleventhAsk::None,
            EleventhAsk::Sharp11,
        ] {
            for thirteenth in [
                ThirteenthAsk::ByContext,
                ThirteenthAsk::None,
                ThirteenthAsk::Thirteen,
                ThirteenthAsk::Flat13,
            ] {
                let asks = Asks {
                    ninth,
                    eleventh,
                    thirteenth,
                    ..Asks::default()
                };
                for tensions in tension::resolve(chord, &function, asks) {
                    add(tensions);
                }
            }
        }
    }
    all
}

/// How much a symbol wants a degree: 0 for a written alteration, 1 for a written
/// natural, 2 for what it leaves open.
fn wanted(chord: &Chord, degree: Degree) -> u8 {
    let by_extent = match chord.extent {
        Extent::Plain => None,
        Extent::Ninth => Some(Nine),
        Extent::Eleventh => Some(Eleven),
        Extent::Thirteenth => Some(Thirteen),
    };
    let fifths = DegreeSet::of(&[Flat5, Sharp5]).intersection(chord.degrees());
    let altered = fifths.union(chord.written);
    if altered.has(degree) && degree.is_altered() {
        0
    } else if chord.written.has(degree) || by_extent == Some(degree) {
        1
    } else {
        2
    }
}

/// The registers of the laws: the usual one, soft and hard, and the ends of what
/// the parameters reach, for several hands.
fn registers() -> Vec<Register> {
    let (usual, narrow, wide) = (Hand::DEFAULT, Hand::new(12, 12), Hand::new(17, 17));
    [
        (50, 69, Edges::Soft, usual),
        (50, 69, Edges::Hard, narrow),
        (50, 69, Edges::Soft, wide),
        (36, 60, Edges::Soft, narrow),
        (36, 96, Edges::Hard, usual),
        (60, 79, Edges::Soft, usual),
    ]
    .into_iter()
    .map(|(low, high, edges, hand)| Register {
        edges,
        hand,
        ..register(low, high)
    })
    .collect()
}

/// What a voicing breaks, in words.
fn broken(v: &Voicing, chord: &Chord, tensions: &Tensions, register: Register) -> Option<String> {
    let degrees = v.degrees();
    let notes: Vec<i32> = v.notes().map(MidiNote::semitones).collect();
    let gaps = notes.windows(2).map(|w| w[1] - w[0]);
    let span = |hand: &[i32]| hand.last().map_or(0, |top| top - hand[0]);
    let (left, right) = notes.split_at(usize::from(v.left_hand));
    let widest = i32::from(register.hand.at_most);
    if left.is_empty() || span(left) > widest || span(right) > widest {
        return Some(format!("hands span {} and {}", span(left), span(right)));
    }
    if !notes.is_sorted_by(|a, b| a < b) {
        return Some("not ascending".into());
    }
    if degrees.has(Root) && degrees.has(Flat9) {
        return Some("a root against a b9".into());
    }
    if degrees.has(Three) && degrees.has(Eleven) {
        return Some("a third against an 11".into());
    }
    if v.form == Form::Fourths && gaps.clone().any(|gap| gap != 5 && gap != 6) {
        return Some("no fourths".into());
    }
    if let Some(name) = v
        .voices()
        .iter()
        .find(|voice| voice.degree.class(chord.root) != voice.note.class())
    {
        return Some(format!("{name:?} is not what it is called"));
    }
    // A written 11 takes the place of a major third.
    let yields = tensions.third == Some(Three) && degrees.has(Eleven);
    let third = if yields { Some(Eleven) } else { tensions.third };
    let guides: DegreeSet = [third, tensions.seventh].into_iter().flatten().collect();
    if !guides.minus(degrees).is_empty() {
        return Some("a guide tone is missing".into());
    }
    let missing = tensions.others.iter().filter(|d| !degrees.has(**d));
    let missing = missing.map(|d| wanted(chord, *d)).min().unwrap_or(2);
    let present = degrees.minus(guides).iter().map(|d| wanted(chord, d));
    if missing < 2 && present.max().is_some_and(|worst| worst > missing) {
        return Some("something unwritten before something written".into());
    }
    None
}

/// No chord, choice of tensions, texture, root, register and hand gives a voicing
/// that breaks a rule, and each gives at least one. Common practice, no published
/// source.
#[test]
fn no_voicing_breaks_a_law() {
    let mut count = 0u32;
    for (text, chord) in chords() {
        for tensions in choices(&chord) {
            for fifths in -6..=5 {
                let chord = chord.transposed(fifths);
                for register in registers() {
                    for texture in Texture::ALL {
                        let mut any = false;
                        for v in candidates::of(&chord, &tensions, texture, register) {
                            any = true;
                            count += 1;
                            if let Some(law) = broken(&v, &chord, &tensions, register) {
                                panic!(
                                    "{text} {fifths} {texture:?} {register:?} {:?}: {} {law}",
                                    tensions.others,
                                    names(&v)
                                );
                            }
                        }
                        assert!(any, "{text} {fifths} {texture:?} {register:?} has none");
                    }
                }
            }
        }
    }
    println!("{count} voicings");
}

/// Within hard edges the lowest note lies in its room and no note above the top;
/// soft edges give all of those voicings, and others up to a third beyond an edge,
/// which sound clear below. Where nothing fits, as in a narrow register between hard
/// edges, the nearest above the bottom stand in; in the usual register with soft
/// edges that never happens.
#[test]
fn voicings_keep_to_the_edges() {
    for (text, chord) in chords() {
        for tensions in choices(&chord) {
            for fifths in -6..=5 {
                let chord = chord.transposed(fifths);
                for texture in Texture::ALL {
                    for (low, high) in [(50, 69), (36, 60), (60, 79)] {
                        let soft = register(low, high);
                        let hard = Register {
                            edges: Edges::Hard,
                            ..soft
                        };
                        let of = |register| -> Vec<Voicing> {
                            candidates::of(&chord, &tensions, texture, register).collect()
                        };
                        let (soft, hard) = (of(soft), of(hard));
                        let room = i32::from(texture.room());
                        let top = high + i32::from(texture.headroom());
                        let fits = |v: &Voicing, beyond: i32| {
                            let lowest = v.lowest().unwrap().semitones();
                            let highest = v.highest().unwrap().semitones();
                            let below = lowest < low;
                            (low - beyond..=low + room + beyond).contains(&lowest)
                                && highest <= top + beyond
                                && (!below || clear(v))
                        };
                        let place = format!("{text} {fifths} {texture:?} from {low}");
                        if hard.iter().any(|v| fits(v, 0)) {
                            assert!(hard.iter().all(|v| fits(v, 0)), "{place}");
                            assert!(hard.iter().all(|v| soft.contains(v)), "{place}");
                        }
                        if low == 50 || soft.iter().any(|v| fits(v, 4)) {
                            assert!(soft.iter().all(|v| fits(v, 4)), "{place}");
                        }
                    }
                }
            }
        }
    }
}

/// Low interval limits: below about E3 no minor second, Eb3 no major second, C3 no
/// minor third, Bb2 no major third (arrangers' tables, from memory).
fn clear(v: &Voicing) -> bool {
    let notes: Vec<u8> = v.notes().map(MidiNote::number).collect();
    notes.windows(2).all(|w| {
        let limit = match w[1] - w[0] {
            1 => 52,
            2 => 51,
            3 => 48,
            4 => 46,
            _ => 0,
        };
        w[0] >= limit
    })
}

/// Far outside of what anybody plays there is still a voicing, and nothing fails.
#[test]
fn registers_at_the_ends_of_the_keyboard_give_voicings() {
    for (text, chord) in chords() {
        let tensions = choices(&chord)[0];
        for texture in Texture::ALL {
            for low in 0..=127 {
                let register = register(low, low + 19);
                let count = candidates::of(&chord, &tensions, texture, register).count();
                assert!(count <= candidates::MOST, "{text} {texture:?} {low}");
                assert!(count > 0 || low > 96, "{text} {texture:?} {low}");
            }
        }
    }
}

/// An open voicing wider than a hand is shared: the right hand takes the top.
#[test]
fn the_right_hand_takes_the_top_of_an_open_voicing() {
    let chord = symbol::parse("C13").unwrap();
    let function = key::live(&chord, Key::C_MAJOR);
    let tensions = tension::resolve(&chord, &function, Asks::default())[0];
    for (widest, lefts) in [
        (12, [3, 3]),
        (14, [3, 3]),
        (15, [3, 3]),
        (16, [4, 3]),
        (17, [4, 3]),
    ] {
        let register = Register {
            hand: Hand::new(12, widest),
            ..register(48, 72)
        };
        for v in candidates::of(&chord, &tensions, Texture::Open, register) {
            // b7 3 13 9 spans a tenth, 3 b7 9 13 an octave and a fourth.
            let (expected, span) = match names(&v).as_str() {
                "b7 3 13 9" => (lefts[0], 16),
                "3 b7 9 13" => (lefts[1], 17),
                other => panic!("{other}"),
            };
            let expected = if widest == 17 { 4 } else { expected };
            assert_eq!((v.left_hand, v.span()), (expected, span), "{widest}");
        }
    }
}

/// A #9 costs more a half step under the third than on top.
#[test]
fn a_sharp_nine_sits_better_on_top() {
    use guidehand_theory::cost::{self, Weights};
    let chord = symbol::parse("G7(#9,b13)").unwrap();
    let function = key::live(&chord, Key::C_MAJOR);
    let tensions = tension::resolve(&chord, &function, Asks::default())[0];
    let weights = Weights {
        sharp_nine_inside: 7,
        ..Weights::MOTION_ONLY
    };
    for texture in Texture::ALL {
        for v in candidates::of(&chord, &tensions, texture, register(48, 72)) {
            let inside = v.voices().windows(2).any(|w| {
                let gap = w[1].note.number() - w[0].note.number();
                w[0].degree == Sharp9 && gap == 1
            });
            let price = cost::alone(&v, 0, texture, register(48, 72), &weights);
            assert_eq!(price, 7 * u32::from(inside), "{texture:?} {}", names(&v));
        }
    }
    let _ = Five;
}
