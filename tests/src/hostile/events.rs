//! Reads bytes as a stream of events: notes, controllers, parameters and transport changes, in any
//! order and with any numbers. Imports the host, and `check`.

use crate::event::{ANY_NOTE, Event, NoteExpressionType};
use crate::host::Host;
use crate::library::Library;
use crate::params::Param;
use crate::paths::PLUGIN_ID;
use crate::session::{BlockSizes, Session, render};
use crate::soak::check;
use crate::transport::{Signature, TransportChange};

/// The time at which all keys go up, in samples.
const BUSY: u64 = 12_000;
/// The time that a short queue needs to take all note-offs, in samples.
const QUIET: u64 = 6_000;
/// The number of bytes that describe the session, and of bytes for each event after them.
const HEAD: usize = 4;
const RECORD: usize = 5;

/// A stream of events.
///
/// # Panics
/// If a note hangs, is struck twice or has no key, if audio is too loud or not a number, or if the
/// plugin refuses to go on.
pub fn events(library: &Library, bytes: &[u8]) {
    let mut host = Host::load(library, PLUGIN_ID).unwrap_or_else(|error| panic!("{error}"));
    let session = session(bytes, host.params());
    let performance = render(&mut host, &session);
    let performance = performance.unwrap_or_else(|error| panic!("{error}"));
    check::audio(&performance).unwrap_or_else(|fault| panic!("{fault}"));
    check::notes(&performance.events).unwrap_or_else(|fault| panic!("{fault}"));
    assert_eq!(host.requests().wrong_thread, 0);
}

fn session(bytes: &[u8], params: &[Param]) -> Session {
    let (head, records) = bytes.split_at(bytes.len().min(HEAD));
    let head = |index: usize| head.get(index).copied().unwrap_or(0);
    let mut session = Session::new(48_000.0, bpm(head(0)), BUSY);
    let limited = head(3) & 4 != 0;
    session.output_limit = limited.then(|| usize::from(head(3) >> 4).max(1));
    // A host that accepts few events needs enough blocks to get them all.
    let longest = if limited { 1 } else { 4 };
    session.blocks = BlockSizes::Random {
        seed: u64::from(head(1)),
        max_frames: [16, 64, 300, 2_048][usize::from(head(2)) % longest],
    };
    session.telling.transport = head(3) & 1 == 0;
    session.changes_in_blocks = head(3) & 2 != 0;
    let mut now = 0;
    for record in records.chunks_exact(RECORD) {
        let [delta, kind, first, second, third] = *record else {
            continue;
        };
        now = (now + u64::from(delta)).min(BUSY - 1);
        put(&mut session, now, kind, [first, second, third], params);
    }
    end(&mut session, params);
    session
}

/// Reads one record as an event.
fn put(session: &mut Session, at: u64, kind: u8, data: [u8; 3], params: &[Param]) {
    let [first, second, third] = data;
    // The range reaches from below the wildcard to above every channel and key.
    let (channel, key) = (i16::from(first % 19) - 2, i16::from(second) - 2);
    let note_id = if third & 1 == 0 {
        ANY_NOTE
    } else {
        i32::from(third)
    };
    let value = odd_or(third, f64::from(third) / 127.0);
    let event = match kind % 16 {
        0..=3 => Event::NoteOn {
            channel,
            key,
            velocity: value,
            note_id,
        },
        4..=6 => Event::NoteOff {
            channel,
            key,
            velocity: value,
            note_id,
        },
        7 => Event::Choke {
            channel,
            key,
            note_id,
        },
        8 => Event::Expression {
            kind: NoteExpressionType::Pressure,
            channel,
            key,
            note_id,
            value,
        },
        9 => Event::Midi(data),
        10 | 11 => {
            let param = &params[usize::from(first) % params.len()];
            let share = f64::from(u16::from_le_bytes([second, third])) / f64::from(u16::MAX);
            Event::Param {
                id: param.id,
                value: odd_or(third, param.min + share * (param.max - param.min)),
            }
        }
        12 => return change(session, at, TransportChange::Stop),
        13 => return change(session, at, TransportChange::Play),
        14 => {
            let quarters = f64::from(i16::from_le_bytes([first, second])) / 64.0;
            let to_beats = odd_or(third, quarters).clamp(-1e9, 1e9);
            return change(session, at, TransportChange::Jump { to_beats });
        }
        _ if third & 1 == 0 => {
            return change(session, at, TransportChange::Tempo { bpm: bpm(first) });
        }
        _ => {
            let signature = Signature {
                numerator: first.into(),
                denominator: second.into(),
            };
            return change(session, at, TransportChange::Signature { signature });
        }
    };
    session.event(at, event);
}

fn change(session: &mut Session, at: u64, change: TransportChange) {
    session.change(at, change);
}

/// A number that no host should send for some bytes, and the usual number for others.
fn odd_or(byte: u8, usual: f64) -> f64 {
    match byte {
        250 => f64::NAN,
        251 => f64::INFINITY,
        252 => f64::NEG_INFINITY,
        253 => -1.0,
        254 => 1e9,
        255 => f64::MIN_POSITIVE,
        _ => usual,
    }
}

fn bpm(byte: u8) -> f64 {
    match byte {
        0 => 0.0,
        254 => 1e6,
        255 => 1e-6,
        byte => f64::from(byte) * 20.0,
    }
}

/// Stops the song, releases all keys on all channels, and lets time pass. A chart that runs without
/// the host's transport has to be bypassed.
fn end(session: &mut Session, params: &[Param]) {
    let step = u64::from(session.blocks.max_frames()).max(100);
    session.length_samples = BUSY + 16 * step + QUIET;
    session.change(BUSY, TransportChange::Stop);
    let bypass = params.iter().find(|param| param.name == "Bypass");
    if let Some(bypass) = bypass.filter(|_| !session.telling.transport) {
        session.param(BUSY, bypass.id, 1.0);
    }
    for (channel, nth) in (0..16).zip(0..) {
        for key in 0..128 {
            session.event(BUSY + nth * step, Event::note_off(channel, key));
        }
    }
}
