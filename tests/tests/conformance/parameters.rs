//! Parameters: their descriptions, values to words and back, flushes at every stage, and
//! modulation.

use super::{OutputCheck, instance, on_roots, set, started};
use clap_sys::ext::params::{
    CLAP_PARAM_IS_AUTOMATABLE, CLAP_PARAM_IS_BYPASS, CLAP_PARAM_IS_HIDDEN,
    CLAP_PARAM_IS_MODULATABLE, CLAP_PARAM_IS_PERIODIC, CLAP_PARAM_IS_READONLY,
    CLAP_PARAM_IS_STEPPED,
};
use clap_sys::id::CLAP_INVALID_ID;
use guidehand_tests::raw::events::{gesture, modulation, off, on, value};
use guidehand_tests::raw::params::{self, ParamInfo};
use guidehand_tests::raw::stream::{self, Manner};
use guidehand_tests::raw::{Events, Instance};
use std::collections::HashSet;

fn one(event: guidehand_tests::raw::RawEvent) -> Events {
    Events::new(vec![event])
}

/// The two ends of a parameter's range, the default last.
fn values_of(param: &ParamInfo) -> [f64; 3] {
    [param.min, param.max, param.default]
}

/// `clap/ext/params.h`: the information of a parameter is had by its index, and the call may fail.
#[test]
fn there_is_no_parameter_beyond_the_last() {
    let instance = instance();
    let count = u32::try_from(params::all(&instance).len()).unwrap();
    assert!(params::param(&instance, count - 1).is_some());
    for index in [count, count + 1, u32::MAX] {
        assert_eq!(params::param(&instance, index), None, "{index}");
    }
}

#[test]
fn parameters_are_described_as_they_are() {
    let instance = instance();
    let params = params::all(&instance);
    let ids: HashSet<u32> = params.iter().map(|param| param.id).collect();
    assert_eq!(ids.len(), params.len());
    assert!(!ids.contains(&CLAP_INVALID_ID));
    for param in &params {
        assert!(
            !param.name.is_empty() && param.name.trim() == param.name,
            "{param:?}"
        );
        assert!(
            !param.module.starts_with('/') && !param.module.ends_with('/'),
            "{param:?}"
        );
        assert!(param.min < param.max, "{param:?}");
        assert!(
            (param.min..=param.max).contains(&param.default),
            "{param:?}"
        );
        if param.has(CLAP_PARAM_IS_STEPPED) {
            let whole = |value: f64| value.fract() == 0.0;
            assert!(whole(param.min) && whole(param.max), "{param:?}");
        }
        // The bypass switch has two steps.
        let is_switch = param.has(CLAP_PARAM_IS_STEPPED) && param.max - param.min == 1.0;
        assert!(!param.has(CLAP_PARAM_IS_BYPASS) || is_switch, "{param:?}");
        assert!(!param.has(CLAP_PARAM_IS_PERIODIC), "{param:?}");
        // A parameter that the user cannot turn must not be automated by the host, either.
        let fixed = CLAP_PARAM_IS_HIDDEN | CLAP_PARAM_IS_READONLY;
        let turned = CLAP_PARAM_IS_AUTOMATABLE | CLAP_PARAM_IS_MODULATABLE;
        assert!(
            param.flags & fixed == 0 || param.flags & turned == 0,
            "{param:?}"
        );
    }
    let bypasses = params
        .iter()
        .filter(|param| param.has(CLAP_PARAM_IS_BYPASS));
    assert_eq!(bypasses.count(), 1);
    // The index after the last is not tried, because the framework ends the process there.
    assert_eq!(params::param(&instance, u32::MAX), None);
}

#[test]
fn a_fresh_instance_has_the_defaults() {
    let instance = instance();
    for param in params::all(&instance) {
        let value = params::value(&instance, param.id).unwrap();
        assert!((value - param.default).abs() < 1e-6, "{value} of {param:?}");
    }
}

#[test]
fn what_is_no_parameter_has_no_value() {
    let instance = instance();
    let ids: HashSet<u32> = params::all(&instance)
        .iter()
        .map(|param| param.id)
        .collect();
    for id in [0, 1, CLAP_INVALID_ID, CLAP_INVALID_ID - 1] {
        assert!(!ids.contains(&id));
        assert_eq!(params::value(&instance, id), None);
        assert_eq!(params::words(&instance, id, 0.0, 64), None);
        assert_eq!(params::from_words(&instance, id, c"1"), None);
    }
}

/// The words are cut to any size of the host's buffer, and end with a null.
#[test]
fn words_fit_any_room() {
    let instance = instance();
    for param in params::all(&instance) {
        for value in values_of(&param) {
            let full = params::words(&instance, param.id, value, 256).unwrap();
            assert!(!full.is_empty() && full.is_ascii(), "{param:?}: {full:?}");
            for bytes in [1, 2, 3, 5, 7, 16, 31] {
                let cut = params::words(&instance, param.id, value, bytes).unwrap();
                let room = full.len().min(bytes as usize - 1);
                assert_eq!(cut, full[..room], "{param:?}");
            }
        }
    }
}

/// A host may ask for words of any value, and read any bytes as words.
#[test]
fn odd_values_have_words_and_odd_words_do_no_harm() {
    let instance = instance();
    for param in params::all(&instance) {
        for odd in [
            f64::NAN,
            f64::INFINITY,
            f64::NEG_INFINITY,
            -1e300,
            1e300,
            0.3,
        ] {
            if let Some(words) = params::words(&instance, param.id, odd, 64) {
                assert!(!words.is_empty(), "{odd} of {param:?}");
            }
        }
        for odd in [c"", c" ", c"\xff\xfe", c"\xc3", c"%s%n", c"\t\n", c"- -"] {
            if let Some(value) = params::from_words(&instance, param.id, odd) {
                let range = param.min..=param.max;
                assert!(range.contains(&value), "{odd:?} is {value} of {param:?}");
            }
        }
    }
}

/// A value that is flushed before activation, between activation and start, or while the plugin
/// processes takes effect at once, and is saved.
#[test]
fn a_flush_acts_at_every_stage() {
    let instance = instance();
    for param in params::all(&instance) {
        let [least, most, at_first] = values_of(&param);
        let expect = |stage: &str, expected: f64| {
            let found = params::value(&instance, param.id).unwrap();
            assert!(
                (found - expected).abs() < 1e-6,
                "{stage}: {found} of {param:?}"
            );
        };
        let set = |to: f64| one(value(0, param.id, to));
        assert!(params::flush(&instance, &set(least)).is_empty());
        expect("inactive", least);
        {
            let mut processor = instance.activate(48_000.0, (1, 64)).unwrap();
            assert!(processor.flush(&set(most)).is_empty());
            expect("active", most);
            assert!(processor.start());
            assert!(processor.flush(&set(least)).is_empty());
            expect("processing", least);
            processor.process(64, &Events::default(), None);
            expect("after a block", least);
            processor.stop();
            assert!(processor.flush(&set(at_first)).is_empty());
            expect("stopped", at_first);
        }
        expect("inactive again", at_first);
    }
}

/// The framework keeps values in single precision as parts of the whole range. A step comes back
/// slightly off the whole number, sometimes below it, and hosts have to round.
#[test]
fn every_step_comes_back_as_the_nearest_whole_number() {
    let instance = instance();
    for param in params::all(&instance) {
        if !param.has(CLAP_PARAM_IS_STEPPED) {
            continue;
        }
        let mut step = param.min;
        while step <= param.max {
            params::flush(&instance, &one(value(0, param.id, step)));
            let found = params::value(&instance, param.id).unwrap();
            assert_eq!(found.round(), step, "{found} of {param:?}");
            assert!(
                (param.min..=param.max).contains(&found),
                "{found} of {param:?}"
            );
            step += 1.0;
        }
    }
}

/// A flush may contain anything that a host has in its queue. Only values count, because notes
/// belong in blocks.
#[test]
fn a_flush_takes_values_only() {
    let instance = on_roots();
    let split = params::named(&instance, "Split").id;
    let queue = Events::new(vec![
        gesture(0, split, true),
        value(0, split, 40.0),
        on(0, 50),
        value(0, split, 61.0),
        value(0, CLAP_INVALID_ID, 1.0),
        value(0, split, f64::NAN),
        gesture(0, split, false),
    ]);
    assert!(params::flush(&instance, &queue).is_empty());
    assert!(params::flush(&instance, &Events::default()).is_empty());
    let found = params::value(&instance, split).unwrap();
    assert_eq!(found.round(), 61.0, "the last one holds");
    let mut processor = started(&instance, 64);
    assert!(processor.flush(&queue).is_empty());
    let played = processor.process(64, &Events::default(), None);
    assert!(played.events.is_empty(), "{:?}", played.events);
}

/// A value that a host flushes while the plugin sounds takes effect in the block after the flush.
#[test]
fn a_flush_is_heard() {
    let instance = on_roots();
    let bypass = params::named(&instance, "Bypass").id;
    let mut processor = started(&instance, 64);
    let mut ear = OutputCheck::default();
    ear.hear(&processor.process(64, &one(on(0, 50)), None), 64);
    assert_eq!(ear.sounding(), 4);
    processor.flush(&one(value(0, bypass, 1.0)));
    ear.hear(&processor.process(64, &Events::default(), None), 64);
    ear.expect_silence();
}

fn saved(instance: &Instance) -> Vec<u8> {
    stream::save(instance, Manner::WHOLE).expect("a state")
}

/// Modulation changes what is heard, not what is saved. When it is taken back, everything is as
/// before.
#[test]
fn modulation_moves_what_is_heard_and_not_what_is_saved() {
    let instance = on_roots();
    set(&instance, "Texture", c"Guide tones");
    let texture = params::named(&instance, "Texture");
    assert!(texture.has(CLAP_PARAM_IS_MODULATABLE));
    let before = saved(&instance);
    let mut processor = started(&instance, 64);
    for (amount, notes) in [
        (0.0, 2),
        (2.0, 4),
        (1e9, 0),
        (-1e9, 2),
        (f64::NAN, 2),
        (0.0, 2),
    ] {
        let mut ear = OutputCheck::default();
        let block = Events::new(vec![
            modulation(0, texture.id, amount),
            on(7, 50),
            off(60, 50),
        ]);
        ear.hear(&processor.process(64, &block, None), 64);
        if notes > 0 {
            assert_eq!(ear.note_ons, notes, "{amount}");
        }
        assert_eq!(saved(&instance), before, "{amount}");
    }
}

#[test]
fn every_parameter_bears_modulation() {
    let instance = on_roots();
    let before = saved(&instance);
    let params = params::all(&instance);
    let mut processor = started(&instance, 64);
    let mut ear = OutputCheck::default();
    for amount in [-1e9, -0.5, 0.5, 3.0, 1e9, 0.0] {
        let all = params.iter().map(|param| modulation(0, param.id, amount));
        let all = all.chain([on(3, 50), off(50, 50)]);
        ear.hear(
            &processor.process(64, &Events::new(all.collect()), None),
            64,
        );
        for param in &params {
            let value = params::value(&instance, param.id).unwrap();
            assert!(
                (param.min..=param.max).contains(&value),
                "{value} of {param:?}"
            );
        }
    }
    assert_eq!(saved(&instance), before);
}
