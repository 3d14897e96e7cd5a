//! Sessions and their blocks: events pass through the passthrough plugin unchanged and at the same
//! sample, however the session is cut.

use crate::host::{RATE_HZ, passthrough};
use guidehand_tests::{
    BlockSizes, Event, Generator, HostError, Manners, Player, Session, TimedEvent, TransportChange,
    render,
};

const BLOCKS: [BlockSizes; 7] = [
    BlockSizes::Fixed(1),
    BlockSizes::Fixed(32),
    BlockSizes::Fixed(64),
    BlockSizes::Fixed(441),
    BlockSizes::Fixed(4096),
    BlockSizes::Random {
        seed: 1,
        max_frames: 100,
    },
    BlockSizes::Random {
        seed: 2,
        max_frames: 2048,
    },
];

const LENGTH_SAMPLES: u64 = 10_000;

fn session(blocks: BlockSizes, events: Vec<TimedEvent>) -> Session {
    Session {
        blocks,
        events,
        ..Session::new(RATE_HZ, 120.0, LENGTH_SAMPLES)
    }
}

/// The events as the framework passes them: it cannot send chokes, and it turns raw MIDI notes into
/// CLAP notes.
fn passed(events: &[TimedEvent]) -> Vec<TimedEvent> {
    events
        .iter()
        .filter(|timed| !matches!(timed.event, Event::Choke { .. }))
        .map(|timed| match timed.event {
            Event::Midi(bytes) => TimedEvent::new(timed.at_samples, Event::from_midi(bytes)),
            _ => *timed,
        })
        .collect()
}

fn come_back_unchanged(manners: Manners) {
    for seed in 0..8 {
        let events = Generator::new(seed, manners).events(400, LENGTH_SAMPLES);
        let expected = passed(&events);
        assert!(expected.len() > 300);
        for blocks in BLOCKS {
            let mut host = passthrough();
            let performance = render(&mut host, &session(blocks, events.clone())).unwrap();
            assert_eq!(performance.events, expected, "seed {seed}, {blocks:?}");
            assert_eq!(performance.refused_events, 0);
            assert_eq!(host.requests().wrong_thread, 0);
        }
    }
}

#[test]
fn polite_events_come_back_unchanged() {
    come_back_unchanged(Manners::Polite);
}

#[test]
fn rude_events_come_back_unchanged() {
    come_back_unchanged(Manners::Rude);
}

#[test]
fn every_channel_message_comes_back() {
    let mut events = Vec::new();
    for status in 0x80..0xf0 {
        for data in 0..128 {
            let bytes = [status, data, 127 - data];
            events.push(TimedEvent::new(events.len() as u64, Event::Midi(bytes)));
        }
    }
    let mut session = session(BlockSizes::Fixed(512), events.clone());
    session.length_samples = events.len() as u64;
    let performance = render(&mut passthrough(), &session).unwrap();
    assert_eq!(performance.events, passed(&events));
}

#[test]
fn the_audio_is_as_long_as_the_session_and_silent() {
    for blocks in BLOCKS {
        let performance = render(&mut passthrough(), &session(blocks, Vec::new())).unwrap();
        let silence = vec![0.0; usize::try_from(LENGTH_SAMPLES).unwrap()];
        assert_eq!(performance.left, silence);
        assert_eq!(performance.right, silence);
    }
}

#[test]
fn blocks_tile_the_session_and_end_where_the_transport_changes() {
    let changes = [
        (1000, TransportChange::Stop),
        (1001, TransportChange::Jump { to_beats: 8.0 }),
        (7777, TransportChange::Play),
    ];
    for blocks in BLOCKS {
        let mut session = session(blocks, Vec::new());
        session.transport = changes.to_vec();
        let performance = render(&mut passthrough(), &session).unwrap();
        let mut next = 0;
        for (start, frames) in &performance.blocks {
            assert_eq!(*start, next, "{blocks:?}");
            assert!(*frames > 0 && *frames <= 4096);
            next = start + u64::from(*frames);
        }
        assert_eq!(next, LENGTH_SAMPLES);
        for (change, _) in changes {
            let starts = performance.blocks.iter().any(|(start, _)| *start == change);
            assert!(starts, "no block starts at {change} with {blocks:?}");
        }
    }
}

#[test]
fn changes_in_blocks_cut_no_block_and_lose_no_event() {
    let events = Generator::new(9, Manners::Polite).events(300, LENGTH_SAMPLES);
    let mut session = session(BlockSizes::Fixed(1_000), events.clone());
    for at in [1, 999, 1_000, 1_001, 7_777, 7_777] {
        session.change(at, TransportChange::Tempo { bpm: 90.0 });
    }
    session.changes_in_blocks = true;
    let performance = render(&mut passthrough(), &session).unwrap();
    assert_eq!(performance.blocks.len(), 10);
    assert_eq!(performance.events, events);
}

#[test]
fn a_seed_decides_the_blocks() {
    let blocks = |seed| {
        let blocks = BlockSizes::Random {
            seed,
            max_frames: 300,
        };
        render(&mut passthrough(), &session(blocks, Vec::new()))
            .unwrap()
            .blocks
    };
    assert_eq!(blocks(5), blocks(5));
    assert_ne!(blocks(5), blocks(6));
}

#[test]
fn an_event_past_the_end_is_an_error() {
    let late = vec![TimedEvent::new(LENGTH_SAMPLES, Event::note_off(0, 60))];
    let error = render(&mut passthrough(), &session(BlockSizes::Fixed(64), late)).unwrap_err();
    assert!(matches!(error, HostError::Misuse(_)), "{error}");
}

#[test]
fn a_parameter_changes_at_its_sample() {
    for blocks in BLOCKS {
        let mut host = passthrough();
        let id = host.param_by_name("Group 1/Level").unwrap().id;
        let mut session = session(blocks, Vec::new());
        session.param(1000, id, 0.25);
        let mut player = Player::start(&mut host, &session).unwrap();
        player.run_until(1000).unwrap();
        assert_eq!(player.host().param_value(id).unwrap(), 0.5, "{blocks:?}");
        player.run_until(1001).unwrap();
        assert_eq!(player.host().param_value(id).unwrap(), 0.25, "{blocks:?}");
    }
}

#[test]
fn a_state_can_be_loaded_between_blocks() {
    let mut host = passthrough();
    let id = host.param_by_name("Group 1/Level").unwrap().id;
    let state = host.save_state().unwrap();
    host.set_param(id, 0.25).unwrap();

    let mut session = session(BlockSizes::Fixed(64), Vec::new());
    session.note(100, 9_000, 60);
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(5_000).unwrap();
    player.host().load_state(&state).unwrap();
    assert_eq!(player.performance().events.len(), 1);
    let performance = player.finish().unwrap();
    assert_eq!(performance.events, session.events);
    assert_eq!(host.param_value(id).unwrap(), 0.5);
    assert!(!host.is_active());
}

#[test]
fn a_session_can_limit_the_queue() {
    let mut session = session(BlockSizes::Fixed(64), Vec::new());
    for key in 60..70 {
        session.event(5, Event::note_on(0, key, 0.5));
    }
    session.output_limit = Some(4);
    let performance = render(&mut passthrough(), &session).unwrap();
    assert_eq!(performance.events, session.events[..4]);
    assert_eq!(performance.refused_events, 6);
}

#[test]
fn beats_and_samples_agree() {
    let session = Session::new(44_100.0, 93.0, 1);
    for beat in 0..64 {
        let beats = f64::from(beat) / 4.0;
        let error = session.beats_at(session.samples_at(beats)) - beats;
        let half_a_sample = 0.5 / 44_100.0 * 93.0 / 60.0;
        assert!(error.abs() <= half_a_sample, "{beats}: {error}");
    }
}
