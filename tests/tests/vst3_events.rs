//! The events of the VST3 build: it plays the same notes as the CLAP build at the same samples, and
//! events that do not belong to the plugin pass unchanged.

use crate::plugin;
use crate::vst3::{as_clap, load_chart, mute, set};
use guidehand_tests::event::{ANY, NoteExpressionType};
use guidehand_tests::vst3::events::without_id;
use guidehand_tests::vst3::{Direction, Instance, Media, Passing, render};
use guidehand_tests::{
    BlockSizes, Event, Host, Performance, Session, TimedEvent, TransportChange, golden, note_pairs,
};

/// The roots of the demo command: below the split, around the circle in C, through the substitute
/// to the tonic.
const ROOTS: [(u8, u8); 8] = [
    (38, 4),
    (43, 4),
    (36, 4),
    (45, 4),
    (38, 2),
    (37, 2),
    (36, 4),
    (36, 4),
];

const BLOCKS: [BlockSizes; 5] = [
    BlockSizes::Fixed(4_096),
    BlockSizes::Fixed(32),
    BlockSizes::Fixed(441),
    BlockSizes::Random {
        seed: 1,
        max_frames: 100,
    },
    BlockSizes::Random {
        seed: 2,
        max_frames: 2_048,
    },
];

/// Both must have sent the same notes, in the same order at every sample.
fn expect_same(found: &Performance, expected: &Performance, what: &str) {
    let [found, expected] = [found, expected].map(|performance| {
        let events = performance.events.iter().map(without_id);
        events.collect::<Vec<TimedEvent>>()
    });
    let place = found.iter().zip(&expected).position(|(f, e)| f != e);
    if let Some(place) = place {
        let (found, expected) = (found[place], expected[place]);
        panic!("{what}: event {place} is {found:?} and not {expected:?}");
    }
    assert_eq!(found.len(), expected.len(), "{what}");
    assert!(found.len() > 4, "{what}: hardly anything was played");
}

/// The demo's chart once, then its roots, each released a little before the next one.
fn demo(host: &Host) -> Session {
    let mut session = Session::new(48_000.0, 132.0, 0);
    let mut beat = 96.0;
    let chart_end = session.samples_at(beat);
    session.change(chart_end, TransportChange::Stop);
    session.param(chart_end, plugin::id(host, "Chords from"), 0.0);
    for (key, beats) in ROOTS {
        let end = beat + f64::from(beats);
        let (from, to) = (session.samples_at(beat), session.samples_at(end - 0.1));
        session.note(from, to, key.into());
        beat = end;
    }
    session.length_samples = session.samples_at(beat + 3.0);
    session
}

#[test]
fn the_demo_is_the_same_in_both_formats() {
    let (mut instance, mut host) = both(golden::CHART);
    for (name, words) in [("Bass note", "On"), ("Rhythm", "Charleston")] {
        set(&mut instance, name, words);
        plugin::set(&mut host, name, words);
    }
    let session = demo(&host);
    let expected = plugin::play(&mut host, &session);
    let found = render(&mut instance, &session).unwrap();
    expect_same(&found, &expected, "the demo");
    assert!(note_pairs(&found.events).unwrap().len() > 100);
}

#[test]
fn the_audition_tone_is_the_same_to_the_last_bit() {
    let (mut instance, mut host) = both("| Dm7 G7 | Cmaj7 |");
    set(&mut instance, "Audition tone", "On");
    plugin::set(&mut host, "Audition tone", "On");
    let session = Session::new(48_000.0, 132.0, 200_000);
    let expected = plugin::play(&mut host, &session);
    let found = render(&mut instance, &session).unwrap();
    assert!(found.left.iter().any(|sample| *sample != 0.0));
    assert!(found.left == expected.left && found.right == expected.right);
}

#[test]
fn the_demo_is_the_same_in_blocks_of_any_length() {
    let (_, mut host) = both(golden::CHART);
    let demo = demo(&host);
    let expected = plugin::play(&mut host, &demo);
    for blocks in BLOCKS {
        let (mut instance, _) = both(golden::CHART);
        let session = Session {
            blocks,
            ..demo.clone()
        };
        let found = render(&mut instance, &session).unwrap();
        expect_same(&found, &expected, &format!("{blocks:?}"));
    }
}

/// The same plugin in both hosts, with the same state.
fn both(text: &str) -> (Instance, Host) {
    let mut instance = mute();
    set(&mut instance, "Chords from", "Chart");
    load_chart(&mut instance, text);
    let mut host = plugin::untouched();
    let state = instance.save_state().unwrap();
    host.load_state(&as_clap(&state)).unwrap();
    (instance, host)
}

/// Parameters that change all the time, none of them at the start of a block. The register and the
/// key are left out, because a thread plans for them and its result arrives at no fixed sample.
fn automated(host: &mut Host) -> Session {
    let mut session = Session::new(48_000.0, 132.0, 0);
    session.length_samples = session.samples_at(32.0);
    let moves = [
        (0.3, "Rhythm", "Charleston"),
        (3.1, "Texture", "Drop 2"),
        (5.77, "Thirteenth", "b13"),
        (6.2, "Chart velocity", "35 %"),
        (9.41, "Rhythm", "Bossa"),
        (9.41, "Bass note", "On"),
        (12.9, "Eleventh", "#11"),
        (17.03, "Swing", "50 %"),
        (20.6, "Density", "60 %"),
        (23.37, "Looseness, time", "9 ms"),
        (25.2, "Length", "40 %"),
        (29.9, "Bypass", "On"),
        (30.7, "Bypass", "Off"),
    ];
    for (beat, name, words) in moves {
        let value = plugin::value(host, name, words);
        let id = plugin::id(host, name);
        let at = session.samples_at(beat);
        session.param(at, id, value);
    }
    session
}

#[test]
fn parameters_act_at_their_sample_in_both_formats() {
    let (_, mut host) = both(golden::CHART);
    let session = automated(&mut host);
    let expected = plugin::play(&mut host, &session);
    let (mut plain, _) = both(golden::CHART);
    let unmoved = Session {
        events: Vec::new(),
        ..session.clone()
    };
    let unmoved = render(&mut plain, &unmoved).unwrap();
    assert_ne!(unmoved.events.len(), expected.events.len(), "nothing moved");
    for blocks in BLOCKS {
        let (mut instance, _) = both(golden::CHART);
        let session = Session {
            blocks,
            ..session.clone()
        };
        let found = render(&mut instance, &session).unwrap();
        expect_same(&found, &expected, &format!("{blocks:?}"));
    }
}

#[test]
fn a_bypass_ends_the_chord_at_its_very_sample() {
    for (at, blocks) in [(20_011, BLOCKS[0]), (20_480, BLOCKS[1]), (1, BLOCKS[2])] {
        let (mut instance, _) = both("| Cmaj7 |");
        let id = instance.param_by_name("Bypass").unwrap().id;
        let mut session = Session::new(48_000.0, 60.0, 30_000);
        session.blocks = blocks;
        session.param(at, id, 1.0);
        let found = render(&mut instance, &session).unwrap();
        let notes = note_pairs(&found.events).unwrap();
        assert!(notes.len() > 2, "{at}: {:?}", found.events);
        for note in notes {
            assert_eq!((note.start_samples, note.end_samples), (0, at), "{note:?}");
        }
    }
}

#[test]
fn a_moving_transport_is_followed_in_both_formats() {
    let (mut instance, mut host) = both(golden::CHART);
    let mut session = Session::new(44_100.0, 140.0, 400_000);
    session
        .change(50_001, TransportChange::Tempo { bpm: 93.7 })
        .change(120_000, TransportChange::Stop)
        .change(140_000, TransportChange::Jump { to_beats: 13.3 })
        .change(150_000, TransportChange::Play)
        .change(300_000, TransportChange::Jump { to_beats: 2.0 });
    let expected = plugin::play(&mut host, &session);
    let found = render(&mut instance, &session).unwrap();
    expect_same(&found, &expected, "a moving transport");
}

#[test]
fn without_a_transport_both_play_the_same() {
    let (mut instance, mut host) = both("| Dm7 | G7 |");
    let mut session = Session::new(48_000.0, 120.0, 200_000);
    session.telling.transport = false;
    session.note(3_000, 90_000, 72);
    let expected = plugin::play(&mut host, &session);
    let found = render(&mut instance, &session).unwrap();
    expect_same(&found, &expected, "no transport");
}

/// The id under which the framework sends a note on: it has one for every key, and never keeps the
/// original id.
fn sent_id(channel: i16, key: i16) -> i32 {
    i32::from(channel) << 16 | i32::from(key)
}

/// An instance that does not use any key.
fn bystander() -> Instance {
    let mut instance = mute();
    set(&mut instance, "Bypass", "On");
    instance
}

#[test]
fn what_is_not_its_own_passes_as_it_came() {
    let (channel, key, note_id) = (3, 72, 17);
    let events = [
        Event::NoteOn {
            channel,
            key,
            velocity: 0.375,
            note_id,
        },
        Event::Expression {
            kind: NoteExpressionType::Pressure,
            channel,
            key,
            note_id,
            value: 0.5,
        },
        Event::Controller {
            channel: 3,
            number: 64,
            value: 127,
        },
        Event::Controller {
            channel: 15,
            number: 1,
            value: 1,
        },
        Event::ChannelPressure {
            channel: 3,
            value: 99,
        },
        Event::PitchBend {
            channel: 3,
            value: 16_383,
        },
        Event::PitchBend {
            channel: 0,
            value: 4_321,
        },
        Event::NoteOff {
            channel,
            key,
            velocity: 0.25,
            note_id,
        },
    ];
    for blocks in BLOCKS {
        let mut session = Session::new(48_000.0, 120.0, 10_000);
        session.blocks = blocks;
        for (at, event) in (0..).zip(events) {
            session.event(at * 777, event);
        }
        let found = render(&mut bystander(), &session).unwrap();
        for event in &mut session.events {
            match &mut event.event {
                Event::NoteOn { note_id, .. }
                | Event::NoteOff { note_id, .. }
                | Event::Expression { note_id, .. } => *note_id = sent_id(channel, key),
                _ => {}
            }
        }
        assert_eq!(found.events, session.events, "{blocks:?}");
    }
}

/// The value of an expression before and after, and the id of its note. On the way in the framework
/// swaps expression and brightness; on the way out it does not.
#[test]
fn expressions_of_notes_pass_and_two_change_places() {
    use NoteExpressionType::{Brightness, Expression, Pan, Tuning, Vibrato, Volume};
    let pairs = [
        (Volume, Volume),
        (Pan, Pan),
        (Tuning, Tuning),
        (Vibrato, Vibrato),
        (Expression, Brightness),
        (Brightness, Expression),
    ];
    for (kind, comes_out_as) in pairs {
        for note_id in [5, 1_000_000] {
            let expression = |kind, value| Event::Expression {
                kind,
                channel: ANY,
                key: ANY,
                note_id,
                value,
            };
            let on = Event::NoteOn {
                channel: 2,
                key: 70,
                velocity: 0.75,
                note_id,
            };
            let mut session = Session::new(48_000.0, 120.0, 1_000);
            session.event(10, on);
            for (at, value) in [(20, 0.0), (30, 0.75), (40, 1.0)] {
                session.event(at, expression(kind, value));
            }
            let found = render(&mut bystander(), &session).unwrap();
            let mut expected = session.events.clone();
            for event in &mut expected {
                match &mut event.event {
                    Event::NoteOn { note_id, .. } => *note_id = sent_id(2, 70),
                    Event::Expression { note_id, kind, .. } => {
                        (*note_id, *kind) = (sent_id(2, 70), comes_out_as);
                    }
                    _ => {}
                }
            }
            assert_eq!(found.events, expected, "{kind:?}");
        }
    }
}

#[test]
fn rude_notes_do_no_harm() {
    let mut instance = mute();
    let mut session = Session::new(48_000.0, 120.0, 96_000);
    let mut rng = fastrand::Rng::with_seed(9);
    for _ in 0..2_000 {
        let at = rng.u64(..96_000);
        let (channel, key) = (rng.i16(-2..18), rng.i16(-3..140));
        let velocity = [0.0, 0.5, 1.0][rng.usize(..3)];
        let event = if rng.bool() {
            Event::note_on(channel, key, velocity)
        } else {
            Event::note_off(channel, key)
        };
        session.event(at, event);
    }
    for channel in 0..16 {
        for key in 0..128 {
            session.event(95_999, Event::note_off(channel, key));
        }
    }
    let found = render(&mut instance, &session).unwrap();
    assert!(found.events.len() > 1_000);
    let played = found.events.iter();
    let in_range = |event: &&TimedEvent| match event.event {
        Event::NoteOn {
            channel,
            key,
            velocity,
            ..
        } => {
            (0..16).contains(&channel) && (0..128).contains(&key) && (0.0..=1.0).contains(&velocity)
        }
        _ => true,
    };
    let strange = played.clone().find(|event| !in_range(event));
    assert_eq!(strange, None, "a note that no instrument has");
    assert_eq!(guidehand_tests::hanging(&found.events), []);
}

/// A host may leave unused inputs inactive: they have a place among the buses and no samples. Or it
/// may have no inputs at all.
#[test]
fn inputs_without_sound_change_nothing() {
    let mut session = Session::new(48_000.0, 120.0, 48_000);
    session.note(1_000, 30_000, 48);
    let expected = render(&mut mute(), &session).unwrap();
    let inputs = mute().buses(Media::Audio, Direction::In).unwrap();
    assert!(!inputs.is_empty(), "the plugin listens to a bass");
    let mut inactive = mute();
    for (index, _) in (0..).zip(&inputs) {
        inactive
            .set_bus_active(Media::Audio, Direction::In, index, false)
            .unwrap();
    }
    let mut withheld = mute();
    withheld.inputs_passed = Passing::Nothing;
    for (instance, what) in [(&mut inactive, "inactive"), (&mut withheld, "withheld")] {
        let found = render(instance, &session).unwrap();
        expect_same(&found, &expected, what);
        assert!(
            found.left == expected.left && found.right == expected.right,
            "{what}"
        );
    }
}

/// The same while the plugin follows a bass: it hears nothing, in blocks of any length.
#[test]
fn a_bass_that_is_not_there_is_silence() {
    for blocks in BLOCKS {
        let mut session = Session::new(48_000.0, 120.0, 30_000);
        session.blocks = blocks;
        for passed in [Passing::Whole, Passing::Nothing] {
            let mut instance = mute();
            set(&mut instance, "Chords from", "Heard bass");
            instance.inputs_passed = passed;
            instance
                .set_bus_active(Media::Audio, Direction::In, 0, false)
                .unwrap();
            let found = render(&mut instance, &session).unwrap();
            assert_eq!(found.events, [], "{blocks:?}");
            assert!(found.left.iter().all(|sample| *sample == 0.0), "{blocks:?}");
        }
    }
}
