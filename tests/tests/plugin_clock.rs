//! The chart and the host's transport: stops, jumps, loops, count-ins, hosts without a transport,
//! odd tempi and rates, and any blocks.

use crate::plugin::{
    BLOCKS, RATE_HZ, chord_keys, chords, guidehand, held, id, load_chart, notes, planned, play,
    set, value, with_chart,
};
use guidehand_tests::notes::PlayedNote;
use guidehand_tests::{
    BlockSizes, Event, Host, Performance, Player, Session, Telling, TimedEvent, Transport,
    TransportChange,
};

/// Four bars, a chord each.
const CHART: &str = "| Dm7 | G7 | Cmaj7 | A7 |";

/// The default velocity of the chart, in single precision.
const VELOCITY: f64 = 0.7_f32 as f64;

/// One beat is a thousand samples.
const TEMPO_BPM: f64 = 2_880.0;

fn session(beats: u64, script: &[(u64, TransportChange)]) -> Session {
    let mut session = Session::new(RATE_HZ, TEMPO_BPM, beats * 1_000);
    for (at_beats, change) in script {
        session.change(at_beats * 1_000, *change);
    }
    session
}

/// The notes of some of the chart's changes, each with its first and last beat
/// of the session.
fn expected(chart: &str, stretches: &[(usize, u64, u64)]) -> Vec<PlayedNote> {
    let changes = planned(chart);
    let notes = stretches.iter().flat_map(|(index, from, to)| {
        held(&changes[*index].keys, 0, VELOCITY, from * 1_000, to * 1_000)
    });
    notes.collect()
}

/// Plays the chart under a script, in blocks of every size.
fn expect(script: &[(u64, TransportChange)], beats: u64, stretches: &[(usize, u64, u64)]) {
    let expected = expected(CHART, stretches);
    for blocks in [64, 441, 4096].map(BlockSizes::Fixed) {
        let session = Session {
            blocks,
            ..session(beats, script)
        };
        let found = notes(&play(&mut with_chart(CHART), &session).events);
        assert_eq!(found, expected, "{script:?}, {blocks:?}");
    }
}

const PLAY: TransportChange = TransportChange::Play;
const STOP: TransportChange = TransportChange::Stop;

const fn jump(to_beats: f64) -> TransportChange {
    TransportChange::Jump { to_beats }
}

#[test]
fn a_stop_releases_and_playing_on_sounds_again() {
    expect(
        &[(5, STOP), (7, PLAY), (9, STOP)],
        12,
        &[(0, 0, 4), (1, 4, 5), (1, 7, 9)],
    );
}

#[test]
fn a_jump_sounds_the_chord_that_is_there() {
    expect(
        &[(5, jump(13.0)), (7, STOP)],
        9,
        &[(0, 0, 4), (1, 4, 5), (3, 5, 7)],
    );
    expect(
        &[(2, jump(10.0)), (6, STOP)],
        9,
        &[(0, 0, 2), (2, 2, 4), (3, 4, 6)],
    );
}

#[test]
fn a_loop_goes_round_in_the_middle_of_the_chart() {
    // The host repeats beats 4 to 12 by jumping back.
    expect(
        &[(12, jump(4.0)), (20, jump(4.0)), (25, STOP)],
        28,
        &[
            (0, 0, 4),
            (1, 4, 8),
            (2, 8, 12),
            (1, 12, 16),
            (2, 16, 20),
            (1, 20, 24),
            (2, 24, 25),
        ],
    );
    // A loop within one chord strikes it again.
    expect(
        &[(3, jump(1.0)), (5, jump(1.0)), (6, STOP)],
        8,
        &[(0, 0, 3), (0, 3, 5), (0, 5, 6)],
    );
}

#[test]
fn the_chart_repeats() {
    expect(
        &[(18, STOP)],
        20,
        &[(0, 0, 4), (1, 4, 8), (2, 8, 12), (3, 12, 16), (0, 16, 18)],
    );
}

#[test]
fn playing_starts_in_the_middle() {
    expect(&[(0, jump(6.0)), (5, STOP)], 6, &[(1, 0, 2), (2, 2, 5)]);
    // The song is far on, in the chart's hundredth repeat.
    expect(&[(0, jump(1_606.0)), (5, STOP)], 6, &[(1, 0, 2), (2, 2, 5)]);
}

#[test]
fn a_count_in_is_silent() {
    expect(&[(0, jump(-4.0)), (9, STOP)], 10, &[(0, 4, 8), (1, 8, 9)]);
    expect(&[(0, jump(-20.0)), (3, STOP)], 10, &[]);
}

#[test]
fn a_transport_that_stands_still_is_silent() {
    expect(&[(0, STOP)], 10, &[]);
    expect(
        &[(0, STOP), (2, jump(5.0)), (6, PLAY), (7, STOP)],
        8,
        &[(1, 6, 7)],
    );
}

#[test]
fn a_host_without_a_transport_hears_roots_at_once() {
    let mut roots = Session {
        telling: Telling::NOTHING,
        ..session(10, &[])
    };
    roots.note(100, 9_000, 50);
    assert_eq!(play(&mut guidehand(), &roots).events.len(), 8);
}

/// A host that loads a song may process blocks before it hands over a transport, or hand over one that
/// does not say where the song is. The song does not play.
#[test]
fn nothing_sounds_while_a_song_loads() {
    for blank_before in [false, true] {
        for (loads_samples, frames) in [(512, 512), (40_000, 1_024), (47_000, 4_096), (47_999, 64)]
        {
            let mut session = Session {
                telling: Telling {
                    from_samples: loads_samples,
                    blank_before,
                    ..Telling::ALL
                },
                blocks: BlockSizes::Fixed(frames),
                ..session(80, &[(0, STOP), (70, PLAY), (72, STOP)])
            };
            // Keys sound at once all the same.
            session.note(100, 9_000, 72);
            let found = notes(&play(&mut with_chart(CHART), &session).events);
            let mut all = held(&[72], 0, 0.75, 100, 9_000);
            all.extend(expected(CHART, &[(0, 70, 72)]));
            assert_eq!(found, all, "{loads_samples} {blank_before}");
        }
    }
}

/// A transport that says that the song stands still, and no more, is no missing transport: the flags of
/// `clap_event_transport` in clap/events.h tell which of its values count.
#[test]
fn a_song_that_stands_still_without_a_tempo_is_silent() {
    let mut session = session(200, &[]);
    session.telling = Telling {
        from_samples: u64::MAX,
        blank_before: true,
        ..Telling::ALL
    };
    assert_eq!(play(&mut with_chart(CHART), &session).events, []);
}

/// A host that has never handed over a transport has none, once a second of audio has passed.
#[test]
fn a_host_without_a_transport_is_waited_for() {
    for frames in [1, 64, 441, 4_096] {
        let mut host = with_chart(CHART);
        set(&mut host, "Tempo without host", "240 bpm");
        let session = Session {
            telling: Telling::NOTHING,
            blocks: BlockSizes::Fixed(frames),
            ..session(100, &[])
        };
        let found = chords(&play(&mut host, &session).events);
        let at: Vec<u64> = found.iter().map(|chord| chord.start_samples).collect();
        assert_eq!(at, [48_000, 96_000], "in blocks of {frames}");
    }
}

#[test]
fn a_new_tempo_strikes_nothing_anew() {
    let mut session = session(12, &[]);
    // The tempo doubles at the second beat, in the middle of the first chord.
    session
        .change(2_000, TransportChange::Tempo { bpm: 5_760.0 })
        .change(6_000, STOP);
    let found = chords(&play(&mut with_chart(CHART), &session).events);
    let at: Vec<u64> = found.iter().map(|chord| chord.start_samples).collect();
    assert_eq!(at, [0, 3_000, 5_000]);
}

/// Hosts that ramp the tempo send the tempo at the start of each block. The next block then starts
/// slightly beyond the place to which that tempo would have led.
#[test]
fn a_ramp_of_the_tempo_strikes_nothing_anew() {
    let mut host = with_chart(CHART);
    host.activate(RATE_HZ, 1_024).unwrap();
    host.start_processing().unwrap();
    let (mut position_beats, mut tempo_bpm) = (0.0, 100.0);
    let mut events = Vec::new();
    for block in 0..200_u64 {
        let transport = Transport {
            playing: true,
            position_beats,
            position_seconds: 0.0,
            tempo_bpm,
            ..Transport::AT_THE_START
        };
        let played = host.process(1_024, &[], Some(transport)).unwrap();
        events.extend(played.events.into_iter().map(|event| TimedEvent {
            at_samples: event.at_samples + block * 1_024,
            ..event
        }));
        // Each block is half a beat a minute faster, so the mean tempo counts.
        position_beats += 1_024.0 / RATE_HZ / 60.0 * (tempo_bpm + 0.25);
        tempo_bpm += 0.5;
    }
    assert!((10.0..12.0).contains(&position_beats), "{position_beats}");
    let expected: Vec<_> = planned(CHART).into_iter().map(|c| c.keys).take(3).collect();
    assert_eq!(chord_keys(&events), expected);
}

#[test]
fn changes_fall_on_the_first_sample_at_or_after_their_beat() {
    let chart = "| Dm7 G7 Em7 A7 | Dm7 / / G7 | Cmaj7 C6/9 Am7 | Ab7 |";
    let mut host = with_chart(chart);
    for rate_hz in [44_100.0, 48_000.0, 96_000.0] {
        for tempo_bpm in [61.7, 97.3, 139.99, 211.1, 333.3] {
            let mut session = Session::new(rate_hz, tempo_bpm, 0);
            let end = session.samples_at(32.0);
            session.change(end, STOP);
            session.length_samples = end + 100;
            session.blocks = BlockSizes::Fixed(1_000);
            let found = chords(&play(&mut host, &session).events);
            let changes = planned(chart);
            assert_eq!(found.len(), 2 * changes.len());
            for (index, chord) in found.iter().enumerate() {
                let change = &changes[index % changes.len()];
                let round = if index < changes.len() { 0.0 } else { 16.0 };
                let at = chord.start_samples;
                let exact = (change.at_beats + round) * 60.0 / tempo_bpm * rate_hz;
                let late = session.beats_at(at) * 60.0 / tempo_bpm * rate_hz - exact;
                assert!((-0.01..1.0).contains(&late), "{late} samples late at {at}");
                assert_eq!(chord.keys, change.keys);
            }
        }
    }
}

/// Gate, melody, parameters and transport at the same time.
fn everything(host: &mut Host, rate_hz: f64, tempo_bpm: f64) -> Session {
    let mut session = Session::new(rate_hz, tempo_bpm, 0);
    session.length_samples = session.samples_at(17.0);
    for (beats, event) in [
        (0.1, Event::note_on(2, 40, 0.5)),
        (1.9, Event::note_on(0, 72, 0.75)),
        (4.3, Event::note_off(0, 72)),
        (6.2, Event::note_off(2, 40)),
        (6.9, Event::note_on(0, 45, 0.75)),
        (7.1, Event::note_on(0, 60, 0.25)),
        (9.7, Event::note_off(0, 60)),
        (16.7, Event::note_off(0, 45)),
    ] {
        session.event(session.samples_at(beats), event);
    }
    for (beats, name, words) in [
        (3.3, "Texture", "Two hands"),
        (8.7, "Audition level", "-20 dB"),
        (10.7, "Ninth", "b9"),
    ] {
        let value = value(host, name, words);
        session.param(session.samples_at(beats), id(host, name), value);
    }
    for (beats, change) in [
        (0.0, jump(-0.5)),
        (9.25, jump(3.75)),
        (12.125, STOP),
        (13.0, PLAY),
        (16.4, STOP),
    ] {
        session.change(session.samples_at(beats), change);
    }
    session
}

#[test]
fn the_chart_comes_out_the_same_in_any_blocks() {
    for (rate_hz, tempo_bpm) in [
        (44_100.0, 2_777.7),
        (48_000.0, 2_933.1),
        (96_000.0, 5_456.7),
    ] {
        let mut first: Option<Performance> = None;
        for blocks in BLOCKS {
            let mut host = guidehand();
            set(&mut host, "Chords from", "Chart");
            set(&mut host, "Bass note", "On");
            set(&mut host, "Play while a key is held", "On");
            load_chart(
                &mut host,
                "| Dm7 G7/B | N.C. | Cmaj7 / A7 / | Ebmaj7 Ab7 Db6/9 |",
            );
            let session = Session {
                blocks,
                ..everything(&mut host, rate_hz, tempo_bpm)
            };
            let mut performance = play(&mut host, &session);
            performance.blocks.clear();
            notes(&performance.events);
            let count = chords(&performance.events).len();
            assert!(count > 12, "{count} chords are too few");
            let first = first.get_or_insert_with(|| performance.clone());
            assert_eq!(first.events, performance.events, "{rate_hz} Hz, {blocks:?}");
            assert!(*first == performance, "audio at {rate_hz} Hz in {blocks:?}");
        }
    }
}

#[test]
fn what_sounds_when_a_session_ends_is_released_by_the_next() {
    let mut host = with_chart(CHART);
    let first = play(&mut host, &session(3, &[]));
    assert_eq!(
        first.events.len(),
        4,
        "the host stops processing while the chord sounds"
    );
    let second = play(&mut host, &session(3, &[(0, STOP)]));
    let offs: Vec<_> = second
        .events
        .iter()
        .map(|e| (e.at_samples, e.event))
        .collect();
    let expected: Vec<_> = planned(CHART)[0]
        .keys
        .iter()
        .map(|key| (0, Event::note_off(0, *key)))
        .collect();
    assert_eq!(offs, expected);
}

#[test]
fn a_reset_releases_and_the_chart_goes_on() {
    let mut host = with_chart(CHART);
    let session = session(8, &[(7, STOP)]);
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(2_048).unwrap();
    player.host().reset().unwrap();
    let found = notes(&player.finish().unwrap().events);
    let changes = planned(CHART);
    let mut expected = held(&changes[0].keys, 0, VELOCITY, 0, 2_048);
    expected.extend(held(&changes[0].keys, 0, VELOCITY, 2_048, 4_000));
    expected.extend(held(&changes[1].keys, 0, VELOCITY, 4_000, 7_000));
    assert_eq!(found, expected);
}
