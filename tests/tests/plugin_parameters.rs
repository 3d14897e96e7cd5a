//! What the plugin says about itself: parameters, ports, name. A list fixes what hosts save and
//! songs rely on.

use crate::plugin::{RATE_HZ, guidehand, untouched};
use clack_extensions::note_ports::NoteDialects;
use clack_extensions::params::ParamInfoFlags;
use clack_extensions::tail::TailLength;
use guidehand_tests::params::Param;
use guidehand_tests::paths::PLUGIN_ID;
use guidehand_tests::{Host, Library, paths};
use serde_json::{Map, Value};
use std::collections::HashSet;

/// The list, see [`line`]; lines with `//` are remarks.
const FROZEN: &str = include_str!("../data/parameters.txt");

/// The parameters as they are saved, by their saved names.
fn saved(host: &mut Host) -> Map<String, Value> {
    let state = host.save_state().unwrap();
    // JSON follows its length, which has eight bytes.
    let state: Value = serde_json::from_slice(&state[8..]).unwrap();
    state["params"].as_object().unwrap().clone()
}

/// The name under which a parameter is saved, and the words for each step of a parameter that is
/// saved in words.
fn saved_as(param: &Param) -> (String, Vec<String>) {
    let mut host = untouched();
    let before = saved(&mut host);
    let other = if param.default > param.min {
        param.min
    } else {
        param.max
    };
    host.set_param(param.id, other).unwrap();
    let after = saved(&mut host);
    let name = before
        .keys()
        .find(|name| before[*name] != after[*name])
        .unwrap_or_else(|| panic!("{} is not saved", param.name));
    let mut words = Vec::new();
    if before[name]["string"].is_string() {
        let mut step = param.min;
        while step <= param.max {
            host.set_param(param.id, step).unwrap();
            let saved = saved(&mut host);
            words.push(saved[name]["string"].as_str().unwrap().to_owned());
            step += 1.0;
        }
    }
    (name.clone(), words)
}

/// One line for each parameter, in the plugin's order, with everything that a host or a saved song
/// knows about it.
fn line(param: &Param) -> String {
    let mut host = guidehand();
    let mut words = |value| host.value_to_text(param.id, value).unwrap();
    let (least, most, at_first) = (words(param.min), words(param.max), words(param.default));
    let (saved_name, choices) = saved_as(param);
    let Param {
        id, name, min, max, ..
    } = param;
    let mut line =
        format!("{saved_name} | {id} | {name} | {min} to {max} | {least} to {most} | {at_first}");
    if !choices.is_empty() {
        line += " | ";
        line += &choices.join(" ");
    }
    line
}

#[test]
fn parameters_are_those_of_the_frozen_list() {
    let now: Vec<String> = guidehand().params().iter().map(line).collect();
    let frozen: Vec<&str> = FROZEN
        .lines()
        .filter(|line| !line.starts_with("//"))
        .collect();
    assert_eq!(now, frozen, "the plugin now has:\n{}", now.join("\n"));
}

#[test]
fn parameters_have_names_and_ids_of_their_own() {
    let host = guidehand();
    let ids: HashSet<u32> = host.params().iter().map(|param| param.id).collect();
    let names: HashSet<String> = host.params().iter().map(Param::path).collect();
    assert_eq!(ids.len(), host.params().len());
    assert_eq!(names.len(), host.params().len());
}

#[test]
fn hosts_are_told_what_they_may_do_with_parameters() {
    for param in guidehand().params() {
        let has = |flag| param.flags.contains(flag);
        let hidden = param.name == "Chart revision";
        assert_eq!(has(ParamInfoFlags::IS_HIDDEN), hidden, "{param:?}");
        assert_eq!(has(ParamInfoFlags::IS_AUTOMATABLE), !hidden, "{param:?}");
        let bypass = param.name == "Bypass";
        assert_eq!(has(ParamInfoFlags::IS_BYPASS), bypass, "{param:?}");
        let range = param.min..=param.max;
        assert!(range.contains(&param.default), "{param:?}");
    }
}

#[test]
fn a_value_out_of_range_is_held_within() {
    let mut host = guidehand();
    for param in host.params().to_vec() {
        for odd in [-1e9, -1.0, param.max + 1.0, 1e9] {
            host.set_param(param.id, odd).unwrap();
            let value = host.param_value(param.id).unwrap();
            let range = param.min..=param.max;
            assert!(range.contains(&value), "{odd} makes {value} of {param:?}");
        }
        let before = host.param_value(param.id).unwrap();
        for odd in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            host.set_param(param.id, odd).unwrap();
            assert_eq!(host.param_value(param.id).unwrap(), before, "{odd}");
        }
    }
}

#[test]
fn the_plugin_names_itself() {
    let library = Library::open(&paths::plugin_path()).unwrap();
    let [plugin] = library.plugins() else {
        panic!("one plugin expected: {:?}", library.plugins());
    };
    assert_eq!(plugin.id, PLUGIN_ID);
    assert_eq!(plugin.name, "Guidehand");
    assert_eq!(plugin.vendor, "Guidehand");
    assert_eq!(plugin.version, env!("CARGO_PKG_VERSION"));
    // Hosts sort plugins by these features: an effect on notes that can be heard by itself.
    assert_eq!(plugin.features, ["note-effect", "instrument", "stereo"]);
}

#[test]
fn ports_are_one_for_notes_each_way_a_side_chain_and_a_stereo_output() {
    let host = guidehand();
    let ports = host.ports();
    let [bass] = ports.audio_inputs.as_slice() else {
        panic!("{ports:?}");
    };
    assert!(!bass.is_main && bass.channels == 2, "{bass:?}");
    assert_eq!(bass.name, "Bass");
    let [output] = ports.audio_outputs.as_slice() else {
        panic!("{ports:?}");
    };
    assert!(output.is_main && output.channels == 2, "{output:?}");
    assert_eq!(output.name, "Audition");
    let [input] = ports.note_inputs.as_slice() else {
        panic!("{ports:?}");
    };
    let [notes] = ports.note_outputs.as_slice() else {
        panic!("{ports:?}");
    };
    for port in [input, notes] {
        assert_eq!(port.dialects, NoteDialects::CLAP | NoteDialects::MIDI);
    }
}

#[test]
fn there_is_no_latency_at_any_rate() {
    for rate_hz in [44_100.0, RATE_HZ, 96_000.0] {
        let mut host = guidehand();
        assert_eq!(host.latency_samples(), 0);
        host.activate(rate_hz, 512).unwrap();
        assert_eq!(host.latency_samples(), 0);
        host.start_processing().unwrap();
        host.process(512, &[], None).unwrap();
        assert_eq!(host.latency_samples(), 0);
        // The tone keeps ringing after its note, and a chart plays without any input.
        assert_eq!(host.tail(), Some(TailLength::Infinite));
    }
}
