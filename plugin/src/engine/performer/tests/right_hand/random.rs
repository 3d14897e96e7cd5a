//! Random hands: what sounds does not depend on the sizes of the blocks, and no note hangs.

use super::*;
use guidehand_theory::shape::Texture;
use proptest::prelude::*;

const LENGTH: u32 = 12 * BEAT;

const CHARTS: [&str; 3] = [
    "| Dm7b5 G7 | Cm6 | F7 Bb7 | Ebmaj7 |",
    "| C6 | N.C. | G7b9 | 3/4 Am7 |",
    "Pickup G7 | Cmaj7 A7 | Dm7 G7 |",
];

/// A melody that is written over each of them.
const MELODIES: [&str; 3] = [
    "| F5/2 A5 | Eb5/1 | r/2 D5 | Ab5/1 |",
    "| B5/1 | C5/1 | A5 |",
    "| A5 | C5/1 | r/2 Bb5 |",
];

#[derive(Clone, Debug)]
struct Case {
    settings: Vec<(u32, Settings)>,
    keys: Vec<(u32, u32, u8)>,
    turns: Vec<(u32, Option<f64>)>,
    chart: usize,
    /// What the chart is planned for, if a melody is written over it.
    planned_for: Option<Yielding>,
    sizes: Vec<u32>,
}

fn yieldings() -> impl Strategy<Value = Yielding> {
    prop::sample::select(vec![
        Yielding::Off,
        Yielding::Tensions,
        Yielding::TensionsAndRegister,
    ])
}

fn settings() -> impl Strategy<Value = Settings> {
    let source = prop::sample::select(vec![
        Source::Chart,
        Source::Chart,
        Source::Roots,
        Source::Bass,
        Source::Reading,
    ]);
    let yielding = yieldings();
    let under = prop::option::of(prop::sample::select(Style::ALL.to_vec()));
    let rhythm = prop::sample::select(Rhythm::ALL.to_vec());
    let split = prop::sample::select(vec![52_u8, 60, 72]);
    let texture = prop::sample::select(Texture::ALL.to_vec());
    let space = prop::sample::select(vec![0.0, 0.5, 1.0]);
    let switches = any::<[bool; 6]>();
    (
        source,
        yielding,
        under,
        rhythm,
        (split, texture),
        space,
        switches,
    )
        .prop_map(
            |(source, yielding, under, rhythm, (split, texture), space, switches)| {
                let [revoices, comps, gate, inner_lines, at_once, bypass] = switches;
                let mut settings = Settings::plain(source);
                settings.split = split;
                settings.taste.texture = texture;
                settings.comps = comps;
                settings.at_once = at_once;
                settings.bypass = bypass && inner_lines && gate;
                settings.chart.gate = gate && revoices;
                settings.chart.inner_lines = inner_lines;
                settings.groove.rhythm = rhythm;
                settings.groove.touch_seconds = 0.01;
                settings.right_hand = RightHandSettings {
                    yielding,
                    revoices,
                    space,
                    under,
                    single_under_ms: 60,
                };
                settings
            },
        )
}

fn cases() -> impl Strategy<Value = Case> {
    // Some on the beat, where chords are struck.
    let time = || prop_oneof![0..LENGTH, (0..24_u32).prop_map(|eighth| eighth * BEAT / 2)];
    let key = (time(), 1..3 * BEAT, 40..86_u8);
    let turn = (0..LENGTH, prop::option::weighted(0.8, 0.0..9.0_f64));
    let moved = (0..LENGTH, settings());
    (
        settings(),
        prop::collection::vec(moved, 0..3),
        prop::collection::vec(key, 0..40),
        prop::collection::vec(turn, 0..3),
        (0..CHARTS.len(), prop::option::of(yieldings())),
        prop::collection::vec(1..6000_u32, 1..6),
    )
        .prop_map(
            |(first, mut moved, keys, turns, (chart, planned_for), sizes)| {
                moved.push((0, first));
                Case {
                    settings: moved,
                    keys,
                    turns,
                    chart,
                    planned_for,
                    sizes,
                }
            },
        )
}

/// What happens, in order. A key that is struck again while it is down ends first.
fn steps(case: &Case) -> Vec<(u32, Step)> {
    let mut steps: Vec<(u32, Step)> = Vec::new();
    for (at, lasts, key) in &case.keys {
        let until = (at + lasts).min(LENGTH);
        let overlaps = |other: &(u32, u32, u8)| {
            let earlier = (other.0, other.1) < (*at, *lasts);
            earlier && other.2 == *key && other.0 + other.1 >= *at
        };
        if !case.keys.iter().any(overlaps) {
            steps.extend([(*at, Step::On(*key)), (until, Step::Off(*key))]);
        }
    }
    let set = case.settings.iter().map(|(at, new)| (*at, Step::Set(*new)));
    let turns = case.turns.iter().map(|(at, to)| match to {
        Some(beat) => (*at, Step::Play(*beat)),
        None => (*at, Step::Stop),
    });
    steps.extend(set.chain(turns));
    let mut last = *steps
        .iter()
        .filter_map(|(at, step)| match step {
            Step::Set(settings) => Some((at, settings)),
            _ => None,
        })
        .max_by_key(|(at, _)| **at)
        .unwrap()
        .1;
    last.bypass = true;
    steps.push((LENGTH, Step::Set(last)));
    // Where a block is cut, it begins before its keys.
    let cuts = |step: &Step| !matches!(step, Step::Set(_) | Step::Play(_) | Step::Stop);
    steps.sort_by_key(|(at, step)| (*at, cuts(step)));
    steps
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 48,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn what_sounds_does_not_depend_on_blocks_and_ends(case in cases()) {
        let text = CHARTS[case.chart];
        let song = match case.planned_for {
            None => chart_of(text),
            Some(yielding) => chart_under(text, MELODIES[case.chart], yielding),
        };
        let steps = steps(&case);
        let play_in = |sizes: &[u32]| {
            play_steps(Settings::plain(Source::Chart), Some(&song), &steps, LENGTH + 64, sizes)
        };
        let whole = play_in(&[LENGTH]);
        let cut = play_in(&case.sizes);
        prop_assert_eq!(&whole.events, &cut.events);
        prop_assert_eq!(whole.shown.under, cut.shown.under);
        prop_assert_eq!(whole.hanging(), []);
    }
}
