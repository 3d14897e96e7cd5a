//! Parameters in words, as users read and type them in a host's own panel.

use crate::plugin::guidehand;
use clack_extensions::params::ParamInfoFlags;
use guidehand_tests::HostError;
use guidehand_tests::params::Param;
use std::collections::HashSet;
use std::env;
use std::process::Command;

/// Every step of a parameter, or a hundred values of one without steps.
fn values(param: &Param) -> Vec<f64> {
    let steps = if param.flags.contains(ParamInfoFlags::IS_STEPPED) {
        param.max - param.min
    } else {
        100.0
    };
    let mut values = Vec::new();
    let mut step = 0.0;
    while step <= steps {
        values.push(param.min + (param.max - param.min) * step / steps);
        step += 1.0;
    }
    values
}

#[test]
fn every_value_comes_back_from_its_words() {
    let mut host = guidehand();
    for param in host.params().to_vec() {
        let mut seen = HashSet::new();
        let stepped = param.flags.contains(ParamInfoFlags::IS_STEPPED);
        for value in values(&param) {
            let words = host.value_to_text(param.id, value).unwrap();
            let back = host.text_to_value(param.id, &words).unwrap();
            let again = host.value_to_text(param.id, back).unwrap();
            let name = &param.name;
            assert_eq!(words, again, "{name}: {value} comes back as {back}");
            if stepped {
                assert!((value - back).abs() < 1e-3, "{name}: {value}, {words}");
                assert!(seen.insert(words), "{name}: two values have the same words");
            }
        }
    }
}

#[test]
fn words_mean_what_musicians_mean() {
    let mut host = guidehand();
    for (name, words, expected) in [
        ("Split", "C4", 60.0),
        ("Split", "F#3", 54.0),
        ("Split", "c 4", 60.0),
        ("Register from", "D3", 50.0 - 36.0),
        ("Chart velocity", "1 %", 0.0),
        ("Chart velocity", "100 %", 1.0),
        ("Audition level", "0 dB", 1.0),
        ("Audition level", "-48 dB", 0.0),
        ("Bass channel", "16", 15.0),
        ("Texture", "Two hands", 5.0),
        ("Mode", "Blues", 2.0),
        ("Hand at ease", "Octave", 0.0),
        ("Hand at ease", "minor ninth", 1.0),
        ("Hand at most", "10", 4.0),
        ("Hand at most", "Eleventh", 5.0),
        ("Minor tonic", "m(maj7)", 3.0),
    ] {
        let id = host.param_by_name(name).unwrap().id;
        let value = host.text_to_value(id, words).unwrap();
        assert!(
            (value - expected).abs() < 1e-3,
            "{name}: {words} is {value}"
        );
    }
}

#[test]
fn words_that_mean_nothing_are_refused() {
    let mut host = guidehand();
    for name in [
        "Key",
        "Texture",
        "Split",
        "Bass channel",
        "Chart velocity",
        "Hand at most",
    ] {
        let id = host.param_by_name(name).unwrap().id;
        for words in ["", " ", "xyzzy", "#", "--", "C4 and more"] {
            let result = host.text_to_value(id, words);
            assert!(
                matches!(result, Err(HostError::Refused(_))),
                "{name} takes {words:?} for {result:?}"
            );
        }
    }
}

/// Words that a user may type by mistake, or because they are easier to read.
const ODD: [&str; 16] = [
    "F\u{266f}3",
    "B\u{266d}3",
    "\u{e9}4",
    "C\u{e9}",
    "\u{221e}",
    "\u{1d11e}",
    "99999999999",
    "-99999999999",
    "C99999999999",
    "C999999999",
    "C-999999999",
    "1e40",
    "nan",
    "inf",
    "-inf dB",
    "\u{661}",
];

/// The environment variable with the words that [`read_odd_words`] reads.
const WORDS: &str = "GUIDEHAND_ODD_WORDS";

#[test]
#[ignore = "runs in a process of its own"]
fn read_odd_words() {
    let words = env::var(WORDS).unwrap_or_default();
    let mut host = guidehand();
    for param in host.params().to_vec() {
        if let Ok(value) = host.text_to_value(param.id, &words) {
            let range = param.min..=param.max;
            assert!(range.contains(&value), "{words} is {value} to {param:?}");
        }
    }
}

/// A panic of the plugin here would end its host, so each try has its own process.
#[test]
fn odd_words_do_no_harm() {
    let fails = |words: &&str| {
        let output = Command::new(env::current_exe().unwrap())
            .args(["--exact", "plugin_words::read_odd_words", "--ignored"])
            .env(WORDS, words)
            .output()
            .unwrap();
        let found = String::from_utf8_lossy(&output.stdout).contains("running 1 test");
        assert!(found, "{output:?}");
        !output.status.success()
    };
    let harmful: Vec<&str> = ODD.into_iter().filter(fails).collect();
    assert!(harmful.is_empty(), "{harmful:?}");
}
