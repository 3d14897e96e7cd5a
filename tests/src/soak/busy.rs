//! Busy sessions: keys, controllers, parameters, transports, resets, states and
//! full queues, all at random. Imported by `soak` and the tests.

use super::check::{self, Fault};
use super::stock::{Counts, RATE_HZ, exercise, instance, random_param, random_value, written};
use crate::error::HostError;
use crate::event::{ANY, Event, TimedEvent};
use crate::generator::{Generator, Manners};
use crate::host::Host;
use crate::library::Library;
use crate::params::Param;
use crate::session::{BlockSizes, Performance, Player, Session};
use crate::song::LoopWay;
use crate::state;
use crate::transport::{Signature, TransportChange};
use fastrand::Rng;
use serde_json::json;

/// How long one session is busy, before all keys go up.
const BUSY_SAMPLES: u64 = 16_000;

/// The time that a short queue needs to take all note-offs.
const QUIET_SAMPLES: u64 = 8_000;

/// The settings of one random run.
#[derive(Debug, Clone, Copy)]
pub struct Run {
    /// The seed of everything else.
    pub seed: u64,
    /// How keys behave.
    pub manners: Manners,
    /// How many events the host takes in a block; `None` for all.
    pub output_limit: Option<usize>,
}

fn random_change(rng: &mut Rng) -> TransportChange {
    match rng.u8(0..9) {
        0 | 1 => TransportChange::Stop,
        2..=4 => TransportChange::Play,
        5 => TransportChange::Jump {
            to_beats: rng.f64() * 40.0 - 8.0,
        },
        6 => TransportChange::Jump {
            to_beats: [-1e9, -4.0, 0.0, 15.999_999, 1e6][rng.usize(0..5)],
        },
        7 => TransportChange::Signature {
            signature: Signature {
                numerator: [0, 1, 3, 4, 6, 7, 255][rng.usize(0..7)],
                denominator: [0, 1, 2, 4, 8, 16, 3][rng.usize(0..7)],
            },
        },
        _ => TransportChange::Tempo {
            bpm: [0.0, 1.0, 60.0, 999.9, 5_000.0, 1e6][rng.usize(0..6)],
        },
    }
}

/// A random session. Rude keys lie close together, so half of them are moved into the left hand.
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
        max_frames: [4, 16, 16, 64, 64, 300, 300, 1_024, 4_096][rng.usize(0..9)],
    };
    session.output_limit = run.output_limit;
    session.telling.transport = rng.u8(0..8) > 0;
    session.changes_in_blocks = rng.u8(0..4) == 0;
    session
}

/// A fast bass, with some noise in between.
fn bass(rng: &mut Rng) -> Vec<f32> {
    let mut sound = Vec::new();
    while sound.len() < 16_000 {
        let hertz = 41.2 * (f32::from(rng.u8(0..32)) / 12.0).exp2();
        let noise = if rng.u8(0..6) == 0 { 0.5 } else { 0.0 };
        let mut phase = 0.0_f32;
        let mut level = 0.4_f32;
        for _ in 0..rng.u16(1_500..6_000) {
            phase = (phase + hertz / 48_000.0).fract();
            level *= 0.9997;
            sound.push(level * (phase - 0.5) + noise * (rng.f32() - 0.5));
        }
    }
    sound
}

/// Loops in a busy session, and a song that is late: in every way in which a host may play and tell
/// them.
fn loops(session: &mut Session, rng: &mut Rng) {
    for _ in 0..rng.u8(0..4) {
        let start = rng.f64() * 16.0;
        let length = [0.001, 0.3, 1.0, 4.0, 16.0][rng.usize(0..5)];
        let ranges = [
            Some((start.floor(), start.floor() + length)),
            Some((start, start + length)),
            None,
        ];
        let range_beats = ranges[rng.usize(0..3)];
        let at_samples = rng.u64(0..BUSY_SAMPLES);
        session.change(at_samples, TransportChange::Loop { range_beats });
    }
    session.loop_way = [LoopWay::Splits, LoopWay::GoesOn, LoopWay::Restarts][rng.usize(0..3)];
    session.telling.loops = rng.u8(0..3) > 0;
    if rng.u8(0..4) == 0 {
        session.telling.from_samples = rng.u64(0..BUSY_SAMPLES / 2);
        session.telling.blank_before = rng.bool();
    }
}

/// Appends the end of a session: the song stands still, all keys go up on all channels, and time
/// passes. This ends everything that sounds, except a chart that runs without the host's transport
/// and a chord that outlasts its bass. Those have to be bypassed.
fn end(session: &mut Session, bypass: u32, hears: bool) {
    // The channels end block by block, because the framework allocates if it gets more events at
    // once than it has room for.
    let step_samples = u64::from(session.blocks.max_frames()).max(100);
    session.length_samples = BUSY_SAMPLES + 16 * step_samples + QUIET_SAMPLES;
    session.change(BUSY_SAMPLES, TransportChange::Stop);
    if !session.telling.transport || hears {
        session.param(BUSY_SAMPLES, bypass, 1.0);
    }
    for (channel, step) in (0..16).zip(0..) {
        for key in 0..128 {
            let at_samples = BUSY_SAMPLES + step * step_samples;
            session.event(at_samples, Event::note_off(channel, key));
        }
    }
}

/// What a host may do between two blocks.
fn interfere(
    host: &mut Host,
    states: &[Vec<u8>],
    params: &[Param],
    rng: &mut Rng,
) -> Result<(), HostError> {
    let state = &states[rng.usize(0..states.len())];
    match rng.u8(0..4) {
        0 => host.reset(),
        1 => host.load_state(state),
        2 => match host.load_state(&state[..rng.usize(0..state.len())]) {
            Ok(()) => Err(HostError::Protocol("took half a state for one".to_owned())),
            Err(_) => Ok(()),
        },
        _ => match random_param(params, rng) {
            Event::Param { id, value } => host.set_param(id, value),
            _ => Ok(()),
        },
    }
}

/// States of other instances, each with a chart and random parameters.
fn states(library: &Library, rng: &mut Rng) -> Result<Vec<Vec<u8>>, Fault> {
    let mut state = || {
        let mut host = instance(library)?;
        let written = written(&mut host, rng)?;
        host.load_state(&written)?;
        for param in host.params().to_vec() {
            if rng.bool() {
                host.set_param(param.id, random_value(&param, rng))?;
            }
        }
        Ok(host.save_state()?)
    };
    (0..4).map(|_| state()).collect()
}

/// Puts random exercises into the states, and practises in the sessions from anywhere on.
fn practise(states: &mut [Vec<u8>], sessions: &mut [Session], source: &Param, rng: &mut Rng) {
    for state in states {
        let practice = json!({ "version": 1, "exercise": exercise(rng) });
        *state = state::with_field(state, "practice", &practice);
    }
    for session in sessions {
        session.param(rng.u64(0..BUSY_SAMPLES / 2), source.id, source.max);
    }
}

/// Adds a session's events to those before it.
fn append(all: &mut Vec<TimedEvent>, performance: &Performance, from: u64) {
    all.extend(performance.events.iter().map(|timed| TimedEvent {
        at_samples: timed.at_samples + from,
        ..*timed
    }));
}

/// Two busy sessions on one instance, the first of which breaks off while notes
/// sound.
///
/// # Errors
/// [`Fault`], the first that is found.
pub fn survive(library: &Library, run: Run) -> Result<Counts, Fault> {
    let mut rng = Rng::with_seed(run.seed);
    let mut states = states(library, &mut rng)?;
    let mut host = instance(library)?;
    let params = host.params().to_vec();
    let bypass = host.param_by_name("Bypass")?.id;
    let mut sessions = [(); 2].map(|()| busy(run, &params, &mut rng));
    // This generator is separate, so that a seed gives the same session as before.
    let mut ears = Rng::with_seed(!run.seed);
    let hears = ears.u8(0..3) == 0;
    if hears {
        host.hear(vec![vec![bass(&mut ears)]]);
    }
    for session in &mut sessions {
        loops(session, &mut ears);
    }
    // The right chord after an answer sounds on for a second.
    let practises = ears.u8(0..3) == 0;
    if practises {
        let source = host.param_by_name("Chords from")?.clone();
        practise(&mut states, &mut sessions, &source, &mut ears);
    }
    end(&mut sessions[1], bypass, hears || practises);
    let mut events = Vec::new();
    let mut counts = Counts {
        sessions: 1,
        ..Counts::default()
    };
    let mut now = 0;
    for session in &sessions {
        let mut player = Player::start(&mut host, session)?;
        while player.position_samples() < BUSY_SAMPLES {
            let next = player.position_samples() + rng.u64(1..4_000);
            player.run_until(next.min(BUSY_SAMPLES))?;
            interfere(player.host(), &states, &params, &mut rng)?;
        }
        let performance = player.finish()?;
        check::audio(&performance)?;
        append(&mut events, &performance, now);
        now += session.length_samples;
        counts.blocks += performance.blocks.len() as u64;
        counts.refused += performance.refused_events;
    }
    match host.requests().wrong_thread {
        0 => {}
        calls => return Err(Fault::WrongThread(calls)),
    }
    counts.notes = check::notes(&events)?.len() as u64;
    Ok(counts)
}
