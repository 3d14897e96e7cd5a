//! The parameters of the VST3 build: the same as the CLAP build's, with the same
//! words.

use crate::plugin;
use crate::vst3::{set, untouched};
use clack_extensions::params::ParamInfoFlags;
use guidehand_tests::vst3::{Instance, Param};
use guidehand_tests::{Event, TimedEvent};

#[test]
fn parameters_are_those_of_the_other_format() {
    let instance = untouched();
    let host = plugin::untouched();
    let own: Vec<&Param> = instance.own_params().collect();
    assert_eq!(own.len(), host.params().len());
    for (ours, theirs) in own.iter().zip(host.params()) {
        assert_eq!((ours.id, &ours.name), (theirs.id, &theirs.name));
        assert_eq!(ours.short_name, ours.name);
        let has = |flag| theirs.flags.contains(flag);
        let name = &ours.name;
        assert_eq!(
            ours.is_automatable(),
            has(ParamInfoFlags::IS_AUTOMATABLE),
            "{name}"
        );
        assert_eq!(ours.is_hidden(), has(ParamInfoFlags::IS_HIDDEN), "{name}");
        assert_eq!(ours.is_bypass(), has(ParamInfoFlags::IS_BYPASS), "{name}");
        let default = ours.normalized(theirs.default);
        assert!((ours.default - default).abs() < 1e-6, "{name}: {ours:?}");
        assert_eq!(instance.param_value(ours.id), ours.default, "{name}");
        if has(ParamInfoFlags::IS_STEPPED) {
            assert_eq!(f64::from(ours.step_count), theirs.max, "{name}");
        }
    }
    assert_eq!(own.iter().filter(|param| param.is_bypass()).count(), 1);
}

/// Every step of a parameter, or a hundred values of one without steps.
fn values(param: &Param) -> Vec<f64> {
    let steps = if (1..=1_000).contains(&param.step_count) {
        param.step_count
    } else {
        100
    };
    (0..=steps)
        .map(|step| f64::from(step) / f64::from(steps))
        .collect()
}

#[test]
fn words_are_those_of_the_other_format_and_come_back() {
    let instance = untouched();
    let mut host = plugin::untouched();
    for param in instance.own_params() {
        let max = host.param(param.id).unwrap().max;
        for value in values(param) {
            let words = instance.value_to_text(param.id, value).unwrap();
            let with_unit = format!("{words}{}", param.units);
            let theirs = host.value_to_text(param.id, value * max).unwrap();
            assert_eq!(with_unit, theirs, "{} at {value}", param.name);
            for typed in [&words, &with_unit] {
                let read = instance.text_to_value(param.id, typed).unwrap();
                let again = instance.value_to_text(param.id, read).unwrap();
                assert_eq!(again, words, "{}: {typed:?} is read as {read}", param.name);
            }
        }
    }
}

#[test]
fn plain_values_come_back() {
    let instance = untouched();
    for param in instance.own_params() {
        let mut before = f64::MIN;
        for value in values(param) {
            let (plain, back) = instance.plain_and_back(param.id, value);
            // A plain value is rounded to its steps once and only once.
            let (again, _) = instance.plain_and_back(param.id, back);
            let single_precision = plain.abs() * 1e-6;
            let error = (again - plain).abs();
            assert!(error <= single_precision, "{} at {value}", param.name);
            assert!(plain >= before, "{}: {plain} after {before}", param.name);
            before = plain;
        }
    }
}

#[test]
fn nonsense_is_refused() {
    let mut instance = untouched();
    let texture = instance.param_by_name("Texture").unwrap().id;
    for words in ["", "nonsense", "\u{1d11e}", &"long ".repeat(1_000)] {
        assert!(instance.text_to_value(texture, words).is_err(), "{words:?}");
    }
    let unknown = (1..)
        .find(|id| instance.param(*id).is_err())
        .expect("not every number is an id");
    assert!(instance.value_to_text(unknown, 0.5).is_err());
    assert!(instance.text_to_value(unknown, "1").is_err());
    assert!(instance.describe_param(-1).is_err());
    let count = i32::try_from(instance.params().len()).unwrap();
    assert!(instance.describe_param(count).is_err());
    assert!(instance.describe_param(count + 1).is_err());
    // A value out of range becomes the nearest value in range.
    for (value, expected) in [(-1.0, 0.0), (2.0, 1.0)] {
        instance.set_param(texture, value).unwrap();
        assert_eq!(instance.param_value(texture), expected);
    }
}

/// While the plugin processes, the framework leaves a value to the block, because hosts send it
/// there too.
#[test]
fn a_value_acts_at_once_without_processing_and_with_the_next_block_otherwise() {
    let mut instance = untouched();
    let split = instance.param_by_name("Split").unwrap().clone();
    let now = |instance: &Instance| {
        let value = instance.param_value(split.id);
        instance.value_to_text(split.id, value).unwrap()
    };
    set(&mut instance, "Split", "C3");
    assert_eq!(now(&instance), "C3");

    instance.start(48_000.0, 64).unwrap();
    set(&mut instance, "Split", "C5");
    assert_eq!(now(&instance), "C3");
    let value = instance.text_to_value(split.id, "C5").unwrap() * f64::from(split.step_count);
    let change = Event::Param {
        id: split.id,
        value,
    };
    let events = [TimedEvent::new(10, change)];
    instance.process(64, &events, None).unwrap();
    assert_eq!(now(&instance), "C5");
    assert_eq!(instance.told(), [], "the edits were the host's own");
}
