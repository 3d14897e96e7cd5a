//! The host itself, tested on the passthrough plugin: what it reads from a plugin, and that misuse
//! is an error.

use crate::plugin::guidehand;
use clack_extensions::note_ports::NoteDialects;
use clack_extensions::params::ParamInfoFlags;
use guidehand_tests::ports::{AudioPort, NotePort};
use guidehand_tests::{Event, Host, HostError, Library, TimedEvent, paths};
use std::collections::HashSet;
use std::ffi::OsString;
use std::path::Path;

/// The id of the passthrough plugin.
pub const PASSTHROUGH: &str = "org.guidehand.passthrough";

/// The sample rate of all sessions that need no other.
pub const RATE_HZ: f64 = 48_000.0;

/// A fresh instance of the passthrough plugin.
pub fn passthrough() -> Host {
    Host::open(&paths::passthrough_path(), PASSTHROUGH).expect("the passthrough plugin loads")
}

fn processing(max_frames: u32) -> Host {
    let mut host = passthrough();
    host.activate(RATE_HZ, max_frames).unwrap();
    host.start_processing().unwrap();
    host
}

#[test]
fn a_library_describes_its_plugins() {
    let library = Library::open(&paths::passthrough_path()).unwrap();
    let plugin = library.plugin(PASSTHROUGH).unwrap();
    assert_eq!(plugin.name, "Guidehand Passthrough");
    assert_eq!(plugin.vendor, "Guidehand");
    assert_eq!(plugin.version, env!("CARGO_PKG_VERSION"));
    assert!(plugin.features.contains(&"note-effect".to_owned()));
}

#[test]
fn what_is_not_there_does_not_load() {
    let error = Library::open(Path::new("no/such.clap")).err().unwrap();
    assert!(matches!(error, HostError::Open { .. }), "{error}");

    let error = Host::open(&paths::passthrough_path(), "org.guidehand.none")
        .err()
        .unwrap();
    assert!(error.to_string().contains(PASSTHROUGH), "{error}");
}

#[test]
fn a_missing_path_names_the_command_that_sets_it() {
    for value in [None, Some(OsString::new())] {
        let error = paths::path_from(paths::PLUGIN, value).unwrap_err();
        let words = error.to_string();
        assert!(words.contains("GUIDEHAND_CLAP"), "{words}");
        assert!(words.contains("cargo xtask test"), "{words}");
    }
    let path = paths::path_from(paths::PLUGIN, Some("a.clap".into())).unwrap();
    assert_eq!(path, Path::new("a.clap"));
}

#[test]
fn ports_are_read() {
    let host = passthrough();
    let ports = host.ports();
    let [input] = ports.audio_inputs.as_slice() else {
        panic!("{ports:?}");
    };
    assert!(!input.is_main && input.channels == 2, "{input:?}");
    let [output] = ports.audio_outputs.as_slice() else {
        panic!("{ports:?}");
    };
    assert!(output.is_main && output.channels == 2, "{output:?}");
    assert_eq!((ports.note_inputs.len(), ports.note_outputs.len()), (1, 1));
    for port in ports.note_inputs.iter().chain(&ports.note_outputs) {
        assert_eq!(port.dialects, NoteDialects::CLAP | NoteDialects::MIDI);
    }
}

/// So benchmarks of both compare the plugins' own work.
#[test]
fn both_plugins_have_the_same_ports_and_about_as_many_parameters() {
    let (passthrough, plugin) = (passthrough(), guidehand());
    let audio = |ports: &[AudioPort]| -> Vec<_> {
        ports
            .iter()
            .map(|port| (port.channels, port.is_main))
            .collect()
    };
    let notes = |ports: &[NotePort]| -> Vec<_> { ports.iter().map(|port| port.dialects).collect() };
    let (a, b) = (passthrough.ports(), plugin.ports());
    assert_eq!(audio(&a.audio_inputs), audio(&b.audio_inputs));
    assert_eq!(audio(&a.audio_outputs), audio(&b.audio_outputs));
    assert_eq!(notes(&a.note_inputs), notes(&b.note_inputs));
    assert_eq!(notes(&a.note_outputs), notes(&b.note_outputs));
    let (a, b) = (passthrough.params().len(), plugin.params().len());
    assert!(a.abs_diff(b) <= 4, "{a} parameters and {b}");
}

#[test]
fn parameters_are_listed() {
    let host = passthrough();
    let params = host.params();
    assert_eq!(params.len(), 52);
    let ids: HashSet<u32> = params.iter().map(|param| param.id).collect();
    let paths: HashSet<String> = params.iter().map(|param| param.path()).collect();
    assert_eq!((ids.len(), paths.len()), (52, 52));
    for param in params {
        assert!(
            (param.min..=param.max).contains(&param.default),
            "{param:?}"
        );
    }

    let steps = host.param_by_name("Group 3/Steps").unwrap();
    assert_eq!((steps.min, steps.max, steps.default), (0.0, 24.0, 12.0));
    assert!(steps.flags.contains(ParamInfoFlags::IS_STEPPED));
    assert!(matches!(
        host.param_by_name("Steps"),
        Err(HostError::Misuse(_))
    ));
    assert!(matches!(
        host.param_by_name("Stops"),
        Err(HostError::NoParam(_))
    ));
}

#[test]
fn a_parameter_set_without_blocks_acts_at_once() {
    let mut host = passthrough();
    let id = host.param_by_name("Group 1/Level").unwrap().id;
    host.set_param(id, 0.25).unwrap();
    assert_eq!(host.param_value(id).unwrap(), 0.25);

    host.activate(RATE_HZ, 64).unwrap();
    host.set_param(id, 0.75).unwrap();
    assert_eq!(host.param_value(id).unwrap(), 0.75);
}

#[test]
fn a_parameter_set_while_processing_waits_for_the_next_block() {
    let mut host = processing(64);
    let id = host.param_by_name("Group 1/Level").unwrap().id;
    host.set_param(id, 0.25).unwrap();
    assert_eq!(host.param_value(id).unwrap(), 0.5);
    host.process(64, &[], None).unwrap();
    assert_eq!(host.param_value(id).unwrap(), 0.25);
}

#[test]
fn values_and_words_translate() {
    let mut host = passthrough();
    let id = host.param_by_name("Group 2/Kind").unwrap().id;
    for (value, words) in [(0.0, "First"), (1.0, "Second"), (2.0, "Third")] {
        assert_eq!(host.value_to_text(id, value).unwrap(), words);
        assert_eq!(host.text_to_value(id, words).unwrap(), value);
    }
    let error = host.text_to_value(id, "Fourth").unwrap_err();
    assert!(matches!(error, HostError::Refused(_)), "{error}");
    let error = host.value_to_text(0, 0.0).unwrap_err();
    assert!(matches!(error, HostError::NoParam(_)), "{error}");
}

#[test]
fn a_state_comes_back_active_or_not() {
    let mut host = passthrough();
    let id = host.param_by_name("Group 1/Level").unwrap().id;
    host.set_param(id, 0.25).unwrap();
    let state = host.save_state().unwrap();

    for active in [false, true] {
        let mut other = passthrough();
        if active {
            other.activate(RATE_HZ, 64).unwrap();
            other.start_processing().unwrap();
        }
        assert_eq!(other.param_value(id).unwrap(), 0.5);
        other.load_state(&state).unwrap();
        assert_eq!(other.param_value(id).unwrap(), 0.25);
        assert!(other.requests().rescans > 0, "a loaded state is announced");
        let error = other.load_state(b"no state").unwrap_err();
        assert!(matches!(error, HostError::Refused(_)), "{error}");
    }
}

#[test]
fn a_callback_asked_for_in_a_block_is_answered_after_it() {
    let mut host = processing(64);
    let id = host.param_by_name("Group 1/Level").unwrap().id;
    let before = host.requests();
    host.set_param(id, 0.25).unwrap();
    host.process(64, &[], None).unwrap();
    let asked = host.requests();
    assert!(
        asked.callbacks > before.callbacks,
        "the plugin requests a callback on the main thread"
    );
    assert_eq!(asked.callbacks_answered, before.callbacks_answered);
    host.idle().unwrap();
    let after = host.requests();
    assert_eq!(after.callbacks_answered, before.callbacks_answered + 1);
    host.idle().unwrap();
    assert_eq!(host.requests(), after, "an answered request is removed");
    assert_eq!(after.wrong_thread, 0);
}

#[test]
fn the_life_cycle_is_kept() {
    let mut host = passthrough();
    assert!(matches!(
        host.process(64, &[], None),
        Err(HostError::Misuse(_))
    ));
    assert!(matches!(host.start_processing(), Err(HostError::Misuse(_))));
    assert!(matches!(host.reset(), Err(HostError::Misuse(_))));
    assert!(matches!(
        host.activate(RATE_HZ, 0),
        Err(HostError::Misuse(_))
    ));

    host.activate(RATE_HZ, 64).unwrap();
    assert!(matches!(
        host.activate(RATE_HZ, 64),
        Err(HostError::Misuse(_))
    ));
    assert!(matches!(
        host.process(64, &[], None),
        Err(HostError::Instance(_))
    ));
    assert_eq!(host.latency_samples(), 0);
    assert!(host.tail().is_some_and(|tail| !tail.has_tail()));

    host.start_processing().unwrap();
    host.process(64, &[], None).unwrap();
    host.reset().unwrap();
    host.process(64, &[], None).unwrap();
    host.stop_processing().unwrap();
    host.deactivate();
    assert!(!host.is_active() && host.tail().is_none());
    host.activate(44_100.0, 128).unwrap();
}

#[test]
fn blocks_that_no_host_may_send_are_refused() {
    let mut host = processing(64);
    let note = Event::note_on(0, 60, 1.0);
    let other = Event::Other {
        type_id: 99,
        size_bytes: 16,
    };
    let odd_controller = Event::Controller {
        channel: 16,
        number: 1,
        value: 0,
    };
    let at = TimedEvent::new;
    for frames in [0, 65] {
        let error = host.process(frames, &[], None).unwrap_err();
        assert!(matches!(error, HostError::Misuse(_)), "{error}");
    }
    for events in [vec![at(64, note)], vec![at(2, note), at(1, note)]] {
        let error = host.process(64, &events, None).unwrap_err();
        assert!(matches!(error, HostError::Misuse(_)), "{error}");
    }
    for event in [other, odd_controller] {
        let error = host.process(64, &[at(0, event)], None).unwrap_err();
        assert!(
            matches!(error, HostError::NotSendable(e) if e == event),
            "{error}"
        );
    }
}

#[test]
fn a_full_queue_refuses_the_rest_of_a_block() {
    let mut host = processing(64);
    let events: Vec<TimedEvent> = (0..10)
        .map(|time| TimedEvent::new(time, Event::note_off(0, 60)))
        .collect();
    host.limit_output(Some(3));
    for _ in 0..2 {
        let block = host.process(64, &events, None).unwrap();
        assert_eq!(block.events, events[..3]);
        assert_eq!(block.refused_events, 7);
    }
    host.limit_output(None);
    let block = host.process(64, &events, None).unwrap();
    assert_eq!((block.events.len(), block.refused_events), (10, 0));
}

#[test]
fn a_prepared_block_can_run_again() {
    let mut host = processing(64);
    let events = [TimedEvent::new(7, Event::note_on(0, 60, 1.0))];
    host.load_block(64, &events, None).unwrap();
    for _ in 0..3 {
        let status = host.run_block().unwrap();
        assert_eq!(host.take_block(status).unwrap().events, events);
    }
}
