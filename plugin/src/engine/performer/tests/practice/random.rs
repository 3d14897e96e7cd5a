//! Random players, hosts and exercises: what happens does not depend on the sizes of the blocks, and no
//! note hangs.

use super::*;
use crate::engine::practising::Asking;
use guidehand_practice::{ChartToAsk, Origin};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// Samples that a case takes.
const LENGTH: u64 = 12 * RATE;

/// What is asked is asked at these times only, so that it comes with a block in every division.
const ASKS_EVERY: u64 = RATE;

/// What a player does.
#[derive(Clone, Debug)]
struct Case {
    exercise: Exercise,
    keys: Vec<(u64, u64, Touch)>,
    asks: Vec<(u64, PracticeAsk)>,
    host: usize,
    sizes: Vec<u32>,
    split: u8,
}

/// What is played: any keys, or the chord of one of the questions, with a finger off.
#[derive(Clone, Debug)]
enum Touch {
    Any(Vec<u8>),
    Chord {
        nth: usize,
        off: Option<(usize, i8)>,
        apart: u64,
    },
}

fn touches() -> impl Strategy<Value = Touch> {
    let any = prop::collection::vec(36..84_u8, 1..5).prop_map(Touch::Any);
    let off = prop::option::of((0..4_usize, prop::sample::select(vec![-12_i8, -1, 1, 12])));
    let apart = prop::sample::select(vec![0, 0, 10, 4000, 9000]);
    let chord = (0..8_usize, off, apart);
    let chord = chord.prop_map(|(nth, off, apart)| Touch::Chord { nth, off, apart });
    prop_oneof![1 => any, 4 => chord]
}

fn exercises() -> impl Strategy<Value = Exercise> {
    let tempo = prop_oneof![
        Just(Tempo::Host),
        (60..300_i32, 0..20_i32).prop_map(|(bpm, by)| Tempo::Own {
            bpm: f64::from(bpm),
            faster_by: f64::from(by)
        }),
    ];
    let in_time =
        (tempo, 1..9_u8, 0..3_u8).prop_map(|(tempo, beats_ahead, count_in_bars)| Pace::InTime {
            tempo,
            beats_ahead,
            count_in_bars,
        });
    let pace = prop_oneof![Just(Pace::Free), in_time];
    let origin = prop_oneof![Just(Origin::List), Just(Origin::Chart)];
    let progression = prop::sample::select(Progression::ALL.to_vec());
    let accepts = prop_oneof![
        Just(Accepts::Exact),
        Just(Accepts::SameTensions),
        Just(Accepts::AnyGood)
    ];
    let more = prop::option::of(2..5_u8);
    let chosen = (origin, progression, accepts, any::<bool>(), any::<bool>());
    (pace, chosen, more, any::<u64>()).prop_map(|(pace, chosen, more_after_s, seed)| {
        let (origin, progression, accepts, leading, answer_sounds) = chosen;
        Exercise {
            origin,
            progression,
            accepts,
            leading,
            answer_sounds,
            pace,
            more_after_s,
            seed,
            ..exercise()
        }
    })
}

fn cases() -> impl Strategy<Value = Case> {
    let keys = (0..LENGTH, 1..ms(1500), touches());
    let ask = prop::sample::select(vec![PracticeAsk::End, PracticeAsk::More, PracticeAsk::Skip]);
    let ask = ((0..LENGTH / ASKS_EVERY).prop_map(|at| at * ASKS_EVERY), ask);
    let sizes = prop::collection::vec(1..3000_u32, 1..6);
    let split = prop::sample::select(vec![40_u8, 60, 72]);
    (
        exercises(),
        prop::collection::vec(keys, 0..24),
        prop::collection::vec(ask, 0..3),
        0..HOSTS.len(),
        sizes,
        split,
    )
        .prop_map(|(exercise, keys, asks, host, sizes, split)| Case {
            exercise,
            keys,
            asks,
            host,
            sizes,
            split,
        })
}

/// Hosts that stand still, play, start late, jump and loop. They change at times at which every division
/// has a block.
const HOSTS: [fn(u64) -> Option<f64>; 5] = [
    stands,
    |sample| Some(sample as f64 / 24_000.0),
    |sample| Some(sample.checked_sub(ASKS_EVERY)? as f64 / 24_000.0 + 1.3),
    |sample| {
        let beats = sample as f64 / 24_000.0;
        Some(if sample < ASKS_EVERY * 5 {
            beats
        } else {
            beats + 33.7
        })
    },
    |sample| Some((sample as f64 / 24_000.0) % 8.0),
];

/// What comes of a case.
#[derive(Debug, PartialEq)]
struct Outcome {
    sent: Vec<Sent>,
    clicks: Vec<(u64, bool)>,
    answers: Vec<Answered>,
    asking: Asking,
}

fn outcome(case: &Case, sizes: &[u32]) -> Outcome {
    let chart = chart::parse("| Dm7 G7 | Cmaj7 | Fm7 Bb7 | Ebmaj7 |").unwrap();
    let to_ask = ChartToAsk {
        chart: &chart,
        key: None,
        pins: &[],
    };
    let new = |number| lesson_over(&case.exercise, number, Some(&to_ask));
    let mut rig = Rig::new(new(1));
    rig.song = Some(PlannedChart::plan(&chart, PlanFor::default(), 0));
    rig.teach(new(2), true);
    rig.settings.split = case.split;
    rig.host = HOSTS[case.host];
    rig.loop_beats = (case.host == 4).then_some((0.0, 8.0));
    for (at, length, touch) in &case.keys {
        match touch {
            Touch::Any(keys) => rig.hold(keys, *at, at + length),
            Touch::Chord { nth, off, apart } => {
                let question = nth % rig.lesson.questions.len();
                let mut keys = rig.keys_of(u32::try_from(question).unwrap());
                if let Some((finger, by)) = off {
                    let finger = finger % keys.len();
                    keys[finger] = keys[finger].saturating_add_signed(*by);
                }
                for (nth, key) in (0_u64..).zip(&keys) {
                    rig.hold(&[*key], at + nth * apart, at + nth * apart + length);
                }
            }
        }
    }
    for second in 0..LENGTH / ASKS_EVERY {
        for (at, ask) in &case.asks {
            if *at == second * ASKS_EVERY {
                rig.ask(*ask);
            }
        }
        rig.run(ASKS_EVERY, sizes);
    }
    rig.settings.bypass = true;
    rig.run(2 * RATE, &[4096]);
    rig.assert_nothing_hangs();
    rig.settings.bypass = false;
    Outcome {
        asking: rig.asking(),
        sent: rig.sent,
        clicks: rig.clicks,
        answers: rig.answers,
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 48,
        rng_seed: RngSeed::Fixed(7),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_division_into_blocks_gives_the_same(case in cases()) {
        let whole = outcome(&case, &[u32::try_from(ASKS_EVERY).unwrap()]);
        prop_assert_eq!(&whole, &outcome(&case, &case.sizes));
        prop_assert_eq!(&whole, &outcome(&case, &[64]));
    }
}

#[test]
fn blocks_of_a_sample_give_the_same() {
    for pace in [Pace::Free, in_time(190.0).pace] {
        let case = Case {
            exercise: Exercise {
                pace,
                answer_sounds: true,
                ..exercise()
            },
            keys: (0..6)
                .map(|nth| {
                    let touch = Touch::Chord {
                        nth: usize::try_from(nth).unwrap(),
                        off: None,
                        apart: 10,
                    };
                    (nth * 61_000 + 500, 20_000, touch)
                })
                .collect(),
            asks: vec![(2 * ASKS_EVERY, PracticeAsk::Skip)],
            host: 1,
            sizes: Vec::new(),
            split: 60,
        };
        let whole = outcome(&case, &[u32::try_from(ASKS_EVERY).unwrap()]);
        assert!(!whole.answers.is_empty());
        assert_eq!(whole, outcome(&case, &[1]));
    }
}
