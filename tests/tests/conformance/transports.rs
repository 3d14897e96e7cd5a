//! Transports: none, nonsense, and transport events within a block.

use super::{OutputCheck, RATE_HZ, all_up, notes_of, on_chart, started};
use clap_sys::events::{
    CLAP_EVENT_NOTE_OFF, CLAP_EVENT_NOTE_ON, CLAP_EVENT_TRANSPORT,
    CLAP_TRANSPORT_HAS_BEATS_TIMELINE, CLAP_TRANSPORT_HAS_SECONDS_TIMELINE,
    CLAP_TRANSPORT_HAS_TEMPO, CLAP_TRANSPORT_HAS_TIME_SIGNATURE, CLAP_TRANSPORT_IS_LOOP_ACTIVE,
    CLAP_TRANSPORT_IS_PLAYING, clap_event_transport,
};
use clap_sys::fixedpoint::{CLAP_BEATTIME_FACTOR, CLAP_SECTIME_FACTOR};
use fastrand::Rng;
use guidehand_tests::raw::events::{header, on, value};
use guidehand_tests::raw::{Events, Instance, Processor, RawEvent, params};

const CHART: &str = "| Dm7 | G7 | Cmaj7 | A7 |";

/// One beat is a thousand samples.
const TEMPO_BPM: f64 = RATE_HZ * 60.0 / 1_000.0;

/// A song in 4/4 at a beat.
fn song(beats: f64, playing: bool) -> clap_event_transport {
    #[expect(clippy::cast_possible_truncation, reason = "saturates")]
    #[expect(clippy::cast_precision_loss, reason = "a power of two")]
    let fixed = |units: f64| (units * CLAP_BEATTIME_FACTOR as f64).round() as i64;
    let plays = if playing {
        CLAP_TRANSPORT_IS_PLAYING
    } else {
        0
    };
    clap_event_transport {
        header: header::<clap_event_transport>(0, CLAP_EVENT_TRANSPORT),
        flags: CLAP_TRANSPORT_HAS_TEMPO
            | CLAP_TRANSPORT_HAS_BEATS_TIMELINE
            | CLAP_TRANSPORT_HAS_SECONDS_TIMELINE
            | CLAP_TRANSPORT_HAS_TIME_SIGNATURE
            | plays,
        song_pos_beats: fixed(beats),
        song_pos_seconds: fixed(beats * 60.0 / TEMPO_BPM),
        tempo: TEMPO_BPM,
        tempo_inc: 0.0,
        loop_start_beats: 0,
        loop_end_beats: 0,
        loop_start_seconds: 0,
        loop_end_seconds: 0,
        bar_start: fixed((beats / 4.0).floor() * 4.0),
        bar_number: 0,
        tsig_num: 4,
        tsig_denom: 4,
    }
}

/// Ends everything and checks that it ends: the host stops, all keys go up, and bypass is set for a
/// host without a transport.
fn end(instance: &Instance, processor: &mut Processor<'_>, ear: &mut OutputCheck) {
    let bypass = params::named(instance, "Bypass").id;
    processor.flush(&Events::new(vec![value(0, bypass, 1.0)]));
    for _ in 0..2 {
        ear.hear(
            &processor.process(64, &all_up(), Some(&song(0.0, false))),
            64,
        );
    }
    ear.expect_silence();
    assert_eq!(instance.calls().wrong_thread(), 0);
}

/// Without a transport the plugin keeps time by itself, once it is clear that the host has none.
#[test]
fn a_null_transport_is_a_host_that_keeps_no_time() {
    for steady_samples in [0, -1] {
        let instance = on_chart(CHART);
        let mut processor = started(&instance, 512);
        processor.steady_samples = steady_samples;
        let mut ear = OutputCheck::default();
        for _ in 0..93 {
            ear.hear(&processor.process(512, &Events::default(), None), 512);
        }
        assert_eq!(ear.note_ons, 0, "in the first second");
        for _ in 0..400 {
            ear.hear(&processor.process(512, &Events::default(), None), 512);
        }
        // Four seconds at 120 are two bars.
        assert!(ear.note_ons >= 8, "{} notes", ear.note_ons);
        end(&instance, &mut processor, &mut ear);
    }
}

/// A host may send its transport in one block and not in the next.
#[test]
fn a_transport_comes_and_goes() {
    let instance = on_chart(CHART);
    let mut processor = started(&instance, 512);
    let mut ear = OutputCheck::default();
    for block in 0..200_u32 {
        let told = song(f64::from(block) * 0.512, true);
        let transport = (block / 7 % 2 == 0).then_some(&told);
        ear.hear(&processor.process(512, &Events::default(), transport), 512);
    }
    assert!(ear.note_ons > 20, "{} notes", ear.note_ons);
    end(&instance, &mut processor, &mut ear);
}

fn any_f64(rng: &mut Rng) -> f64 {
    let usual = 20.0 + 400.0 * rng.f64();
    [
        usual,
        usual,
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        0.0,
        -0.0,
        -120.0,
        f64::MIN_POSITIVE,
        1e-300,
        1e300,
        f64::from_bits(rng.u64(..)),
    ][rng.usize(0..12)]
}

fn any_i64(rng: &mut Rng) -> i64 {
    let usual = rng.i64(0..400) * CLAP_BEATTIME_FACTOR / 7;
    [
        usual,
        usual,
        usual,
        -usual,
        0,
        i64::MIN,
        i64::MAX,
        rng.i64(..),
    ][rng.usize(0..8)]
}

/// Any values that fit the structure.
fn any_transport(rng: &mut Rng) -> clap_event_transport {
    let signature = |rng: &mut Rng| [0, 1, 3, 4, 7, 8, 255, 256, u16::MAX][rng.usize(0..9)];
    clap_event_transport {
        header: header::<clap_event_transport>(0, CLAP_EVENT_TRANSPORT),
        flags: [rng.u32(..), 0b1_1111, 0b1_0011, 0][rng.usize(0..4)],
        song_pos_beats: any_i64(rng),
        song_pos_seconds: any_i64(rng),
        tempo: any_f64(rng),
        tempo_inc: any_f64(rng),
        loop_start_beats: any_i64(rng),
        loop_end_beats: any_i64(rng),
        loop_start_seconds: any_i64(rng),
        loop_end_seconds: any_i64(rng),
        bar_start: any_i64(rng),
        bar_number: rng.i32(..),
        tsig_num: signature(rng),
        tsig_denom: signature(rng),
    }
}

/// Nonsense before a block and within it. Notes stay paired, audio stays valid, and everything
/// works when the host sends a valid transport again.
#[test]
fn any_transport_does_no_harm() {
    for seed in 0..12 {
        let mut rng = Rng::with_seed(seed);
        let instance = on_chart(CHART);
        let mut processor = started(&instance, 512);
        let mut ear = OutputCheck::default();
        for _ in 0..400 {
            let frames = rng.u32(1..=512);
            let mut told = Vec::new();
            for _ in 0..rng.usize(0..4) {
                told.push(RawEvent::Transport(any_transport(&mut rng)).at(rng.u32(0..frames)));
            }
            let block = any_transport(&mut rng);
            let block = (rng.u8(0..5) > 0).then_some(&block);
            ear.hear(
                &processor.process(frames, &Events::new(told), block),
                frames,
            );
        }
        ear.hear(
            &processor.process(64, &Events::default(), Some(&song(0.0, false))),
            64,
        );
        let notes = ear.note_ons;
        for block in 0..64_u32 {
            let told = song(f64::from(block) * 0.512, true);
            ear.hear(
                &processor.process(512, &Events::default(), Some(&told)),
                512,
            );
        }
        assert!(ear.note_ons > notes, "seed {seed}: silent after nonsense");
        end(&instance, &mut processor, &mut ear);
    }
}

/// Plays for a time in blocks of some length. The song first stands at a beat. A transport for a
/// sample comes within a block, or before the block that begins there.
fn told_within(
    frames: u32,
    blocks: u32,
    first: clap_event_transport,
    told: &[(u32, clap_event_transport)],
) -> Vec<(u16, u32, i16)> {
    let instance = on_chart(CHART);
    let mut processor = started(&instance, frames);
    let mut ear = OutputCheck::default();
    let mut found = Vec::new();
    // The last transport, and its time.
    let mut last = (0, first);
    for block in 0..blocks {
        let start = block * frames;
        if let Some(now) = told.iter().find(|(at, _)| *at == start) {
            last = *now;
        }
        let inside: Vec<RawEvent> = told
            .iter()
            .filter(|(at, _)| *at > start && *at < start + frames)
            .map(|(at, transport)| RawEvent::Transport(*transport).at(at - start))
            .collect();
        let here = moved(last, start);
        let played = processor.process(frames, &Events::new(inside), Some(&here));
        ear.hear(&played, frames);
        for kind in [CLAP_EVENT_NOTE_OFF, CLAP_EVENT_NOTE_ON] {
            let notes = notes_of(&played, kind).into_iter();
            found.extend(notes.map(|(time, key)| (kind, start + time, key)));
        }
        if let Some(now) = told
            .iter()
            .rfind(|(at, _)| *at > start && *at < start + frames)
        {
            last = *now;
        }
    }
    found.sort_unstable_by_key(|(kind, time, key)| (*time, *kind == CLAP_EVENT_NOTE_ON, *key));
    found
}

/// The transport at a later sample.
fn moved((at, mut told): (u32, clap_event_transport), now: u32) -> clap_event_transport {
    if told.flags & CLAP_TRANSPORT_IS_PLAYING != 0 {
        told.song_pos_beats += i64::from(now - at) * CLAP_BEATTIME_FACTOR / 1_000;
        told.song_pos_seconds += i64::from(now - at) * CLAP_BEATTIME_FACTOR / 48_000;
    }
    told
}

fn moments(found: &[(u16, u32, i16)]) -> Vec<(u16, u32)> {
    let mut moments: Vec<_> = found.iter().map(|(kind, time, _)| (*kind, *time)).collect();
    moments.dedup();
    moments
}

#[test]
fn a_stop_and_a_start_within_a_block_act_at_their_sample() {
    const ON: u16 = CLAP_EVENT_NOTE_ON;
    const OFF: u16 = CLAP_EVENT_NOTE_OFF;
    for stop in [1, 2, 63, 100, 255, 256, 511] {
        let start = stop + 700;
        // A beat lasts a thousand samples, and the song stands where it was stopped.
        let stopped = song(f64::from(stop) / 1_000.0, false);
        let playing = song(f64::from(stop) / 1_000.0, true);
        let told = [(stop, stopped), (start, playing)];
        for frames in [64, 512, 2_048] {
            let found = told_within(frames, 2_048 / frames, song(0.0, true), &told);
            let expected = [(ON, 0), (OFF, stop), (ON, start)];
            assert_eq!(moments(&found), expected, "stop at {stop} in {frames}");
        }
    }
}

/// The song jumps at a sample.
#[test]
fn a_jump_within_a_block_acts_at_its_sample() {
    for at in [1, 63, 100, 511, 1_023] {
        // The jump leads to half a beat before the third chord, so the chord comes half a beat
        // later.
        let told = [(at, song(7.5, true))];
        let whole = told_within(2_048, 1, song(0.0, true), &told);
        let parts = told_within(64, 32, song(0.0, true), &told);
        let expected = [
            (CLAP_EVENT_NOTE_ON, 0),
            (CLAP_EVENT_NOTE_OFF, at),
            (CLAP_EVENT_NOTE_ON, at),
            (CLAP_EVENT_NOTE_OFF, at + 500),
            (CLAP_EVENT_NOTE_ON, at + 500),
        ];
        assert_eq!(moments(&parts), expected, "at {at} in small blocks");
        assert_eq!(whole, parts, "at {at} in one block");
    }
}

/// Keys and transports at one sample come in the order of the list.
#[test]
fn a_transport_at_the_first_sample_may_be_an_event() {
    let instance = on_chart(CHART);
    let mut processor = started(&instance, 64);
    let mut ear = OutputCheck::default();
    let events = Events::new(vec![RawEvent::Transport(song(0.0, true)), on(0, 90)]);
    let played = processor.process(64, &events, Some(&song(0.0, false)));
    ear.hear(&played, 64);
    assert_eq!(notes_of(&played, CLAP_EVENT_NOTE_ON).len(), 5);
    end(&instance, &mut processor, &mut ear);
}

/// clap/events.h: the ends of the loop count while `CLAP_TRANSPORT_IS_LOOP_ACTIVE` is set, in beats or in
/// seconds, as the timelines are told. The header does not say how a host plays a loop.
#[test]
fn a_loop_ends_where_the_transport_says() {
    #[expect(clippy::cast_possible_truncation, reason = "small numbers")]
    #[expect(clippy::cast_precision_loss, reason = "a power of two")]
    let seconds = |beats: f64| (beats / 48.0 * CLAP_SECTIME_FACTOR as f64).round() as i64;
    // The song begins 100 samples before the second bar, and the loop is the first bar.
    let looping = clap_event_transport {
        loop_end_beats: 4 * CLAP_BEATTIME_FACTOR,
        loop_end_seconds: seconds(4.0),
        flags: song(3.9, true).flags | CLAP_TRANSPORT_IS_LOOP_ACTIVE,
        ..song(3.9, true)
    };
    let inactive = clap_event_transport {
        flags: looping.flags & !CLAP_TRANSPORT_IS_LOOP_ACTIVE,
        ..looping
    };
    let in_seconds = clap_event_transport {
        flags: looping.flags & !CLAP_TRANSPORT_HAS_BEATS_TIMELINE,
        ..looping
    };
    let empty = clap_event_transport {
        loop_end_beats: 0,
        ..looping
    };
    for (transport, turns, what) in [
        (looping, true, "in beats"),
        (in_seconds, true, "in seconds"),
        (inactive, false, "not active"),
        (empty, false, "without length"),
    ] {
        let found = told_within(2_048, 1, transport, &[]);
        let chord = |at: u32| {
            let starts = found
                .iter()
                .filter(|(kind, time, _)| (*kind, *time) == (CLAP_EVENT_NOTE_ON, at));
            starts.map(|(_, _, key)| *key).collect::<Vec<_>>()
        };
        assert!(
            !chord(0).is_empty() && !chord(100).is_empty(),
            "{what}: {found:?}"
        );
        assert_eq!(chord(0) == chord(100), turns, "{what}: {found:?}");
    }
}
