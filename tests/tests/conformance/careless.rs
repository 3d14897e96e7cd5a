//! Hosts that leave audio out, and send events that cannot be. None of it may end the process, and
//! notes flow all the same.
//!
//! `clap/process.h`: there are as many buffers as ports, and events are sorted by time.
//! `clap/audio-buffer.h`: either the list of 32-bit channels or that of 64-bit channels is set.
//! `clap/events.h`: a time lies within the block, and a size is that of the event with its header.

use super::{OutputCheck, all_up, instance, notes_of, on_chart, on_roots, started};
use clap_sys::events::{
    CLAP_EVENT_NOTE_OFF, CLAP_EVENT_NOTE_ON, CLAP_EVENT_TRANSPORT, clap_event_transport,
};
use clap_sys::process::CLAP_PROCESS_ERROR;
use guidehand_tests::raw::events::{header, off, on, unreadable, value};
use guidehand_tests::raw::{
    Events, Given, Hands, Instance, Lists, ProcessedBlock, Processor, RawEvent, info, params,
};
use std::mem::zeroed;

/// The layout that declares a side-chain alone, and the one with a main input that passes.
const LAYOUTS: u32 = 2;

/// An instance that turns roots into chords, with the ports of a layout.
fn with_layout(index: u32) -> Instance {
    let instance = on_roots();
    let layout = info::layout(&instance, index).expect("a layout");
    assert!(info::select_layout(&instance, layout.id));
    instance
}

/// Strikes a chord and lets go of it, with ports in some manner. Returns both blocks.
fn strike(processor: &mut Processor<'_>, hands: Hands) -> [ProcessedBlock; 2] {
    [on(5, 50), off(9, 50)].map(|event| {
        let played = processor.process_in(hands, 64, &Events::new(vec![event]), None);
        let (singles, doubles) = processor.outputs().handed_over(64);
        // Every sample starts as NaN.
        assert!(singles.into_iter().flatten().all(|s| s.is_finite()));
        assert!(doubles.into_iter().flatten().all(|s| *s == 0.0));
        played
    })
}

#[test]
fn notes_flow_whatever_the_audio() {
    for layout in 0..LAYOUTS {
        let instance = with_layout(layout);
        let mut processor = started(&instance, 64);
        let [whole, _] = strike(&mut processor, Hands::default());
        assert!(whole.left.iter().any(|sample| *sample != 0.0));
        for inputs in Given::ALL {
            for outputs in Given::ALL {
                let hands = Hands {
                    inputs,
                    outputs,
                    ..Hands::default()
                };
                processor.reset();
                let [struck, released] = strike(&mut processor, hands);
                let on = notes_of(&struck, CLAP_EVENT_NOTE_ON);
                let keys = notes_of(&whole, CLAP_EVENT_NOTE_ON);
                assert_eq!(on, keys, "{hands:?} of layout {layout}");
                let off = notes_of(&released, CLAP_EVENT_NOTE_OFF);
                assert_eq!(off.len(), 4, "{hands:?} of layout {layout}");
                // The channels that are there sound as ever.
                if matches!(outputs, Given::Whole | Given::Mono | Given::More) {
                    assert!(struck.left == whole.left, "{hands:?} of layout {layout}");
                }
                if matches!(outputs, Given::Whole | Given::SecondAlone | Given::More) {
                    assert!(struck.right == whole.right, "{hands:?} of layout {layout}");
                }
            }
        }
    }
}

/// What a host withholds from the main input is silence, never what lay in the output.
#[test]
fn a_main_input_that_is_withheld_passes_as_silence() {
    let instance = with_layout(1);
    let mut processor = started(&instance, 64);
    for inputs in [Given::NoPorts, Given::NoChannelList, Given::NullChannels] {
        let hands = Hands {
            inputs,
            ..Hands::default()
        };
        let played = processor.process_in(hands, 64, &Events::default(), None);
        assert_eq!((played.left, played.right), (vec![0.0; 64], vec![0.0; 64]));
    }
}

/// A host that keeps to some ports alone gets what these hold: the others do not stand in for them.
#[test]
fn half_an_input_passes_beside_silence() {
    let instance = with_layout(1);
    let mut processor = started(&instance, 64);
    let samples: [[f32; 64]; 2] = [[0.25; 64], [-0.5; 64]];
    for (channel, samples) in samples.iter().enumerate() {
        processor.inputs().write(0, channel, samples);
    }
    for (inputs, left, right) in [
        (Given::Whole, 0.25, -0.5),
        (Given::Mono, 0.25, 0.0),
        (Given::SecondAlone, 0.0, -0.5),
        (Given::More, 0.25, -0.5),
    ] {
        let hands = Hands {
            inputs,
            ..Hands::default()
        };
        let played = processor.process_in(hands, 64, &Events::default(), None);
        let expected = (vec![left; 64], vec![right; 64]);
        assert_eq!((played.left, played.right), expected, "{inputs:?}");
    }
}

/// Nothing that goes out is too small for the usual precision of its number, not even what a host put
/// in. What is not finite passes as it came (common practice, no published source).
#[test]
fn what_is_too_faint_passes_as_silence() {
    /// -300 dBFS.
    const FAINTEST: f32 = 1.0e-15;
    let put_in = [1.0e-41, -1.0e-41, f32::MIN_POSITIVE, -9.9e-16, 1.1e-15, 0.5];
    let expected = [0.0, 0.0, 0.0, 0.0, 1.1e-15, 0.5];
    let instance = with_layout(1);
    let mut processor = started(&instance, 512);
    processor.inputs().write(0, 0, &put_in);
    processor.inputs().write(0, 1, &[f32::NAN, f32::INFINITY]);
    let played = processor.process(512, &Events::default(), None);
    assert_eq!(played.left[..6], expected);
    assert!(played.right[0].is_nan());
    assert_eq!(played.right[1], f32::INFINITY);
    // The same beside the tone, from its first sample on until long after its last.
    processor.inputs().fill(1.0e-40);
    let mut sounded = false;
    for block in 0..200 {
        let events = match block {
            0 => vec![on(100, 50)],
            1 => vec![off(0, 50)],
            _ => Vec::new(),
        };
        let played = processor.process(512, &Events::new(events), None);
        for sample in played.left.iter().chain(&played.right) {
            assert!(*sample == 0.0 || sample.abs() >= FAINTEST, "{sample:e}");
            sounded |= *sample != 0.0;
        }
    }
    assert!(sounded);
}

/// A block of no frames takes events and answers them, at its only time.
#[test]
fn an_empty_block_takes_and_answers_events() {
    for outputs in [Given::Whole, Given::NoPorts, Given::NullChannels] {
        let hands = Hands {
            inputs: outputs,
            outputs,
            ..Hands::default()
        };
        let instance = on_roots();
        let bypass = params::named(&instance, "Bypass").id;
        let mut processor = started(&instance, 64);
        let strike = Events::new(vec![on(0, 50)]);
        let struck = processor.process_in(hands, 0, &strike, None);
        let keys = notes_of(&struck, CLAP_EVENT_NOTE_ON);
        assert_eq!(keys.len(), 4, "{outputs:?}");
        assert!(keys.iter().all(|(time, _)| *time == 0));
        let after = processor.process(64, &Events::default(), None);
        assert!(after.events.is_empty(), "{:?}", after.events);
        let late = Events::new(vec![off(7, 50)]);
        let released = processor.process_in(hands, 0, &late, None);
        assert_eq!(notes_of(&released, CLAP_EVENT_NOTE_OFF).len(), 4);
        let turned = Events::new(vec![value(0, bypass, 1.0)]);
        processor.process_in(hands, 0, &turned, None);
        assert_eq!(params::value(&instance, bypass), Some(1.0));
    }
}

/// Empty blocks take no time: a key that is struck in one sounds as if it were struck at the first
/// sample of the next block, and the song goes on as without them.
#[test]
fn no_time_passes_in_an_empty_block() {
    const KEY: i16 = 100;
    let play = |empty: usize| {
        let instance = on_chart("| Dm7 | G7 | Cmaj7 | A7 |");
        let mut processor = started(&instance, 512);
        let mut heard = Vec::new();
        for block in 0..600_u32 {
            let key = match block % 10 {
                3 => vec![on(0, KEY)],
                7 => vec![off(0, KEY)],
                _ => Vec::new(),
            };
            let now = Events::new(key);
            let (before, within) = match empty {
                0 => (Events::default(), now),
                _ => (now, Events::default()),
            };
            let mut answers = Vec::new();
            for nth in 0..empty {
                let taken = if nth == 0 {
                    before.clone()
                } else {
                    Events::default()
                };
                let played = processor.process_in(Hands::default(), 0, &taken, None);
                answers.extend(played.events);
            }
            let played = processor.process(512, &within, None);
            answers.extend(played.events);
            let mut answers: Vec<String> = answers.iter().map(|e| format!("{e:?}")).collect();
            answers.sort();
            heard.push((answers, played.left));
        }
        heard
    };
    let plain = play(0);
    assert!(plain.iter().filter(|(events, _)| events.len() > 2).count() > 2);
    assert!(plain.iter().filter(|(events, _)| events.len() == 1).count() > 70);
    for empty in [1, 7] {
        let same = play(empty).iter().zip(&plain).all(|(a, b)| a == b);
        assert!(same, "{empty} empty blocks before each");
    }
}

/// An empty block may come before any other.
#[test]
fn an_empty_block_may_come_first() {
    let instance = on_chart("| Dm7 | G7 |");
    let mut processor = started(&instance, 64);
    let strike = Events::new(vec![on(0, 100)]);
    let first = processor.process_in(Hands::default(), 0, &strike, None);
    assert_eq!(notes_of(&first, CLAP_EVENT_NOTE_ON), [(0, 100)]);
    // The chart runs by itself when a second has passed without a transport.
    let struck = (0..=48_000 / 64).any(|_| {
        let then = processor.process(64, &Events::default(), None);
        !notes_of(&then, CLAP_EVENT_NOTE_ON).is_empty()
    });
    assert!(struck);
}

/// What is late comes at the last sample; the framework cuts blocks at parameters and transports.
#[test]
fn late_events_come_at_the_last_sample() {
    // SAFETY: plain data, for which zeros are a valid value.
    let stopped = RawEvent::Transport(clap_event_transport {
        header: header::<clap_event_transport>(0, CLAP_EVENT_TRANSPORT),
        ..unsafe { zeroed() }
    });
    for time in [64, 65, 4_096, u32::MAX] {
        let instance = on_roots();
        let bypass = params::named(&instance, "Bypass").id;
        let mut processor = started(&instance, 64);
        let mut ear = OutputCheck::default();
        let events = vec![
            on(10, 50),
            stopped.at(20),
            off(time, 50),
            on(time, 52),
            stopped.at(time),
        ];
        let played = processor.process(64, &Events::new(events), None);
        ear.hear(&played, 64);
        assert_eq!(ear.note_ons, 8, "at {time}");
        let struck = notes_of(&played, CLAP_EVENT_NOTE_ON);
        assert!(
            struck.iter().all(|(at, _)| [10, 63].contains(at)),
            "{struck:?}"
        );
        let events = vec![stopped.at(time), value(time, bypass, 1.0), off(time, 52)];
        ear.hear(&processor.process(64, &Events::new(events), None), 64);
        assert_eq!(params::value(&instance, bypass), Some(1.0), "at {time}");
        ear.hear(&processor.process(64, &Events::default(), None), 64);
        ear.expect_silence();
    }
}

/// The order of the list is the order in time, whatever the times are.
#[test]
fn an_event_before_the_last_one_comes_with_it() {
    let instance = on_roots();
    let bypass = params::named(&instance, "Bypass").id;
    let mut processor = started(&instance, 64);
    let mut ear = OutputCheck::default();
    let events = vec![
        on(20, 50),
        value(5, bypass, 0.0),
        off(30, 50),
        on(25, 55),
        value(20, bypass, 0.0),
        off(60, 55),
    ];
    let played = processor.process(64, &Events::as_they_are(events), None);
    ear.hear(&played, 64);
    ear.expect_silence();
    let times = |kind| {
        let mut times: Vec<u32> = notes_of(&played, kind).iter().map(|(at, _)| *at).collect();
        times.dedup();
        times
    };
    assert_eq!(times(CLAP_EVENT_NOTE_ON), [20, 30]);
    assert_eq!(times(CLAP_EVENT_NOTE_OFF), [30, 60]);
}

#[test]
fn what_cannot_be_read_is_left_out_and_the_rest_is_played() {
    for nulls in [false, true] {
        for broken in unreadable() {
            let instance = on_roots();
            let mut processor = started(&instance, 64);
            let mut ear = OutputCheck::default();
            let events = Events::as_they_are(vec![broken.at(5), on(5, 50), broken.at(9)]);
            let events = if nulls { events.with_a_null() } else { events };
            let played = processor.process(64, &events, None);
            ear.hear(&played, 64);
            assert_eq!(notes_of(&played, CLAP_EVENT_NOTE_ON).len(), 4, "{broken:?}");
            ear.hear(&processor.process(64, &all_up(), None), 64);
            ear.expect_silence();
        }
    }
}

#[test]
fn lists_that_are_not_there_are_empty() {
    let instance = on_roots();
    let mut processor = started(&instance, 64);
    let strike = Events::new(vec![on(5, 50)]);
    let mut heard = 0;
    for events in Lists::ALL {
        for answers in Lists::ALL {
            let hands = Hands {
                events,
                answers,
                ..Hands::default()
            };
            processor.reset();
            processor.process(64, &Events::default(), None);
            let played = processor.process_in(hands, 64, &strike, None);
            let both = (events, answers) == (Lists::Whole, Lists::Whole);
            let expected = if both { 4 } else { 0 };
            assert_eq!(played.events.len(), expected, "{hands:?}");
            heard += played.events.len();
            // What could not be told is not owed for ever.
            processor.process(64, &all_up(), None);
        }
    }
    assert_eq!(heard, 4);
    assert_eq!(processor.process_nothing(), CLAP_PROCESS_ERROR);
}

/// `clap/ext/params.h`: where in a block an event lies is lost within a flush.
#[test]
fn a_flush_takes_what_can_be_read() {
    let instance = instance();
    let bypass = params::named(&instance, "Bypass").id;
    let flushed = |events: Vec<RawEvent>| Events::as_they_are(events).with_a_null();
    for broken in unreadable() {
        for wanted in [1.0, 0.0] {
            let events = vec![broken, value(77, bypass, wanted), broken.at(u32::MAX)];
            params::flush(&instance, &flushed(events));
            assert_eq!(params::value(&instance, bypass), Some(wanted), "{broken:?}");
        }
    }
    let mut processor = started(&instance, 64);
    for broken in unreadable() {
        processor.flush(&flushed(vec![broken, value(1, bypass, 1.0)]));
    }
    assert_eq!(params::value(&instance, bypass), Some(1.0));
}
