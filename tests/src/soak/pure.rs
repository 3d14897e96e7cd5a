//! Pure sessions: the chart under random settings while only the song moves.
//! What comes out depends on the position and the settings alone. Imported by
//! `soak` and the tests.

use super::check::{self, Fault};
use super::stock::{Counts, RATE_HZ, instance, random_value, set, written};
use crate::expected::{EvenPlay, passes_of};
use crate::host::Host;
use crate::library::Library;
use crate::notes::PlayedNote;
use crate::session::{BlockSizes, Performance, Session, render};
use crate::song::{LoopWay, Telling};
use crate::transport::TransportChange;
use fastrand::Rng;

/// How long a song plays.
const PLAYED_SAMPLES: u64 = 60_000;

/// Time after the stop.
const QUIET_SAMPLES: u64 = 2_000;

/// Parameters that would need a player, or that do not affect notes.
const LEFT_ALONE: [&str; 6] = [
    "Bypass",
    "Chords from",
    "Play while a key is held",
    "Audition tone",
    "Chart revision",
    "Left hand comps",
];

/// An instance that plays a random chart with random settings, and its state.
fn prepared(library: &Library, rng: &mut Rng) -> Result<(Host, Vec<u8>), Fault> {
    let mut host = instance(library)?;
    let state = written(&mut host, rng)?;
    host.load_state(&state)?;
    for param in host.params().to_vec() {
        if !LEFT_ALONE.contains(&param.name.as_str()) && rng.u8(0..3) > 0 {
            host.set_param(param.id, random_value(&param, rng))?;
        }
    }
    // The song starts at its first bar, because most sessions would be silent otherwise.
    set(&mut host, "Chart from bar", 0.0)?;
    set(&mut host, "Chords from", 1.0)?;
    set(&mut host, "Audition tone", f64::from(rng.u8(0..2)))?;
    let state = host.save_state()?;
    Ok((host, state))
}

fn blocks(rng: &mut Rng) -> BlockSizes {
    let max_frames = [4, 32, 441, 2_048, 4_096][rng.usize(0..5)];
    let seed = rng.u64(..);
    BlockSizes::Random { seed, max_frames }
}

/// A song that plays from one beat for this long, and then stops.
fn song(tempo_bpm: f64, to_beats: f64, played_samples: u64, blocks: BlockSizes) -> Session {
    let mut session = Session::new(RATE_HZ, tempo_bpm, played_samples + QUIET_SAMPLES);
    session
        .change(0, TransportChange::Jump { to_beats })
        .change(played_samples, TransportChange::Stop);
    session.blocks = blocks;
    session
}

/// A song that stops, continues and jumps, and its stops with the starts after them.
fn restless(tempo_bpm: f64, rng: &mut Rng) -> (Session, Vec<(u64, u64)>) {
    let mut session = Session::new(RATE_HZ, tempo_bpm, PLAYED_SAMPLES);
    session.blocks = blocks(rng);
    let mut stops = Vec::new();
    let mut now = 0;
    loop {
        let stop = now + rng.u64(1..15_000);
        let start = stop + rng.u64(1..8_000);
        if start >= PLAYED_SAMPLES {
            session.change(now + 1, TransportChange::Stop);
            stops.push((now + 1, PLAYED_SAMPLES));
            return (session, stops);
        }
        let to_beats = rng.f64() * 60.0 - 4.0;
        session
            .change(rng.u64(now..stop), TransportChange::Jump { to_beats })
            .change(stop, TransportChange::Stop)
            .change(start, TransportChange::Play);
        stops.push((stop, start));
        now = start;
    }
}

/// A loop of the song, in quarter notes, and how it plays there.
fn any_loop(tempo_bpm: f64, rng: &mut Rng) -> ((f64, f64), EvenPlay) {
    let start = rng.f64() * 24.0;
    let start = if rng.bool() { start.floor() } else { start };
    let length = [1.0, 4.0, 8.0, 0.7 + rng.f64() * 6.0][rng.usize(0..4)];
    let play = EvenPlay {
        sample_rate_hz: RATE_HZ,
        tempo_bpm,
        from_beats: start - rng.f64() * 2.0,
        stop_samples: PLAYED_SAMPLES,
    };
    ((start, start + length), play)
}

/// A song in a loop. The host tells of the loop, and its blocks end with it or lead beyond it.
fn looped(range: (f64, f64), play: &EvenPlay, rng: &mut Rng) -> Session {
    let blocks = blocks(rng);
    let mut session = song(play.tempo_bpm, play.from_beats, play.stop_samples, blocks);
    let range_beats = Some(range);
    session.change(0, TransportChange::Loop { range_beats });
    session.loop_way = [LoopWay::GoesOn, LoopWay::Splits][rng.usize(0..2)];
    session
}

/// Renders a session, checks what must hold for every session, and adds to the counts.
fn heard(
    host: &mut Host,
    session: &Session,
    counts: &mut Counts,
) -> Result<Vec<PlayedNote>, Fault> {
    let performance: Performance = render(host, session)?;
    check::audio(&performance)?;
    let notes = check::notes(&performance.events)?;
    match host.requests().wrong_thread {
        0 => {}
        calls => return Err(Fault::WrongThread(calls)),
    }
    counts.blocks += performance.blocks.len() as u64;
    counts.notes += notes.len() as u64;
    Ok(notes)
}

/// The notes that start after a sample, with times counted from there.
fn after(notes: &[PlayedNote], from_samples: u64) -> Vec<PlayedNote> {
    let late = notes
        .iter()
        .filter(|note| note.start_samples > from_samples + check::NEAR_SAMPLES);
    late.map(|note| PlayedNote {
        start_samples: note.start_samples - from_samples,
        end_samples: note.end_samples - from_samples,
        ..*note
    })
    .collect()
}

/// A song in a loop, and the same with a song of its own for each time through, played by an instance
/// that knows of no loop. The other instance gets its song while it is being loaded, too: until then it
/// is silent.
fn repeat_loop(
    hosts: [&mut Host; 2],
    tempo_bpm: f64,
    rng: &mut Rng,
    counts: &mut Counts,
) -> Result<(), Fault> {
    let [host, other] = hosts;
    let (range, play) = any_loop(tempo_bpm, rng);
    let found = heard(host, &looped(range, &play, rng), counts)?;
    let mut expected = Vec::new();
    for pass in passes_of(&play, range) {
        let even = &pass.play;
        let mut session = song(tempo_bpm, even.from_beats, even.stop_samples, blocks(rng));
        let loads = rng.u64(1..40_000) * u64::from(rng.bool());
        session.length_samples += loads;
        for (at_samples, _) in &mut session.transport {
            *at_samples += loads;
        }
        session.transport.insert(0, (0, TransportChange::Stop));
        session.transport.push((loads, TransportChange::Play));
        session.transport.sort_by_key(|(at_samples, _)| *at_samples);
        session.telling = Telling {
            from_samples: loads,
            blank_before: rng.bool(),
            ..Telling::ALL
        };
        let notes = heard(other, &session, counts)?;
        check::silent(&notes, &[(0, loads)], 0)?;
        expected.extend(notes.into_iter().map(|note| PlayedNote {
            start_samples: note.start_samples - loads + pass.from_samples,
            end_samples: note.end_samples - loads + pass.from_samples,
            ..note
        }));
    }
    counts.loops += 1;
    counts.compared += check::same("in a loop", &found, &expected)?;
    Ok(())
}

/// Plays one chart under one set of settings: once, again from its state in other blocks, from the
/// middle on, with stops, and in a loop.
///
/// # Errors
/// [`Fault`], the first that is found.
pub fn repeat(library: &Library, seed: u64) -> Result<Counts, Fault> {
    let mut rng = Rng::with_seed(seed);
    let mut counts = Counts {
        sessions: 1,
        ..Counts::default()
    };
    let (mut host, state) = prepared(library, &mut rng)?;
    let tempo_bpm = 200.0 + rng.f64() * 1_800.0;
    let from_beats = rng.f64() * 30.0 - 4.0;

    let session = song(tempo_bpm, from_beats, PLAYED_SAMPLES, blocks(&mut rng));
    let first = heard(&mut host, &session, &mut counts)?;
    check::silent(&first, &[(PLAYED_SAMPLES, u64::MAX)], 0)?;
    counts.stops += 1;

    let mut other = instance(library)?;
    other.load_state(&state)?;
    let again = song(tempo_bpm, from_beats, PLAYED_SAMPLES, blocks(&mut rng));
    let second = heard(&mut other, &again, &mut counts)?;
    counts.compared += check::same("from a saved state", &second, &first)?;

    let skipped = rng.u64(1..PLAYED_SAMPLES / 2);
    let middle_beats = session.timeline().at(skipped).position_beats;
    let rest = PLAYED_SAMPLES - skipped;
    let late = song(tempo_bpm, middle_beats, rest, blocks(&mut rng));
    let third = heard(&mut other, &late, &mut counts)?;
    let (third, expected) = (after(&third, 0), after(&first, skipped));
    counts.compared += check::same("from the middle on", &third, &expected)?;

    let (session, stops) = restless(tempo_bpm, &mut rng);
    let fourth = heard(&mut host, &session, &mut counts)?;
    check::silent(&fourth, &stops, 0)?;
    counts.stops += stops.len() as u64;

    // This generator is separate, so that a seed gives the same sessions as before.
    let mut loops = Rng::with_seed(!seed);
    repeat_loop([&mut host, &mut other], tempo_bpm, &mut loops, &mut counts)?;
    Ok(counts)
}
