//! Random sessions.

use super::*;
use proptest::prelude::*;

fn steps() -> impl Strategy<Value = Vec<(u32, Step)>> {
    let key = 55_u8..80;
    let step = prop_oneof![
        6 => key.clone().prop_map(On),
        6 => key.prop_map(Off),
        1 => Just(Panic),
        1 => Just(Stop),
        1 => (0_u32..20).prop_map(|beat| Play(f64::from(beat))),
        1 => (0_u32..3).prop_map(Record),
        1 => Just(Chart("3/4 | F6 | Bb7 / / | Am7 D7 / |")),
        1 => Just(Chart("Pickup G7 | C6 | F6 |")),
        1 => Just(Reset),
    ];
    proptest::collection::vec((1_u32..40_000, step), 1..60).prop_map(|steps| {
        let mut time = 0;
        let timed = steps.into_iter().map(|(after, step)| {
            time += after;
            (time, step)
        });
        std::iter::once(ON).chain(timed).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Whatever happens, the same is recorded in blocks of any size, every key ends once, and every
    /// place lies in the chart.
    #[test]
    fn any_session_is_recorded_alike(
        steps in steps(),
        looped in proptest::option::of((0_u32..6, 1_u32..9)),
    ) {
        let host = Host {
            looped: looped.map(|(from, length)| (f64::from(from), f64::from(from + length))),
            ..Host::default()
        };
        let frames = steps.last().unwrap().0 + 100_000;
        let mut steps = steps;
        // How a host turns its loop is read from where its blocks begin, so that jumps to the start of a
        // loop are not the same in blocks of any size.
        steps.retain(|(_, step)| looped.is_none() || !matches!(step, Play(_)));
        steps.push((frames - 1000, Record(0)));
        let taken = host.play(&steps, frames);
        let pressed = steps.iter().filter(|(_, step)| matches!(step, On(60..))).count();
        prop_assert!(notes(&taken).len() <= pressed);
        for (key, (start, end), (pass, ended)) in notes(&taken) {
            prop_assert!(key >= 60 && start < ROUND && end <= ROUND && pass <= ended);
            prop_assert!(pass != ended || start <= end);
        }
    }
}
