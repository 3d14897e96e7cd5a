//! The random streams: polite ones have no fault, and rude ones have every fault that they are
//! meant to have.

use guidehand_tests::event::ANY;
use guidehand_tests::notes::PairingError;
use guidehand_tests::{Event, Generator, Manners, TimedEvent, hanging, note_pairs};

const LENGTH_SAMPLES: u64 = 5_000;

fn streams(manners: Manners) -> impl Iterator<Item = (u64, Vec<TimedEvent>)> {
    (0..100).map(move |seed| {
        let events = Generator::new(seed, manners).events(200, LENGTH_SAMPLES);
        (seed, events)
    })
}

#[test]
fn a_polite_stream_has_no_fault() {
    for (seed, events) in streams(Manners::Polite) {
        let notes = note_pairs(&events).unwrap_or_else(|error| panic!("seed {seed}: {error}"));
        assert!(notes.len() > 50, "seed {seed} has {} notes", notes.len());
        assert!((199..=200).contains(&events.len()));
        for note in notes {
            assert!(note.end_samples > note.start_samples, "{note:?}");
            assert!(note.velocity > 0.0 && note.velocity <= 1.0, "{note:?}");
        }
    }
}

#[test]
fn a_crowded_polite_stream_still_ends() {
    // With few samples, notes of one key also touch: a note must not start at the sample where
    // another ends.
    for length_samples in 2..6 {
        let events = Generator::new(3, Manners::Polite).events(20_000, length_samples);
        assert!(events.len() >= 19_999);
        note_pairs(&events).unwrap_or_else(|error| panic!("{length_samples}: {error}"));
    }
}

#[test]
fn all_streams_are_sorted_and_in_time() {
    for manners in [Manners::Polite, Manners::Rude] {
        for (_, events) in streams(manners) {
            assert!(events.is_sorted_by_key(|event| event.at_samples));
            assert!(events.iter().all(|event| event.at_samples < LENGTH_SAMPLES));
        }
    }
}

#[test]
fn careless_streams_have_no_order_and_no_end() {
    for (seed, events) in streams(Manners::Careless) {
        assert_eq!(events.len(), 200);
        assert!(!events.is_sorted_by_key(|event| event.at_samples));
        let late = events
            .iter()
            .filter(|event| event.at_samples >= LENGTH_SAMPLES);
        let late = late.count();
        assert!((10..80).contains(&late), "seed {seed}: {late} late");
    }
}

#[test]
fn a_seed_decides_the_stream() {
    let stream = |seed| Generator::new(seed, Manners::Rude).events(50, LENGTH_SAMPLES);
    assert_eq!(stream(1), stream(1));
    assert_ne!(stream(1), stream(2));
}

/// The numbers of a note event.
fn note(event: Event) -> Option<(i16, i16, f64)> {
    match event {
        Event::NoteOn {
            channel,
            key,
            velocity,
            ..
        }
        | Event::NoteOff {
            channel,
            key,
            velocity,
            ..
        } => Some((channel, key, velocity)),
        _ => None,
    }
}

#[test]
fn rude_streams_have_every_fault() {
    let all: Vec<Vec<TimedEvent>> = streams(Manners::Rude).map(|(_, events)| events).collect();
    let any_note = |test: fn(i16, i16, f64) -> bool| {
        let notes = all.iter().flatten().filter_map(|e| note(e.event));
        notes
            .into_iter()
            .any(|(channel, key, velocity)| test(channel, key, velocity))
    };
    let any_event = |test: fn(Event) -> bool| all.iter().flatten().any(|e| test(e.event));
    // Only the first fault of a stream is reported, so the stream is checked from each of its
    // events on.
    let tails = || {
        all.iter()
            .flat_map(|events| (0..events.len()).map(|i| &events[i..]))
    };
    let any_fault =
        |test: fn(&PairingError) -> bool| tails().any(|e| note_pairs(e).is_err_and(|f| test(&f)));

    assert!(any_fault(|f| matches!(f, PairingError::DoubleOn { .. })));
    assert!(any_fault(|f| matches!(f, PairingError::OrphanOff { .. })));
    assert!(all.iter().any(|events| !hanging(events).is_empty()));
    assert!(any_note(|channel, _, _| channel == ANY));
    assert!(any_note(|_, key, _| key == ANY));
    assert!(any_note(|_, _, velocity| velocity < 0.0));
    assert!(any_note(|_, _, velocity| velocity > 1.0));
    assert!(any_event(|event| matches!(event, Event::Choke { .. })));
    assert!(any_event(|event| matches!(event, Event::Controller { .. })));
    assert!(any_event(
        |event| matches!(event, Event::Midi([status, _, 0]) if status >> 4 == 9)
    ));
    let bursts = all.iter().any(|events| {
        let same = |pair: &[TimedEvent]| pair[0].at_samples == pair[7].at_samples;
        events.windows(8).any(same)
    });
    assert!(bursts, "no eight events fall on one sample");
}
