//! The VST3 build in a host of other people's making: pedalboard, in the Python environment of
//! the tests.

#[path = "../python/mod.rs"]
mod python;

use crate::plugin;
use crate::vst3::bundle;
use serde_json::{Value, json};
use std::path::Path;
use std::process::Command;

/// What the host found, from the last line: the plugin may log before it.
fn found() -> Value {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/independent_host.py");
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).parent().unwrap();
    let python = python::for_tests(target);
    let output = python::run(Command::new(python).arg(script).arg(bundle()));
    let line = output.lines().last().expect("an answer");
    serde_json::from_str(line).unwrap_or_else(|error| panic!("{error}: {output}"))
}

#[test]
fn an_independent_host_loads_plays_saves_and_restores() {
    let found = found();
    assert_eq!(found["name"], "Guidehand");
    assert_eq!(found["maker"], "Guidehand");
    assert_eq!(found["category"], "Instrument|Tools");
    assert_eq!(found["version"], env!("CARGO_PKG_VERSION"));
    assert_eq!(found["instrument"], true);
    expect_parameters(&found["parameters"]);

    // It asks each parameter for a thousand texts, twice, but for those that
    // stand for controllers. It lists them all the same, and without that it would drop what they send.
    let own = found["parameters"].as_array().unwrap().len();
    assert_eq!(found["listed"], own + 16 * 130);
    assert!(
        found["texts"].as_u64() <= Some(own as u64 * 2 * 1_001),
        "{}",
        found["texts"]
    );
    assert!(found["volume"].as_f64() > Some(0.01), "it has no volume");
    assert_eq!(found["all_notes_off"], 0.0, "a controller arrives");

    for which in ["tone", "small_blocks", "tone_changed", "tone_restored"] {
        let tone = &found[which];
        assert_eq!(tone["finite"], true, "{which}");
        assert_eq!(tone["before"], 0.0, "{which} before the key is struck");
        let peak = tone["within"].as_f64().unwrap();
        assert!(
            peak > 0.01 && peak < plugin::CEILING.into(),
            "{which}: {peak}"
        );
        assert_eq!(tone["after"], 0.0, "{which} long after the key");
        let hz = tone["strongest_hz"].as_f64().unwrap();
        assert!((50.0..2_000.0).contains(&hz), "{which}: {hz} Hz");
    }
    for silent in ["unplayed", "switched_off"] {
        assert_eq!(found[silent]["within"], 0.0, "{silent}");
    }
    assert_eq!(found["changed"], json!(["key", "swing", "texture"]));
    assert_ne!(found["tone"], found["tone_changed"], "another chord");
    assert_eq!(found["other_differs"], true);
    assert_eq!(found["restored"], true);
    assert_eq!(found["words"], json!(["Drop 2", "Eb", 55.0]));
    assert_eq!(
        found["tone_restored"], found["tone_changed"],
        "the same chord"
    );
    assert_eq!(found["restored_twice"], true);
}

/// The host lists the plugin's own parameters in order, with their words.
fn expect_parameters(found: &Value) {
    let mut host = plugin::untouched();
    let visible = host.params().to_vec();
    let expected: Vec<(String, String)> = visible
        .iter()
        .map(|param| {
            let words = host.value_to_text(param.id, param.default).unwrap();
            (param.name.clone(), words)
        })
        .collect();
    let found = found.as_array().unwrap();
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for (row, (name, words)) in found.iter().zip(&expected) {
        assert_eq!(row[0], name.as_str());
        // The unit is told apart from the value.
        let without_unit = row[1].as_str().unwrap();
        assert!(words.starts_with(without_unit), "{name}: {row} for {words}");
    }
}
