//! Exercises as JSON: what is saved comes back, and any value will do.

use super::*;
use proptest::prelude::*;

fn read(text: &str) -> Exercise {
    serde_json::from_str(text).unwrap()
}

/// The names are frozen: projects are saved with them.
#[test]
fn the_first_exercise_is_saved_so() {
    let saved = serde_json::to_value(Exercise::default()).unwrap();
    let expected = json!({
        "origin": "list",
        "chart_keys": "as written",
        "families": ["m7", "7", "maj7"],
        "dressings": [],
        "progression": "single chords",
        "position": "either",
        "keys": ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"],
        "order": "fourths",
        "which": "all",
        "accepts": "same tensions",
        "leading": false,
        "pace": "free",
        "help": "nothing",
        "more_after_s": 5,
        "answer_sounds": false,
        "seed": 1
    });
    assert_eq!(saved, expected);
}

#[test]
fn every_choice_has_a_frozen_name() {
    let names = |all: Vec<&str>| all.join(" | ");
    let all = [
        names(Origin::ALL.iter().map(|one| one.name()).collect()),
        names(Progression::ALL.iter().map(|one| one.name()).collect()),
        names(AskedPosition::ALL.iter().map(|one| one.name()).collect()),
        names(KeyOrder::ALL.iter().map(|one| one.name()).collect()),
        names(Which::ALL.iter().map(|one| one.name()).collect()),
        names(Help::ALL.iter().map(|one| one.name()).collect()),
        names(ACCEPTS.iter().map(|(_, name)| *name).collect()),
    ];
    let expected = [
        "list | chart",
        "single chords | ii-V | ii-V-I | ii-V-i | I-VI-ii-V | iii-VI-ii-V | i-vi-ii-V | blues | \
         jazz blues | minor blues",
        "either | third | seventh | A | B",
        "fourths | half steps down | half steps up | whole steps | minor thirds | shuffled",
        "all | due",
        "nothing | guide tones | everything",
        "exact | same tensions | any good",
    ];
    assert_eq!(all, expected);
}

#[test]
fn what_is_missing_or_unreadable_is_as_at_first() {
    for text in [
        "null",
        "[]",
        "{}",
        "7",
        r#"{"families":5,"keys":{},"seed":-1}"#,
    ] {
        let exercise = read(text);
        assert_eq!(exercise, Exercise::default(), "{text}");
    }
    let odd = read(
        r#"{"origin":"dream","order":"fifths","families":["m7","m11","m7","alt"],"position":7,
            "dressings":["b9 13","1 2","b9 13","x"],"keys":["F","C#","E#","H"],"accepts":"all"}"#,
    );
    let expected = Exercise {
        families: vec![ShapeFamily::MinorSeventh, ShapeFamily::Altered],
        dressings: vec![DegreeSet::of(&[Degree::Flat9, Degree::Thirteen])],
        keys: vec![PitchClass::wrapping(1), PitchClass::wrapping(5)],
        ..Exercise::default()
    };
    assert_eq!(odd, expected);
    // Lists that are saved empty stay empty.
    let empty = read(r#"{"families":[],"keys":[]}"#);
    assert!(empty.families.is_empty() && empty.keys.is_empty());
}

#[test]
fn values_are_brought_into_range() {
    let odd = read(
        r#"{"bars":[0,99999999],"pace":"in time","bpm":1e9,"faster_by":-4,"beats_ahead":0,
            "count_in_bars":700,"more_after_s":1}"#,
    );
    assert_eq!(odd.bars, Some((1, u16::MAX)));
    let pace = Pace::InTime {
        tempo: Tempo::Own {
            bpm: 300.0,
            faster_by: 0.0,
        },
        beats_ahead: 1,
        count_in_bars: 2,
    };
    assert_eq!((odd.pace, odd.more_after_s), (pace, Some(2)));
    assert_eq!(read(r#"{"bars":[9,3]}"#).bars, Some((9, 9)));
    assert_eq!(read(r#"{"more_after_s":null}"#).more_after_s, None);
    let by_hand = Exercise {
        pace: Pace::InTime {
            tempo: Tempo::Own {
                bpm: f64::NAN,
                faster_by: f64::INFINITY,
            },
            beats_ahead: 9,
            count_in_bars: 0,
        },
        ..Exercise::default()
    };
    let pace = Pace::InTime {
        tempo: Tempo::Own {
            bpm: Tempo::FIRST_BPM,
            faster_by: 0.0,
        },
        beats_ahead: 8,
        count_in_bars: 0,
    };
    assert_eq!(by_hand.limited().pace, pace);
}

#[test]
fn what_a_later_version_has_saved_is_kept() {
    let text = r#"{"origin":"chart","hands":[2,{"left":true}]}"#;
    let exercise = read(text);
    assert_eq!(exercise.origin, Origin::Chart);
    let saved = serde_json::to_value(&exercise).unwrap();
    assert_eq!(saved.get("hands"), Some(&json!([2, {"left": true}])));
    assert_eq!(serde_json::from_value::<Exercise>(saved).unwrap(), exercise);
}

fn any_exercise() -> impl Strategy<Value = Exercise> {
    let one = |count: usize| 0..count;
    let choices = (
        one(Origin::ALL.len()),
        one(Progression::ALL.len()),
        one(AskedPosition::ALL.len()),
        one(KeyOrder::ALL.len()),
        one(Which::ALL.len()),
        one(Help::ALL.len()),
        one(ACCEPTS.len()),
    );
    let lists = (
        prop::sample::subsequence(ShapeFamily::ALL.to_vec(), 0..=10).prop_shuffle(),
        prop::collection::vec(0u8..12, 0..14),
        prop::collection::vec(0usize..11, 0..8),
    );
    let pace = prop_oneof![
        Just(Pace::Free),
        (
            any::<bool>(),
            any::<f64>(),
            any::<f64>(),
            any::<u8>(),
            any::<u8>()
        )
            .prop_map(
                |(host, bpm, faster_by, beats_ahead, count_in_bars)| Pace::InTime {
                    tempo: if host {
                        Tempo::Host
                    } else {
                        Tempo::Own { bpm, faster_by }
                    },
                    beats_ahead,
                    count_in_bars,
                }
            )
    ];
    let others = (
        any::<Option<(u16, u16)>>(),
        prop_oneof![
            Just(ChartKeys::AsWritten),
            Just(ChartKeys::EachRound),
            (0..12i32).prop_map(|key| ChartKeys::In(PitchClass::wrapping(key)))
        ],
        any::<[bool; 2]>(),
        any::<Option<u8>>(),
        any::<u64>(),
    );
    (choices, lists, pace, others).prop_map(|(choices, lists, pace, others)| {
        let dressings: Vec<DegreeSet> = guidehand_theory::dressing::stock_dressings()
            .map(|one| one.degrees())
            .collect();
        let (bars, chart_keys, [leading, answer_sounds], more_after_s, seed) = others;
        Exercise {
            origin: Origin::ALL[choices.0],
            bars,
            chart_keys,
            families: lists.0,
            dressings: lists.2.into_iter().map(|at| dressings[at]).collect(),
            progression: Progression::ALL[choices.1],
            position: AskedPosition::ALL[choices.2],
            keys: lists
                .1
                .into_iter()
                .map(|key| PitchClass::wrapping(key.into()))
                .collect(),
            order: KeyOrder::ALL[choices.3],
            which: Which::ALL[choices.4],
            accepts: ACCEPTS[choices.6].0,
            leading,
            pace,
            help: Help::ALL[choices.5],
            more_after_s,
            answer_sounds,
            seed,
            unknown: Map::new(),
        }
    })
}

proptest! {
    #[test]
    fn what_is_saved_comes_back(exercise in any_exercise()) {
        let exercise = exercise.limited();
        prop_assert_eq!(&exercise.clone().limited(), &exercise);
        let text = serde_json::to_string(&exercise).unwrap();
        prop_assert_eq!(read(&text), exercise);
    }
}
