//! The checks on notes find the faults that are planted for them.

use guidehand_tests::event::{ANY, NoteExpressionType};
use guidehand_tests::notes::PairingError;
use guidehand_tests::{Event, TimedEvent, hanging, note_pairs};

fn on(at_samples: u64, key: i16) -> TimedEvent {
    TimedEvent::new(at_samples, Event::note_on(0, key, 0.5))
}

fn off(at_samples: u64, key: i16) -> TimedEvent {
    TimedEvent::new(at_samples, Event::note_off(0, key))
}

fn choke(at_samples: u64, channel: i16, key: i16) -> TimedEvent {
    let choke = Event::Choke {
        channel,
        key,
        note_id: -1,
    };
    TimedEvent::new(at_samples, choke)
}

#[test]
fn notes_are_paired_in_the_order_of_their_ends() {
    let events = [
        on(0, 60),
        on(1, 64),
        off(5, 64),
        on(5, 64),
        off(9, 60),
        off(9, 64),
    ];
    let notes: Vec<_> = note_pairs(&events)
        .unwrap()
        .iter()
        .map(|note| (note.key, note.start_samples, note.end_samples))
        .collect();
    assert_eq!(notes, [(64, 1, 5), (60, 0, 9), (64, 5, 9)]);
    assert_eq!(hanging(&events), []);
}

#[test]
fn the_same_key_on_two_channels_is_two_notes() {
    let other = |at, event| TimedEvent::new(at, event);
    let events = [
        on(0, 60),
        other(0, Event::note_on(1, 60, 0.5)),
        off(2, 60),
        other(3, Event::note_off(1, 60)),
    ];
    let channels: Vec<_> = note_pairs(&events)
        .unwrap()
        .iter()
        .map(|n| n.channel)
        .collect();
    assert_eq!(channels, [0, 1]);
}

#[test]
fn a_double_note_on_is_found() {
    let events = [on(0, 60), on(1, 60), off(2, 60)];
    let fault = PairingError::DoubleOn {
        index: 1,
        event: events[1],
    };
    assert_eq!(note_pairs(&events), Err(fault));
    assert_eq!(hanging(&events), [], "one note-off is enough to be silent");
}

#[test]
fn an_orphan_note_off_is_found() {
    for events in [
        vec![off(0, 60)],
        vec![on(0, 60), off(1, 60), off(2, 60)],
        vec![on(0, 60), off(1, 61)],
        vec![choke(0, 0, 60)],
    ] {
        let error = note_pairs(&events).unwrap_err();
        let last = events.len() - 1;
        let fault = PairingError::OrphanOff {
            index: last,
            event: events[last],
        };
        assert_eq!(error, fault);
        assert!(error.to_string().contains("ends no note"), "{error}");
    }
}

#[test]
fn an_event_out_of_order_is_found() {
    let events = [on(5, 60), off(4, 60)];
    let fault = PairingError::Unsorted {
        index: 1,
        event: events[1],
    };
    assert_eq!(note_pairs(&events), Err(fault));
}

#[test]
fn a_hanging_note_is_found() {
    let events = [on(0, 60), on(1, 64), off(2, 60), on(3, 67)];
    let fault = PairingError::Hanging {
        index: 1,
        event: events[1],
    };
    assert_eq!(note_pairs(&events), Err(fault));
    assert_eq!(hanging(&events), [(0, 64), (0, 67)]);
}

#[test]
fn a_note_on_for_any_key_is_found() {
    let events = [TimedEvent::new(0, Event::note_on(0, ANY, 0.5))];
    assert!(matches!(
        note_pairs(&events),
        Err(PairingError::VagueOn { .. })
    ));
}

#[test]
fn an_end_for_any_key_ends_all_of_them() {
    for (channel, key) in [(0, ANY), (ANY, ANY)] {
        let events = [on(0, 60), on(0, 64), choke(3, channel, key)];
        assert_eq!(note_pairs(&events).unwrap().len(), 2);
        assert_eq!(hanging(&events), []);
    }
    let events = [on(0, 60), on(0, 64), choke(3, 1, ANY)];
    assert_eq!(hanging(&events), [(0, 60), (0, 64)]);
}

#[test]
fn what_is_no_note_is_passed_over() {
    let pressure = Event::Expression {
        kind: NoteExpressionType::Pressure,
        channel: 0,
        key: 60,
        note_id: -1,
        value: 0.5,
    };
    let events = [
        on(0, 60),
        TimedEvent::new(1, pressure),
        TimedEvent::new(1, Event::Midi([0xf8, 0, 0])),
        off(2, 60),
    ];
    assert_eq!(note_pairs(&events).unwrap().len(), 1);
}
