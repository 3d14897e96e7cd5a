//! Whatever happens to the plugin, no note hangs: random keys, parameters,
//! transports, resets, states and full queues, from printed seeds.

use crate::plugin::{RATE_HZ, check_audio, guidehand, load_chart, random_value};
use fastrand::Rng;
use guidehand_tests::event::ANY;
use guidehand_tests::params::Param;
use guidehand_tests::{
    BlockSizes, Event, Generator, Host, Manners, Performance, Player, Session, TimedEvent,
    TransportChange, note_pairs,
};

/// How long one session is busy, before all keys go up.
const BUSY_SAMPLES: u64 = 16_000;

/// Time for a queue of few events to take all note-offs.
const QUIET_SAMPLES: u64 = 8_000;

const CHARTS: [&str; 4] = [
    "| Dm7 | G7 | Cmaj7 | A7 |",
    "7/8 | Dm7/C N.C. G7 | % | Ab13#11 / / / / / / |",
    "| C6 Db6 D6 Eb6 E6 F6 Gb6 G6 Ab6 A6 Bb6 B6 C6 Db6 D6 Eb6 |",
    "| N.C. |",
];

/// What one random run is made of.
#[derive(Debug, Clone, Copy)]
struct Run {
    seed: u64,
    manners: Manners,
    /// How many events the host takes in a block.
    output_limit: Option<usize>,
}

/// Numbers that no parameter should get.
const ODD_VALUES: [f64; 5] = [f64::NAN, f64::INFINITY, -1.0, 1e9, 0.5];

fn random_param(params: &[Param], rng: &mut Rng) -> Event {
    let param = &params[rng.usize(0..params.len())];
    let value = match rng.u8(0..10) {
        0 => ODD_VALUES[rng.usize(0..ODD_VALUES.len())],
        _ => random_value(param, rng),
    };
    Event::Param {
        id: param.id,
        value,
    }
}

fn random_change(rng: &mut Rng) -> TransportChange {
    match rng.u8(0..8) {
        0 | 1 => TransportChange::Stop,
        2..=4 => TransportChange::Play,
        5 => TransportChange::Jump {
            to_beats: rng.f64() * 40.0 - 8.0,
        },
        6 => TransportChange::Jump {
            to_beats: [-1e9, -4.0, 0.0, 15.999_999, 1e6][rng.usize(0..5)],
        },
        _ => TransportChange::Tempo {
            bpm: [0.0, 1.0, 60.0, 999.9, 5_000.0, 1e6][rng.usize(0..6)],
        },
    }
}

/// A random session. Rude keys lie close together: half of them are moved into
/// the left hand.
fn busy(run: Run, params: &[Param], rng: &mut Rng) -> Session {
    let mut session = Session::new(RATE_HZ, 1_000.0, BUSY_SAMPLES);
    session.events = Generator::new(rng.u64(..), run.manners).events(250, BUSY_SAMPLES);
    if run.manners == Manners::Rude {
        for timed in &mut session.events {
            if let Event::NoteOn { key, .. } | Event::NoteOff { key, .. } = &mut timed.event
                && *key != ANY
                && rng.bool()
            {
                *key -= 11;
            }
        }
    }
    for _ in 0..40 {
        let at_samples = rng.u64(0..BUSY_SAMPLES);
        let param = TimedEvent::new(at_samples, random_param(params, rng));
        let place = rng.usize(0..=session.events.len());
        session.events.insert(place, param);
    }
    for _ in 0..12 {
        session.change(rng.u64(0..BUSY_SAMPLES), random_change(rng));
    }
    session.blocks = BlockSizes::Random {
        seed: rng.u64(..),
        max_frames: [16, 64, 300][rng.usize(0..3)],
    };
    session.output_limit = run.output_limit;
    session
}

/// Appends the end of a session: the song stands still, all keys go up on all
/// channels, and time passes. Nothing else lets go of what sounds.
fn end(session: &mut Session) {
    session.length_samples = BUSY_SAMPLES + QUIET_SAMPLES;
    session.change(BUSY_SAMPLES, TransportChange::Stop);
    // Channel by channel: more events at once than the framework keeps room for
    // would make it allocate.
    for (channel, after) in (0..16).zip((0..).step_by(100)) {
        for key in 0..128 {
            session.event(BUSY_SAMPLES + after, Event::note_off(channel, key));
        }
    }
}

/// What a host may do between two blocks.
fn interfere(host: &mut Host, states: &[Vec<u8>], params: &[Param], rng: &mut Rng) {
    match rng.u8(0..4) {
        0 => host.reset().unwrap(),
        1 => {
            let state = &states[rng.usize(0..states.len())];
            host.load_state(state).unwrap();
        }
        2 => {
            let state = &states[rng.usize(0..states.len())];
            let cut = rng.usize(0..state.len());
            host.load_state(&state[..cut]).unwrap_err();
        }
        _ => {
            if let Event::Param { id, value } = random_param(params, rng) {
                host.set_param(id, value).unwrap();
            }
        }
    }
}

/// States of other instances, each with a chart and random parameters.
fn states(rng: &mut Rng) -> Vec<Vec<u8>> {
    let state = |chart: &str| {
        let mut host = guidehand();
        load_chart(&mut host, chart);
        for param in host.params().to_vec() {
            if rng.bool() {
                host.set_param(param.id, random_value(&param, rng)).unwrap();
            }
        }
        host.save_state().unwrap()
    };
    CHARTS.into_iter().map(state).collect()
}

/// Adds a session's events to those before it.
fn append(all: &mut Vec<TimedEvent>, performance: &Performance, from: u64) {
    all.extend(performance.events.iter().map(|timed| TimedEvent {
        at_samples: timed.at_samples + from,
        ..*timed
    }));
}

/// Two busy sessions, the first of which breaks off while notes sound. Tells how
/// many blocks there were, and how many events found the queue full.
fn survive(run: Run) -> (usize, u64) {
    let mut rng = Rng::with_seed(run.seed);
    let states = states(&mut rng);
    let mut host = guidehand();
    let params = host.params().to_vec();
    let mut sessions = [(); 2].map(|()| busy(run, &params, &mut rng));
    end(&mut sessions[1]);
    let mut events = Vec::new();
    let (mut blocks, mut refused, mut now) = (0, 0, 0);
    for session in &sessions {
        let mut player = Player::start(&mut host, session).unwrap();
        while player.position_samples() < BUSY_SAMPLES {
            let next = player.position_samples() + rng.u64(1..4_000);
            player.run_until(next.min(BUSY_SAMPLES)).unwrap();
            interfere(player.host(), &states, &params, &mut rng);
        }
        let performance = player.finish().unwrap();
        check_audio(&performance);
        append(&mut events, &performance, now);
        now += session.length_samples;
        blocks += performance.blocks.len();
        refused += performance.refused_events;
    }
    assert_eq!(host.requests().wrong_thread, 0, "{run:?}");
    check_notes(&events, run);
    (blocks, refused)
}

/// Every note-on names one key and has its one note-off.
fn check_notes(events: &[TimedEvent], run: Run) {
    for timed in events {
        if let Event::NoteOn { channel, key, .. } = timed.event {
            let in_range = (0..16).contains(&channel) && (0..128).contains(&key);
            assert!(in_range, "{run:?}: {timed:?}");
        }
    }
    let notes = note_pairs(events).unwrap_or_else(|error| panic!("{run:?}: {error}"));
    assert!(notes.len() > 20, "{run:?} has {} notes", notes.len());
}

fn survive_all(seeds: std::ops::Range<u64>, manners: Manners, limited: bool) {
    let (mut blocks, mut refused) = (0, 0);
    for seed in seeds {
        let limit = usize::try_from(seed % 7).unwrap() + 1;
        let run = Run {
            seed,
            manners,
            output_limit: limited.then_some(limit),
        };
        let (more_blocks, more_refused) = survive(run);
        blocks += more_blocks;
        refused += more_refused;
    }
    assert!(blocks > 2_000, "{blocks} blocks");
    assert_eq!(refused > 0, limited, "{refused} refused");
}

#[test]
fn polite_keys_never_hang() {
    survive_all(0..5, Manners::Polite, false);
}

#[test]
fn rude_keys_never_hang() {
    survive_all(100..105, Manners::Rude, false);
}

#[test]
fn polite_keys_never_hang_in_a_full_queue() {
    survive_all(200..205, Manners::Polite, true);
}

#[test]
fn rude_keys_never_hang_in_a_full_queue() {
    survive_all(300..305, Manners::Rude, true);
}
