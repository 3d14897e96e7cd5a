//! Events that do not belong to the plugin pass unchanged: at their sample, with their note id,
//! velocity and channel.

use crate::plugin::{
    BLOCKS, RATE_HZ, guidehand, held, id, keys, mute, notes, play, set, sounding, with_chart,
};
use guidehand_tests::event::{ANY, ANY_NOTE, NoteExpressionType};
use guidehand_tests::{
    BlockSizes, Event, Generator, Host, Manners, Session, TimedEvent, TransportChange,
};

/// An instance in which no key belongs to the left hand.
fn without_left_hand() -> Host {
    let mut host = mute();
    set(&mut host, "Split", "C-1");
    host
}

/// Instances that do not use any key, for three reasons.
fn bystanders() -> [(&'static str, Host); 3] {
    let mut bypassed = mute();
    set(&mut bypassed, "Bypass", "On");
    let mut silent = with_chart("| N.C. |");
    set(&mut silent, "Bass note", "On");
    [
        ("no left hand", without_left_hand()),
        ("bypassed", bypassed),
        ("a silent chart", silent),
    ]
}

/// Every kind of event that the framework can send, on a key of the right hand.
fn every_kind() -> Vec<TimedEvent> {
    let (channel, key) = (3, 72);
    let mut events = vec![Event::NoteOn {
        channel,
        key,
        velocity: 0.375,
        note_id: 17,
    }];
    for (kind, value) in [
        (NoteExpressionType::Volume, 0.5),
        (NoteExpressionType::Pan, 0.25),
        (NoteExpressionType::Tuning, 1.5),
        (NoteExpressionType::Vibrato, 0.125),
        (NoteExpressionType::Expression, 0.75),
        (NoteExpressionType::Brightness, 0.5),
        (NoteExpressionType::Pressure, 1.0),
    ] {
        for note_id in [17, ANY_NOTE] {
            events.push(Event::Expression {
                kind,
                channel,
                key,
                note_id,
                value,
            });
        }
    }
    events.extend([
        Event::Controller {
            channel: 3,
            number: 64,
            value: 127,
        },
        Event::Program {
            channel: 3,
            program: 5,
        },
        Event::ChannelPressure {
            channel: 3,
            value: 99,
        },
        Event::PitchBend {
            channel: 3,
            value: 12_345,
        },
        Event::NoteOff {
            channel,
            key,
            velocity: 0.625,
            note_id: 17,
        },
    ]);
    (10..)
        .step_by(10)
        .zip(events)
        .map(|(at, event)| TimedEvent::new(at, event))
        .collect()
}

fn session(events: Vec<TimedEvent>) -> Session {
    Session {
        events,
        ..Session::new(RATE_HZ, 120.0, 10_000)
    }
}

#[test]
fn every_kind_of_event_passes_as_it_came() {
    let session = session(every_kind());
    let mut hosts = vec![("the right hand", mute())];
    hosts.extend(bystanders());
    for (who, mut host) in hosts {
        assert_eq!(play(&mut host, &session).events, session.events, "{who}");
    }
}

#[test]
fn every_kind_of_event_passes_over_a_chord() {
    let mut session = session(every_kind());
    session.note(0, 9_000, 50);
    let mut found = play(&mut mute(), &session).events;
    let chord = keys("F3 A3 C4 E4");
    found.retain(|timed| match timed.event {
        Event::NoteOn { channel, .. } | Event::NoteOff { channel, .. } => channel == 3,
        _ => true,
    });
    assert_eq!(found, every_kind());
    assert_eq!(sounding(&play(&mut mute(), &session).events, 5_000), chord);
}

#[test]
fn polite_streams_pass_as_they_came_in_any_blocks() {
    for (seed, blocks) in (0..).zip(BLOCKS) {
        let events = Generator::new(seed, Manners::Polite).events(300, 10_000);
        let session = Session {
            blocks,
            ..session(events)
        };
        for (who, mut host) in bystanders() {
            let found = play(&mut host, &session).events;
            assert!(found == session.events, "{who}, seed {seed}, {blocks:?}");
        }
    }
}

#[test]
fn raw_midi_notes_pass_in_their_clap_form() {
    let raw = [[0x91, 70, 64], [0x91, 74, 1], [0x91, 70, 0], [0x81, 74, 30]];
    let at = |(index, bytes): (u64, [u8; 3])| TimedEvent::new(index * 100, Event::Midi(bytes));
    let midi: Vec<_> = (0..).zip(raw).map(at).collect();
    let named: Vec<_> = midi
        .iter()
        .map(|timed| match timed.event {
            Event::Midi(bytes) => TimedEvent::new(timed.at_samples, Event::from_midi(bytes)),
            _ => *timed,
        })
        .collect();
    assert_eq!(play(&mut mute(), &session(midi)).events, named);
}

#[test]
fn raw_midi_roots_give_chords() {
    let mut session = session(Vec::new());
    session
        .event(5, Event::Midi([0x92, 50, 127]))
        .event(2_000, Event::Midi([0x92, 50, 0]));
    let found = notes(&play(&mut mute(), &session).events);
    assert_eq!(found, held(&keys("F3 A3 C4 E4"), 2, 1.0, 5, 2_000));
}

/// The framework cannot send a choke, so a choke leaves as a note-off.
#[test]
fn a_choked_key_ends_at_its_sample() {
    let choke = Event::Choke {
        channel: 0,
        key: 72,
        note_id: ANY_NOTE,
    };
    for blocks in [BlockSizes::Fixed(64), BlockSizes::Fixed(1_000)] {
        let mut session = session(vec![TimedEvent::new(100, Event::note_on(0, 72, 0.5))]);
        session.blocks = blocks;
        session.event(3_333, choke);
        let found = notes(&play(&mut mute(), &session).events);
        assert_eq!(found, held(&[72], 0, 0.5, 100, 3_333), "{blocks:?}");
    }
}

#[test]
fn a_choked_root_ends_its_chord_at_its_sample() {
    let choke = Event::Choke {
        channel: 0,
        key: 50,
        note_id: ANY_NOTE,
    };
    let mut session = session(vec![TimedEvent::new(100, Event::note_on(0, 50, 0.5))]);
    session.event(3_333, choke);
    let found = notes(&play(&mut mute(), &session).events);
    assert_eq!(found, held(&keys("F3 A3 C4 E4"), 0, 0.5, 100, 3_333));
}

#[test]
fn a_note_off_for_any_key_ends_all_of_its_channel() {
    for (channel, key) in [(0, ANY), (ANY, ANY)] {
        let mut session = session(Vec::new());
        for (channel, key) in [(0, 50), (0, 72), (0, 76), (1, 79)] {
            session.event(100, Event::note_on(channel, key, 0.5));
        }
        session
            .event(2_000, Event::note_off(channel, key))
            .event(3_000, Event::note_off(ANY, ANY));
        for note in notes(&play(&mut mute(), &session).events) {
            let end = if note.channel == 1 && channel == 0 {
                3_000
            } else {
                2_000
            };
            assert_eq!(note.end_samples, end, "{note:?}");
        }
    }
}

#[test]
fn all_notes_off_ends_roots_and_melody_and_passes() {
    for number in [120, 123] {
        let panic = Event::Controller {
            channel: 0,
            number,
            value: 0,
        };
        let mut session = session(Vec::new());
        session
            .event(100, Event::note_on(0, 50, 0.5))
            .event(200, Event::note_on(0, 72, 0.5))
            .event(2_000, panic);
        let events = play(&mut mute(), &session).events;
        assert!(events.contains(&TimedEvent::new(2_000, panic)));
        let ends: Vec<u64> = notes(&events).iter().map(|note| note.end_samples).collect();
        assert_eq!(ends, [2_000; 5]);
    }
}

#[test]
fn a_key_that_the_chord_holds_is_struck_again_and_ends_with_its_last_holder() {
    // E4 is the chord's top note.
    for (from, to) in [(1_000, 2_000), (1_000, 6_000)] {
        let mut session = session(Vec::new());
        session.note(0, 4_000, 50).note(from, to, 64);
        let found = notes(&play(&mut guidehand(), &session).events);
        let e4: Vec<_> = found
            .iter()
            .filter(|note| note.key == 64)
            .map(|note| (note.start_samples, note.end_samples))
            .collect();
        assert_eq!(e4, [(0, from), (from, to.max(4_000))]);
        assert_eq!(found.len(), 5);
    }
    // If the player holds a key of the chord, the chord takes the key over without striking it
    // again.
    let mut session = session(Vec::new());
    session.note(0, 2_000, 64).note(1_000, 4_000, 50);
    let found = notes(&play(&mut guidehand(), &session).events);
    let e4: Vec<_> = found.iter().filter(|note| note.key == 64).collect();
    assert_eq!(e4.len(), 1);
    assert_eq!((e4[0].start_samples, e4[0].end_samples), (0, 4_000));
}

/// The release of a key that was a root is not passed on, whatever the left hand's range is by
/// then. A key that has passed ends as it began.
#[test]
fn a_key_ends_as_it_began_whatever_changes_meanwhile() {
    for (name, words) in [("Bypass", "On"), ("Chords from", "Chart"), ("Split", "C2")] {
        let mut host = mute();
        let id = host.param_by_name(name).unwrap().id;
        let (before, after) = (
            host.param_value(id).unwrap(),
            host.text_to_value(id, words).unwrap(),
        );
        let mut session = session(Vec::new());
        session
            .change(0, TransportChange::Stop)
            .note(0, 4_000, 50)
            .param(2_000, id, after)
            .note(3_000, 8_000, 55)
            .param(6_000, id, before);
        let found = notes(&play(&mut host, &session).events);
        let mut expected = held(&keys("F3 A3 C4 E4"), 0, 0.75, 0, 2_000);
        expected.extend(held(&[55], 0, 0.75, 3_000, 8_000));
        assert_eq!(found, expected, "{name}");
    }
}

/// A root that is still held when the chart takes over no longer counts.
#[test]
fn an_old_root_does_not_end_the_charts_chord() {
    for (name, words) in [
        ("Chords from", "Chart"),
        ("Play while a key is held", "Off"),
    ] {
        let mut host = with_chart("| Dm7 | G7 |");
        let start = if name == "Chords from" { "Roots" } else { "On" };
        set(&mut host, name, start);
        let id = host.param_by_name(name).unwrap().id;
        let value = host.text_to_value(id, words).unwrap();
        let mut session = session(Vec::new());
        session.note(0, 4_000, 50).param(2_000, id, value);
        let events = play(&mut host, &session).events;
        let chord = keys("F3 A3 C4 E4");
        for at_samples in [1_000, 3_000, 5_000, 9_000] {
            assert_eq!(
                sounding(&events, at_samples),
                chord,
                "{name} at {at_samples}"
            );
        }
    }
}

/// Hosts put automation and notes on the same beat.
#[test]
fn a_parameter_at_the_sample_of_a_key_does_not_move_the_chord() {
    for first in [false, true] {
        for blocks in [1, 100, 64, 4096].map(BlockSizes::Fixed) {
            let mut host = mute();
            let id = host.param_by_name("Audition level").unwrap().id;
            let mut session = session(Vec::new());
            session.blocks = blocks;
            if first {
                session.param(100, id, 0.5);
            }
            session.note(100, 2_000, 50);
            if !first {
                session.param(100, id, 0.5).param(2_000, id, 0.25);
            }
            let found = notes(&play(&mut host, &session).events);
            let expected = held(&keys("F3 A3 C4 E4"), 0, 0.75, 100, 2_000);
            assert_eq!(found, expected, "parameter first: {first}, {blocks:?}");
        }
    }
}

/// Two keyboards on one channel, or a host that sends a note twice: the key passes in bypass, and
/// is then struck again as a root. One note-off ends both.
#[test]
fn a_key_that_passed_and_became_a_root_ends_with_one_note_off() {
    for (first, second) in [(1.0, 0.0), (0.0, 1.0)] {
        let mut host = mute();
        let bypass = id(&host, "Bypass");
        let mut session = session(Vec::new());
        session
            .param(0, bypass, first)
            .event(100, Event::note_on(0, 50, 0.75))
            .param(1_000, bypass, second)
            .event(2_000, Event::note_on(0, 50, 0.75))
            .event(5_000, Event::note_off(0, 50));
        let events = play(&mut host, &session).events;
        assert!(!sounding(&events, 4_999).is_empty());
        assert!(sounding(&events, 5_000).is_empty(), "bypass {first}");
    }
}

/// A host whose queue is full gets the rest of a chord, and a key that passes, with its next block, but
/// nothing that is over by then.
#[test]
fn what_a_full_queue_refuses_comes_late_or_not_at_all() {
    let mut session = session(Vec::new());
    session
        .change(0, TransportChange::Stop)
        .note(600, 6_000, 50)
        .note(601, 6_000, 80)
        .note(7_000, 7_100, 55);
    session.blocks = BlockSizes::Fixed(512);
    session.output_limit = Some(3);
    let performance = guidehand_tests::render(&mut mute(), &session).unwrap();
    assert!(performance.refused_events > 0);
    let found = notes(&performance.events);
    let starts: Vec<(u64, i16)> = found
        .iter()
        .map(|note| (note.start_samples, note.key))
        .take(5)
        .collect();
    assert_eq!(
        starts,
        [(600, 53), (600, 57), (600, 60), (1_024, 64), (1_024, 80)]
    );
    let of_the_last = found.iter().filter(|note| note.start_samples >= 6_656);
    assert!(of_the_last.count() <= 3, "{found:?}");
}
