//! The list of extensions, ports and layouts, and the small extensions: latency, tail, rendering,
//! tracks. Also a host that has no extension at all.

use super::{ID, OutputCheck, all_up, instance, library, on_roots, started};
use clap_sys::ext::audio_ports::CLAP_AUDIO_PORT_IS_MAIN;
use clap_sys::ext::note_ports::{CLAP_NOTE_DIALECT_CLAP, CLAP_NOTE_DIALECT_MIDI};
use clap_sys::ext::render::{CLAP_RENDER_OFFLINE, CLAP_RENDER_REALTIME};
use clap_sys::ext::track_info::{CLAP_TRACK_INFO_HAS_TRACK_COLOR, CLAP_TRACK_INFO_HAS_TRACK_NAME};
use clap_sys::id::CLAP_INVALID_ID;
use clap_sys::process::CLAP_PROCESS_CONTINUE;
use guidehand_tests::raw::events::{off, on, value};
use guidehand_tests::raw::stream::{self, Manner};
use guidehand_tests::raw::{Events, Instance, Knows, info, params};
use std::collections::HashSet;

/// A tail from this length on has no end.
const ENDLESS: u32 = i32::MAX.unsigned_abs();

#[test]
fn it_has_these_extensions_and_no_others() {
    let instance = instance();
    let there = [
        c"clap.audio-ports",
        c"clap.audio-ports-config",
        c"clap.gui",
        c"clap.latency",
        c"clap.note-ports",
        c"clap.params",
        c"clap.remote-controls/2",
        c"clap.render",
        c"clap.state",
        c"clap.tail",
        c"clap.track-info/1",
    ];
    let mut places = HashSet::new();
    for id in there {
        let place = instance.extension(id);
        assert!(place.is_some(), "{id:?}");
        assert_eq!(instance.extension(id), place, "{id:?} has moved");
        assert!(places.insert(place), "{id:?} is another one too");
    }
    // The framework has no state-context, so a state is the same in every context.
    for none in [
        c"",
        c"clap.param",
        c"clap.params/2",
        c"clap.state-context/2",
        c"clap.voice-info",
        c"clap.timer-support",
        c"clap.thread-check",
        c"clap.preset-load/2",
        c"clap.surround/4",
        c"org.guidehand.guidehand",
    ] {
        assert_eq!(instance.extension(none), None, "{none:?}");
    }
}

#[test]
fn audio_ports_are_sound() {
    let instance = instance();
    for is_input in [true, false] {
        let ports = info::audio_ports(&instance, is_input);
        let others = info::audio_ports(&instance, !is_input);
        let ids: HashSet<u32> = ports.iter().map(|port| port.id).collect();
        assert_eq!(ids.len(), ports.len(), "{ports:?}");
        for (index, port) in ports.iter().enumerate() {
            assert!(!port.name.is_empty() && port.channels > 0, "{port:?}");
            assert!(port.id != CLAP_INVALID_ID, "{port:?}");
            // Only the first port can be a main port.
            let is_main = port.flags & CLAP_AUDIO_PORT_IS_MAIN != 0;
            assert!(!is_main || index == 0, "{port:?}");
            let kind = [None, Some("mono"), Some("stereo")];
            let kind = kind.get(port.channels as usize).copied().flatten();
            assert_eq!(port.kind.as_deref(), kind, "{port:?}");
            if port.pair != CLAP_INVALID_ID {
                let pair = others.iter().find(|other| other.id == port.pair).unwrap();
                assert_eq!((pair.channels, pair.pair), (port.channels, port.id));
            }
        }
        let count = u32::try_from(ports.len()).unwrap();
        for beyond in [count, u32::MAX] {
            assert_eq!(info::audio_port(&instance, is_input, beyond), None);
        }
    }
    let outputs = info::audio_ports(&instance, false);
    assert_eq!((outputs.len(), outputs[0].channels), (1, 2));
}

#[test]
fn every_layout_of_ports_can_be_taken() {
    let instance = instance();
    let count = info::layout_count(&instance);
    assert!(count > 0);
    let layouts: Vec<_> = (0..count)
        .map(|index| info::layout(&instance, index).expect("a layout that was counted"))
        .collect();
    let ids: HashSet<u32> = layouts.iter().map(|layout| layout.id).collect();
    assert_eq!(ids.len(), layouts.len());
    let mut ear = OutputCheck::default();
    for layout in layouts.iter().rev() {
        assert!(!layout.name.is_empty(), "{layout:?}");
        assert!(info::select_layout(&instance, layout.id), "{layout:?}");
        for (is_input, count, main) in [
            (true, layout.ports.0, &layout.main_input),
            (false, layout.ports.1, &layout.main_output),
        ] {
            let ports = info::audio_ports(&instance, is_input);
            assert_eq!(ports.len(), count as usize, "{layout:?}");
            let first = ports
                .first()
                .filter(|port| port.flags & CLAP_AUDIO_PORT_IS_MAIN != 0);
            let first = first.map(|port| (port.channels, port.kind.clone()));
            assert_eq!(&first, main, "{layout:?}");
        }
        let mut processor = started(&instance, 64);
        ear.hear(&processor.process(64, &Events::default(), None), 64);
    }
    for none in [count, CLAP_INVALID_ID] {
        assert_eq!(info::layout(&instance, none), None);
        assert!(!info::select_layout(&instance, none));
    }
}

/// There is one port in each direction. Ids may be the same in both directions.
#[test]
fn note_ports_speak_claps_dialect_best() {
    let instance = instance();
    for is_input in [true, false] {
        let ports = info::note_ports(&instance, is_input);
        let [port] = ports.as_slice() else {
            panic!("{ports:?}");
        };
        assert!(
            !port.name.is_empty() && port.id != CLAP_INVALID_ID,
            "{port:?}"
        );
        assert_eq!(
            port.dialects,
            CLAP_NOTE_DIALECT_CLAP | CLAP_NOTE_DIALECT_MIDI
        );
        assert_eq!(port.preferred, CLAP_NOTE_DIALECT_CLAP);
        assert_eq!(info::note_port(&instance, is_input, 1), None);
        assert_eq!(info::note_port(&instance, is_input, u32::MAX), None);
    }
}

#[test]
fn nothing_is_late_at_any_rate_or_stage() {
    let instance = instance();
    assert_eq!(instance.latency_samples(), 0);
    for rate_hz in [8_000.0, 48_000.0, 384_000.0] {
        let mut processor = instance.activate(rate_hz, (1, 32)).unwrap();
        assert_eq!(instance.latency_samples(), 0);
        assert!(processor.start());
        processor.process(32, &Events::default(), None);
        assert_eq!(instance.latency_samples(), 0);
    }
}

/// The panel may ask for something to be heard at any time, so no host is told that the plugin may
/// sleep: neither in silence nor under bypass (`clap/process.h`).
#[test]
fn it_always_wants_to_be_processed() {
    let instance = on_roots();
    let bypass = params::named(&instance, "Bypass").id;
    let mut processor = started(&instance, 4_096);
    for value_of_bypass in [0.0, 1.0] {
        let turned = Events::new(vec![value(0, bypass, value_of_bypass)]);
        processor.process(64, &turned, None);
        for frames in [1, 64, 4_096, 4_096, 4_096] {
            let silent = processor.process(frames, &Events::default(), None);
            assert_eq!(silent.status, CLAP_PROCESS_CONTINUE, "{frames} frames");
        }
    }
}

/// A chart plays without input, and a struck tone keeps ringing. So the plugin asks for further
/// processing, and its tail has no end. Then the tone does keep ringing.
#[test]
fn the_tail_is_what_is_heard() {
    let instance = on_roots();
    let mut processor = started(&instance, 4_096);
    let mut ear = OutputCheck::default();
    let struck = Events::new(vec![on(0, 50), off(4_000, 50)]);
    ear.hear(&processor.process(4_096, &struck, None), 4_096);
    assert_eq!((ear.note_ons, ear.sounding()), (4, 0));
    let after = processor.process(4_096, &Events::default(), None);
    assert!(
        after.left.iter().any(|sample| sample.abs() > 1e-4),
        "the tone does not ring"
    );
    assert_eq!(after.status, CLAP_PROCESS_CONTINUE);
    assert!(processor.tail_samples() >= ENDLESS);
    assert!(instance.tail_samples() >= ENDLESS);
}

#[test]
fn it_renders_both_ways_alike() {
    let instance = on_roots();
    assert!(!instance.needs_real_time());
    let mut rendered = Vec::new();
    for mode in [
        CLAP_RENDER_REALTIME,
        CLAP_RENDER_OFFLINE,
        CLAP_RENDER_REALTIME,
    ] {
        assert!(instance.set_render_mode(mode));
        let mut processor = started(&instance, 512);
        let struck = Events::new(vec![on(3, 50), off(500, 50)]);
        let mut ear = OutputCheck::default();
        let played = processor.process(512, &struck, None);
        ear.hear(&played, 512);
        assert_eq!(ear.note_ons, 4);
        rendered.push((played.left, played.right));
        // A host may change the layout in the middle of a song, and restart when the plugin
        // requests it.
        assert!(instance.set_render_mode(CLAP_RENDER_OFFLINE));
        ear.hear(&processor.process(512, &Events::default(), None), 512);
        assert!(instance.set_render_mode(mode));
    }
    assert!(rendered.iter().all(|audio| *audio == rendered[0]));
}

/// The framework hands a track's name and colour to the editor, which does not use them. Nothing
/// that a host says about its track does harm.
#[test]
fn any_track_may_be_told() {
    let instance = on_roots();
    let saved = stream::save(&instance, Manner::WHOLE);
    let all = CLAP_TRACK_INFO_HAS_TRACK_NAME | CLAP_TRACK_INFO_HAS_TRACK_COLOR;
    for active in [false, true] {
        let _processor = active.then(|| started(&instance, 64));
        for name in [
            b"Keys".to_vec(),
            Vec::new(),
            vec![b'x'; 256],
            vec![0xff; 300],
            "Klavier \u{266d}".as_bytes().to_vec(),
        ] {
            for (flags, told) in [(all, true), (0, true), (all, false), (u64::MAX, true)] {
                instance.tell_track(flags, name.clone(), told);
                instance.track_changed();
            }
        }
    }
    assert_eq!(stream::save(&instance, Manner::WHOLE), saved);
    assert_eq!(instance.calls().wrong_thread(), 0);
}

#[test]
fn a_host_without_extensions_will_do() {
    let instance = Instance::new(&library(), ID, Knows::Nothing).expect("the plugin starts");
    super::set(&instance, "Chords from", c"Roots");
    let saved = stream::save(&instance, Manner::WHOLE).unwrap();
    assert!(stream::load(&instance, &saved, Manner::WHOLE));
    instance.idle();
    instance.track_changed();
    assert_eq!(instance.latency_samples(), 0);
    let split = params::named(&instance, "Split").id;
    let mut processor = started(&instance, 256);
    // Such a host has no transport, either.
    processor.steady_samples = -1;
    let mut ear = OutputCheck::default();
    let events = Events::new(vec![
        guidehand_tests::raw::events::value(0, split, 61.0),
        on(5, 50),
    ]);
    ear.hear(&processor.process(256, &events, None), 256);
    assert_eq!(ear.note_ons, 4);
    ear.hear(&processor.process(256, &all_up(), None), 256);
    ear.expect_silence();
    drop(processor);
    assert_eq!(params::value(&instance, split).map(f64::round), Some(61.0));
    assert!(stream::save(&instance, Manner::WHOLE).is_some());
    assert_eq!(instance.calls().rescans(), 0);
}
