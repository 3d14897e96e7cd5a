//! What drills must hold for all exercises, and what players expect of some.

mod from_chart;
mod known;

use super::basis::MOST_QUESTIONS;
use super::*;
use crate::choice::{AskedPosition, ChartKeys, KeyOrder, Origin, Progression};
use crate::drill::Item;
use crate::exercise::Exercise;
use crate::record::Record;
use crate::told::LeftOut;
use crate::told::{NoDrill, Told};
use chrono::DateTime;
use guidehand_theory::candidates::{Hand, Register};
use guidehand_theory::chart;
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::dressing::stock_dressings;
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::voicing::{Form, Position};

fn make(exercise: &Exercise, taste: &Taste) -> Result<Made, NoDrill> {
    Making {
        number: 1,
        exercise,
        taste,
        shapes: &[],
        record: &Record::default(),
        now: DateTime::UNIX_EPOCH,
    }
    .of_list()
}

fn of_chart(exercise: &Exercise, text: &str) -> Result<Made, NoDrill> {
    let chart = chart::parse(text).unwrap();
    let chart = ChartToAsk {
        chart: &chart,
        key: None,
        pins: &[],
    };
    Making {
        number: 1,
        exercise,
        taste: &Taste::default(),
        shapes: &[],
        record: &Record::default(),
        now: DateTime::UNIX_EPOCH,
    }
    .of_chart(&chart)
}

fn symbols(made: &Made) -> Vec<String> {
    let questions = made.drill.questions.iter();
    let symbol =
        |asked: &crate::Asked| Symbol(&asked.question.placed.written, Sign::Ascii).to_string();
    questions.map(symbol).collect()
}

fn items(made: &Made) -> Vec<String> {
    let all = symbols(made);
    let items = made.drill.items.iter();
    let item =
        |item: &Item| all[item.questions.start as usize..item.questions.end as usize].join(" ");
    items.map(item).collect()
}

fn degrees(names: &str) -> DegreeSet {
    let known = stock_dressings().find(|one| one.name().to_string() == names);
    known.unwrap().degrees()
}

#[test]
fn single_chords_go_through_the_keys_one_family_after_the_other() {
    let exercise = Exercise {
        families: ShapeFamily::ALL.to_vec(),
        ..Exercise::default()
    };
    let made = make(&exercise, &Taste::default()).unwrap();
    assert_eq!(made.told, []);
    assert_eq!(made.drill.items.len(), 120);
    let expected = [
        "Cmaj7 Fmaj7 Bbmaj7 Ebmaj7 Abmaj7 Dbmaj7 Gbmaj7 Bmaj7 Emaj7 Amaj7 Dmaj7 Gmaj7",
        "C6/9 F6/9 Bb6/9 Eb6/9 Ab6/9 Db6/9 Gb6/9 B6/9 E6/9 A6/9 D6/9 G6/9",
        "Cm7 Fm7 Bbm7 Ebm7 Abm7 C#m7 F#m7 Bm7 Em7 Am7 Dm7 Gm7",
        "Cm6 Fm6 Bbm6 Ebm6 G#m6 C#m6 F#m6 Bm6 Em6 Am6 Dm6 Gm6",
        "Cm(maj7) Fm(maj7) Bbm(maj7) Ebm(maj7) G#m(maj7) C#m(maj7) F#m(maj7) Bm(maj7) Em(maj7) \
         Am(maj7) Dm(maj7) Gm(maj7)",
        "C7 F7 Bb7 Eb7 Ab7 Db7 F#7 B7 E7 A7 D7 G7",
        "C7sus4 F7sus4 Bb7sus4 Eb7sus4 Ab7sus4 Db7sus4 F#7sus4 B7sus4 E7sus4 A7sus4 D7sus4 G7sus4",
        "Cm7b5 Fm7b5 Bbm7b5 Ebm7b5 G#m7b5 C#m7b5 F#m7b5 Bm7b5 Em7b5 Am7b5 Dm7b5 Gm7b5",
        "Cdim7 Fdim7 A#dim7 D#dim7 G#dim7 C#dim7 F#dim7 Bdim7 Edim7 Adim7 Ddim7 Gdim7",
        "C7alt F7alt Bb7alt Eb7alt Ab7alt Db7alt F#7alt B7alt E7alt A7alt D7alt G7alt",
    ];
    let symbols = symbols(&made);
    let rows: Vec<String> = symbols.chunks(12).map(|row| row.join(" ")).collect();
    assert_eq!(rows, expected);
    for (asked, family) in made
        .drill
        .questions
        .iter()
        .zip(ShapeFamily::ALL.into_iter().flat_map(|family| [family; 12]))
    {
        assert_eq!(asked.cell.map(|cell| cell.family), Some(family));
    }
}

/// Progressions in all keys, spelled by key (common practice, no published source).
#[test]
fn progressions_are_spelled_by_their_keys() {
    for (progression, third_key, items_of_others) in [
        (Progression::TwoFive, "Cm7 F7", ["Abm7 Db7", "Em7 A7"]),
        (
            Progression::TwoFiveOneMajor,
            "Cm7 F7 Bbmaj7",
            ["Abm7 Db7 Gbmaj7", "Em7 A7 Dmaj7"],
        ),
        (
            Progression::TwoFiveOneMinor,
            "Cm7b5 F7 Bbm6",
            ["G#m7b5 C#7 F#m6", "Em7b5 A7 Dm6"],
        ),
        (
            Progression::Turnaround,
            "Bbmaj7 G7 Cm7 F7",
            ["Gbmaj7 Eb7 Abm7 Db7", "Dmaj7 B7 Em7 A7"],
        ),
        (
            Progression::TurnaroundOnThree,
            "Dm7 G7 Cm7 F7",
            ["Bbm7 Eb7 Abm7 Db7", "F#m7 B7 Em7 A7"],
        ),
        (
            Progression::TurnaroundMinor,
            "Bbm6 Gm7b5 Cm7b5 F7",
            ["F#m6 D#m7b5 G#m7b5 C#7", "Dm6 Bm7b5 Em7b5 A7"],
        ),
        (
            Progression::Blues,
            "Bb7 Eb7 Bb7 Eb7 Bb7 F7 Eb7 Bb7 F7",
            [
                "F#7 B7 F#7 B7 F#7 C#7 B7 F#7 C#7",
                "D7 G7 D7 G7 D7 A7 G7 D7 A7",
            ],
        ),
        (
            Progression::JazzBlues,
            "Bb7 Eb7 Bb7 Fm7 Bb7 Eb7 Edim7 Bb7 Dm7b5 G7 Cm7 F7 Bb7 G7 Cm7 F7",
            [
                "F#7 B7 F#7 C#m7 F#7 B7 Cdim7 F#7 A#m7b5 D#7 G#m7 C#7 F#7 D#7 G#m7 C#7",
                "D7 G7 D7 Am7 D7 G7 G#dim7 D7 F#m7b5 B7 Em7 A7 D7 B7 Em7 A7",
            ],
        ),
        (
            Progression::MinorBlues,
            "Bbm7 Ebm7 Bbm7 Ebm7 Bbm7 Gb7 F7 Bbm7 F7",
            [
                "F#m7 Bm7 F#m7 Bm7 F#m7 D7 C#7 F#m7 C#7",
                "Dm7 Gm7 Dm7 Gm7 Dm7 Bb7 A7 Dm7 A7",
            ],
        ),
    ] {
        let exercise = Exercise {
            progression,
            ..Exercise::default()
        };
        let made = make(&exercise, &Taste::default()).unwrap();
        let items = items(&made);
        assert_eq!(items.len(), 12, "{progression:?}");
        assert_eq!(
            [&items[2], &items[6], &items[10]],
            [third_key, items_of_others[0], items_of_others[1]],
            "{progression:?}"
        );
        for item in &made.drill.items {
            let first = &made.drill.questions[item.questions.start as usize];
            let key = first.question.placed.function.key;
            assert_eq!(key, item.key);
        }
    }
}

#[test]
fn lists_combine_dominants_dressings_and_tonics() {
    let exercise = Exercise {
        families: vec![
            ShapeFamily::Dominant,
            ShapeFamily::Altered,
            ShapeFamily::MajorSeventh,
            ShapeFamily::SixNine,
        ],
        dressings: vec![degrees("b9 13"), degrees("b9 b13")],
        keys: vec![PitchClass::wrapping(0)],
        progression: Progression::TwoFiveOneMajor,
        ..Exercise::default()
    };
    let made = make(&exercise, &Taste::default()).unwrap();
    let expected = [
        "Dm7 G7(b9,13) Cmaj7",
        "Dm7 G7(b9,13) C6/9",
        "Dm7 G7(b9,b13) Cmaj7",
        "Dm7 G7(b9,b13) C6/9",
        "Dm7 G7alt Cmaj7",
        "Dm7 G7alt C6/9",
    ];
    assert_eq!(items(&made), expected);
}

/// In a blues, only the dominants that fall a fifth are dressed as is chosen.
#[test]
fn a_blues_keeps_its_home_colours() {
    let exercise = Exercise {
        dressings: vec![degrees("b9 b13")],
        keys: vec![PitchClass::wrapping(0)],
        progression: Progression::Blues,
        ..Exercise::default()
    };
    let made = make(&exercise, &Taste::default()).unwrap();
    let expected = ["C7 F7 C7(b9,b13) F7 C7 G7 F7 C7 G7(b9,b13)"];
    assert_eq!(items(&made), expected);
}

/// Every question holds what it asks for: its degrees, its position, the hand, the register.
#[test]
fn questions_are_laid_as_they_are_asked() {
    let stock: Vec<DegreeSet> = stock_dressings().map(|one| one.degrees()).collect();
    for texture in Texture::ALL {
        for position in AskedPosition::ALL {
            let taste = Taste {
                texture,
                ..Taste::default()
            };
            let exercise = Exercise {
                families: ShapeFamily::ALL.to_vec(),
                dressings: stock.clone(),
                position: *position,
                ..Exercise::default()
            };
            let made = make(&exercise, &taste).unwrap_or_else(|none| {
                assert_eq!(texture, Texture::Fourths, "{none}");
                panic!("{none}")
            });
            let (beyond, edges) = (4, taste.register.edges_for(texture));
            for asked in &made.drill.questions {
                let question = &asked.question;
                let voicing = &question.voiced.voicing;
                let quality = question.placed.chord.quality;
                match position {
                    AskedPosition::Either => {}
                    AskedPosition::Third => assert_eq!(voicing.position, Position::Third),
                    AskedPosition::Seventh => assert_eq!(voicing.position, Position::Seventh),
                    AskedPosition::FormA => {
                        assert_eq!(Form::of(voicing.position, quality), Form::A);
                    }
                    AskedPosition::FormB => {
                        assert_eq!(Form::of(voicing.position, quality), Form::B);
                    }
                }
                assert_eq!(question.either_position, *position == AskedPosition::Either);
                let hand = taste.register.hand;
                assert!(voicing.left_span() <= hand.at_most);
                assert!(voicing.right_span() <= hand.at_most);
                let (low, high) = (voicing.lowest().unwrap(), voicing.highest().unwrap());
                assert!(
                    low.semitones() >= edges.0 - beyond && high.semitones() <= edges.2 + beyond
                );
                let cell = asked.cell.unwrap();
                assert_eq!(cell.position, voicing.position);
                if texture == Texture::FourNotes && cell.family == ShapeFamily::Dominant {
                    assert!(stock.contains(&cell.dressing), "{cell:?}");
                    // Of three tensions, four notes hold two.
                    let sounds = voicing.degrees();
                    let missing = cell.dressing.minus(sounds);
                    let three = cell.dressing == degrees("9 #11 13");
                    assert_eq!(missing.len(), u32::from(three), "{cell:?} {sounds:?}");
                }
            }
        }
    }
}

/// The voices of a cadence move as little as the table says (common practice, no published source).
#[test]
fn a_cadence_is_led() {
    let exercise = Exercise {
        progression: Progression::TwoFiveOneMajor,
        keys: vec![PitchClass::wrapping(0)],
        position: AskedPosition::FormA,
        ..Exercise::default()
    };
    let made = make(&exercise, &Taste::default()).unwrap();
    let notes: Vec<Vec<u8>> = made
        .drill
        .questions
        .iter()
        .map(|asked| {
            asked
                .question
                .voiced
                .voicing
                .notes()
                .map(|n| n.number())
                .collect()
        })
        .collect();
    assert_eq!(
        notes,
        [[53, 57, 60, 64], [53, 57, 59, 64], [52, 55, 59, 62]]
    );
}

#[test]
fn what_is_empty_is_told() {
    let taste = Taste::default();
    let no_keys = Exercise {
        keys: Vec::new(),
        ..Exercise::default()
    };
    assert_eq!(make(&no_keys, &taste), Err(NoDrill::NoKeys));
    let no_families = Exercise {
        families: Vec::new(),
        ..Exercise::default()
    };
    assert_eq!(make(&no_families, &taste), Err(NoDrill::NoFamilies));
    let in_progression = Exercise {
        families: Vec::new(),
        progression: Progression::TwoFiveOneMinor,
        ..Exercise::default()
    };
    assert_eq!(make(&in_progression, &taste).unwrap().drill.items.len(), 12);
    let exercise = Exercise::default();
    assert_eq!(of_chart(&exercise, "| N.C. |"), Err(NoDrill::NoChords));
    let beyond = Exercise {
        bars: Some((4, 5)),
        ..Exercise::default()
    };
    let two_bars = of_chart(&beyond, "| Dm7 | G7 |");
    assert_eq!(two_bars, Err(NoDrill::BeyondEnd { bars: 2 }));
    let silent = Exercise {
        bars: Some((2, 2)),
        ..Exercise::default()
    };
    assert_eq!(
        of_chart(&silent, "| Dm7 | N.C. |"),
        Err(NoDrill::SilentBars)
    );
}

/// A chord that has no place is left out, and told with its reason.
#[test]
fn what_has_no_place_is_left_out_and_told() {
    let fourths = Taste {
        texture: Texture::Fourths,
        ..Taste::default()
    };
    let third = Exercise {
        position: AskedPosition::Third,
        ..Exercise::default()
    };
    let made = make(&third, &fourths);
    let told = match &made {
        Ok(made) => &made.told,
        Err(NoDrill::NothingLeft(told)) => told,
        Err(other) => panic!("{other}"),
    };
    assert!(
        matches!(
            told[0],
            Told::LeftOut {
                why: LeftOut::Position,
                ..
            }
        ),
        "{told:?}"
    );
    let narrow = |at_most| Taste {
        register: Register {
            hand: Hand {
                at_ease: at_most,
                at_most,
            },
            ..Register::DEFAULT
        },
        ..Taste::default()
    };
    let Err(NoDrill::NothingLeft(told)) = make(&Exercise::default(), &narrow(5)) else {
        panic!("a hand that spans a fourth reaches nothing")
    };
    assert!(
        matches!(
            told[..],
            [Told::LeftOut {
                why: LeftOut::Span,
                count: 36,
                ..
            }]
        ),
        "{told:?}"
    );
    assert_eq!(
        told[0].to_string(),
        "Cm7 and 35 more chords are left out: the span asked for exceeds yours. Take a smaller texture."
    );
}

/// What is too much is cut, and told.
#[test]
fn a_drill_is_bounded() {
    let bar = "| Dm7 G7 Cm7 F7 ".repeat(400);
    let exercise = Exercise {
        origin: Origin::Chart,
        chart_keys: ChartKeys::EachRound,
        ..Exercise::default()
    };
    let made = of_chart(&exercise, &format!("{bar}|")).unwrap();
    assert_eq!(made.drill.questions.len(), 3200);
    assert_eq!(made.drill.items.len(), 2);
    assert_eq!(made.told, [Told::Cut { kept: 3200 }]);
    let bar = "| Dm7 G7 Cm7 F7 ".repeat(1100);
    let made = of_chart(&exercise, &format!("{bar}|")).unwrap();
    assert_eq!(made.drill.questions.len(), MOST_QUESTIONS);
    assert_eq!(made.drill.items.len(), 1);
}

/// A hand that takes less at ease is warned.
#[test]
fn a_wide_span_is_told() {
    let taste = Taste {
        register: Register {
            hand: Hand::new(12, 16),
            ..Register::DEFAULT
        },
        texture: Texture::Open,
        ..Taste::default()
    };
    let made = make(&Exercise::default(), &taste).unwrap();
    let told = made.told().unwrap();
    assert!(
        told.contains("more than your hand takes at ease: rest the hand"),
        "{told}"
    );
    let calm = make(&Exercise::default(), &Taste::default()).unwrap();
    assert_eq!(calm.told(), None);
}

/// A list asks for the first choice of tensions, so that a progression sounds alike in every key.
#[test]
fn a_list_sounds_alike_in_all_keys() {
    for texture in Texture::ALL {
        for progression in Progression::ALL {
            let taste = Taste {
                texture,
                ..Taste::default()
            };
            let exercise = Exercise {
                progression: *progression,
                ..Exercise::default()
            };
            let made = make(&exercise, &taste).unwrap();
            for asked in &made.drill.questions {
                let rank = asked.question.voiced.tensions.rank;
                assert_eq!(rank, 0, "{texture:?} {progression:?} {:?}", asked.cell);
            }
        }
    }
}

/// Where the register has no place for the position, the chord is left out.
#[test]
fn the_register_is_kept() {
    use guidehand_theory::candidates::Edges;
    use guidehand_theory::pitch::MidiNote;
    let taste = |lowest, highest| Taste {
        register: Register {
            lowest: MidiNote::clamp(lowest),
            highest: MidiNote::clamp(highest),
            edges: Edges::Hard,
            ..Register::DEFAULT
        },
        ..Taste::default()
    };
    let exercise = Exercise {
        families: vec![ShapeFamily::MajorSeventh],
        position: AskedPosition::Third,
        ..Exercise::default()
    };
    // The third of eight keys is F to C.
    let made = make(&exercise, &taste(53, 72)).unwrap();
    assert_eq!(made.drill.questions.len(), 8);
    for asked in &made.drill.questions {
        let lowest = asked.question.voiced.voicing.lowest().unwrap();
        assert!((53..=60).contains(&lowest.number()));
    }
    let told = &made.told[..];
    assert!(
        matches!(
            told,
            [Told::LeftOut {
                why: LeftOut::Register,
                count: 4,
                ..
            }]
        ),
        "{told:?}"
    );
    // A register in which nothing has a place.
    let none = make(&exercise, &taste(53, 54)).unwrap_err();
    let NoDrill::NothingLeft(told) = none else {
        panic!("{none}")
    };
    assert!(
        matches!(
            told[..],
            [Told::LeftOut {
                why: LeftOut::Register,
                count: 12,
                ..
            }]
        ),
        "{told:?}"
    );
}
