//! Loops of the host: the chart, rhythms over a held root, gates, drawn patterns and a bass, at every
//! alignment of the loop and the blocks, and in every way in which hosts get from the end of a loop
//! to its start.
//!
//! The published sources tell what a loop is, and not how a host plays it: `clap_event_transport` in
//! clap/events.h (`CLAP_TRANSPORT_IS_LOOP_ACTIVE`, `loop_start_beats`, `loop_end_beats`), and
//! `ProcessContext` in ivstprocesscontext.h (`kCycleActive`, `kCycleValid`, `cycleStartMusic`,
//! `cycleEndMusic`). The ways are common practice, no published source.

use crate::plugin::{RATE_HZ, chords, guidehand, load_chart, mute, notes, play, set, with_chart};
use crate::plugin_rhythm::{TEMPO_BPM, assert_notes, draw, set_comping};
use crate::vst3;
use fastrand::Rng;
use guidehand_report::request::Rhythm;
use guidehand_tests::expected::{EvenPlay, Oracle, RhythmSettings, passes_of};
use guidehand_tests::notes::PlayedNote;
use guidehand_tests::vst3::render;
use guidehand_tests::{
    BlockSizes, Event, Host, LoopWay, Session, Telling, TransportChange, note_pairs,
};

const SIZES: [u32; 6] = [1, 64, 256, 480, 1_024, 4_096];

const CHARTS: [&str; 5] = [
    "| Dm7 | G7 | Cmaj7 | A7 |",
    "Pickup G7 | Cmaj7 | Dm7 G7 |",
    "| C6 Db6 D6 Eb6 E6 F6 Gb6 G6 Ab6 A6 Bb6 B6 C6 Db6 D6 Eb6 | G7 |",
    "3/4 | Dm7 | G7 / Db7 | Cmaj7 N.C. |",
    "7/8 | Dm7 / / / G7 / / | Cmaj7 |",
];

const RHYTHMS: [Rhythm; 5] = [
    Rhythm::Hold,
    Rhythm::Push,
    Rhythm::Charleston,
    Rhythm::OffBeats,
    Rhythm::Drawn,
];

/// A song in a loop: from a place to a stop.
fn session(play: &EvenPlay, range_beats: (f64, f64), way: LoopWay, frames: u32) -> Session {
    let mut session = crate::plugin_rhythm::session(play, BlockSizes::Fixed(frames));
    session.change(
        0,
        TransportChange::Loop {
            range_beats: Some(range_beats),
        },
    );
    session.loop_way = way;
    session
}

/// A loop of any length, and a song that comes to it.
fn any_loop(rng: &mut Rng) -> ((f64, f64), EvenPlay) {
    let start = match rng.u8(0..3) {
        0 => f64::from(rng.u8(0..12)),
        _ => rng.f64() * 12.0,
    };
    let length = match rng.u8(0..5) {
        // A bar or a few, part of a bar, and less than a block.
        0 | 1 => f64::from(rng.u8(1..9)),
        2 => 16.0,
        3 => 0.3 + rng.f64() * 3.0,
        _ => 0.03 + rng.f64() * 0.2,
    };
    let from_beats = start - rng.f64() * 3.0 + if rng.bool() { length * rng.f64() } else { 0.0 };
    let play = EvenPlay {
        sample_rate_hz: RATE_HZ,
        tempo_bpm: TEMPO_BPM,
        from_beats: from_beats.min(start + length - 0.02),
        stop_samples: rng.u64(9_000..30_000),
    };
    ((start, start + length), play)
}

/// Random loops in a host that tells of them. The model plays every time through the loop as a song of
/// its own, and knows nothing of blocks.
#[test]
fn a_told_loop_sounds_the_same_in_any_blocks() {
    let mut turns = 0;
    for seed in 0..30 {
        let mut rng = Rng::with_seed(seed);
        let chart = CHARTS[rng.usize(0..CHARTS.len())];
        let comping = RhythmSettings {
            inner_lines: rng.bool(),
            repeats: rng.u8(0..4) > 0,
            ..RhythmSettings::new(RHYTHMS[rng.usize(0..RHYTHMS.len())])
        };
        let (range_beats, even) = any_loop(&mut rng);
        let passes = passes_of(&even, range_beats);
        let expected = Oracle::new(chart).notes_of(&comping, &passes);
        turns += passes.len() - 1;
        let mut host = with_chart(chart);
        set_comping(&mut host, &comping);
        for frames in SIZES {
            for way in [LoopWay::GoesOn, LoopWay::Splits] {
                let session = session(&even, range_beats, way, frames);
                let found = notes(&play(&mut host, &session).events);
                let what = format!("seed {seed}: {range_beats:?} {even:?} {way:?} in {frames}");
                assert_notes(&found, &expected, &what);
            }
        }
    }
    assert!(turns > 300, "{turns}");
}

/// The host tells of each turn within the block.
#[test]
fn a_turn_may_be_told_within_a_block() {
    let comping = RhythmSettings::new(Rhythm::Charleston);
    let chart = CHARTS[0];
    let mut host = with_chart(chart);
    set_comping(&mut host, &comping);
    let even = EvenPlay {
        sample_rate_hz: RATE_HZ,
        tempo_bpm: TEMPO_BPM,
        from_beats: 3.25,
        stop_samples: 30_000,
    };
    let range_beats = (4.0, 8.0);
    let expected = Oracle::new(chart).notes_of(&comping, &passes_of(&even, range_beats));
    for frames in SIZES {
        for loops in [true, false] {
            let mut session = session(&even, range_beats, LoopWay::Splits, frames);
            session.changes_in_blocks = true;
            session.telling.loops = loops;
            let found = notes(&play(&mut host, &session).events);
            assert_notes(&found, &expected, &format!("in {frames}, told {loops}"));
        }
    }
}

/// Parameters that change at a turn and around it cut the block, and the framework knows of no loop.
#[test]
fn parameters_change_around_the_turn() {
    let (range_beats, even) = ((4.0, 8.0), from(6.0, 24_000));
    let host = with_chart(CHARTS[0]);
    let id = host.param_by_name("Audition level").unwrap().id;
    for frames in SIZES {
        for (way, loops) in [
            (LoopWay::GoesOn, true),
            (LoopWay::Restarts, true),
            (LoopWay::Restarts, false),
        ] {
            let mut session = session(&even, range_beats, way, frames);
            session.telling.loops = loops;
            // A host that restarts its loop comes to the stop later.
            session.length_samples += 60_000;
            let expected = notes(&play(&mut with_chart(CHARTS[0]), &session).events);
            if way == LoopWay::GoesOn {
                let passes = passes_of(&even, range_beats);
                let comping = RhythmSettings::new(Rhythm::Hold);
                let model = Oracle::new(CHARTS[0]).notes_of(&comping, &passes);
                assert_notes(&expected, &model, &format!("without, in {frames}"));
            }
            for at in [0, 3, 1_990, 2_007, 2_008, 2_030, 2_900, 6_191, 6_192, 6_400] {
                session.param(at, id, 0.25);
            }
            let found = notes(&play(&mut with_chart(CHARTS[0]), &session).events);
            assert_notes(&found, &expected, &format!("{way:?}, {loops} in {frames}"));
        }
    }
}

fn from(from_beats: f64, stop_samples: u64) -> EvenPlay {
    EvenPlay {
        sample_rate_hz: RATE_HZ,
        tempo_bpm: TEMPO_BPM,
        from_beats,
        stop_samples,
    }
}

/// What else runs by the song's time: held roots, gates, a drawn pattern, and what a key strikes. A
/// host whose blocks end where the loop does needs nothing of the plugin, and is the model.
#[test]
fn all_that_follows_the_song_turns_with_it() {
    let plain = |name: &str, words: &str| {
        let mut host = guidehand();
        set(&mut host, name, words);
        host
    };
    let hosts: [(&str, &dyn Fn() -> Host); 5] = [
        ("a root in a pattern", &|| plain("Rhythm", "Charleston")),
        ("a root that holds", &|| plain("Rhythm", "Sustained")),
        ("a drawn pattern with touch", &|| {
            let mut host = with_chart(CHARTS[0]);
            draw(&mut host, "s-l---s---l-s---l---s-s---l-----");
            set(&mut host, "Rhythm", "Drawn");
            set(&mut host, "Looseness, time", "20 ms");
            set(&mut host, "Density", "40 %");
            host
        }),
        ("a gate", &|| {
            let mut host = with_chart(CHARTS[2]);
            set(&mut host, "Play while a key is held", "On");
            host
        }),
        ("chords by hand", &|| {
            let mut host = with_chart(CHARTS[0]);
            set(&mut host, "Rhythm", "Played");
            set(&mut host, "Inner lines", "On");
            host
        }),
    ];
    for (what, host) in hosts {
        for (start, end) in [(4.0, 8.0), (1.3, 2.9), (0.0, 0.2)] {
            let mut first: Option<Vec<PlayedNote>> = None;
            for (way, frames) in [LoopWay::Splits]
                .into_iter()
                .map(|way| (way, 64))
                .chain(SIZES.map(|frames| (LoopWay::GoesOn, frames)))
            {
                let mut session = session(&from(start - 1.0, 24_000), (start, end), way, frames);
                for (from, to, key) in [
                    (300, 5_000, 45),
                    (5_400, 11_000, 50),
                    (12_000, 12_900, 43),
                    (14_000, 22_000, 41),
                ] {
                    session.note(from, to, key);
                }
                let found = notes(&play(&mut host(), &session).events);
                let first = first.get_or_insert_with(|| found.clone());
                let what = format!("{what}: {start} to {end}, {way:?} in {frames}");
                assert_notes(&found, first, &what);
                assert!(!found.is_empty(), "{what}");
            }
        }
    }
}

/// A bass at the side-chain, with a chart and without.
#[test]
fn a_bass_turns_with_the_song() {
    use crate::plugin_bass::lines::Material;
    use crate::plugin_bass::{in_key_of, sound_of, walking, with_chart_of};
    let line = walking(3, Material::Own);
    let sound = sound_of(&line, RATE_HZ);
    for by_chart in [true, false] {
        let mut first: Option<Vec<PlayedNote>> = None;
        for (way, frames) in [
            (LoopWay::Splits, 64),
            (LoopWay::GoesOn, 64),
            (LoopWay::GoesOn, 480),
            (LoopWay::GoesOn, 4_096),
        ] {
            let mut host = if by_chart {
                with_chart_of(&line)
            } else {
                in_key_of(&line)
            };
            set(&mut host, "Rhythm", "Charleston");
            let mut session = crate::plugin_bass::session(&sound, RATE_HZ);
            session.length_samples = 900_000;
            session.blocks = BlockSizes::Fixed(frames);
            session.loop_way = way;
            let range_beats = Some((4.0, 12.0));
            session.change(0, TransportChange::Loop { range_beats });
            session.change(890_000, TransportChange::Stop);
            let bypass = host.param_by_name("Bypass").unwrap().id;
            session.param(890_000, bypass, 1.0);
            host.hear(vec![vec![sound.clone()]]);
            let found = notes(&play(&mut host, &session).events);
            let first = first.get_or_insert_with(|| found.clone());
            let what = format!("by chart {by_chart}: {way:?} in {frames}");
            assert_notes(&found, first, &what);
            assert!(found.len() > 50, "{what}: {}", found.len());
        }
    }
}

/// A loop that is switched on and off, is moved, and is left behind, while the song plays.
#[test]
fn a_loop_is_switched_while_the_song_plays() {
    let turn = |range_beats| TransportChange::Loop { range_beats };
    let mut first: Option<Vec<PlayedNote>> = None;
    for frames in SIZES {
        for way in [LoopWay::Splits, LoopWay::GoesOn] {
            let mut session =
                crate::plugin_rhythm::session(&from(0.0, 60_000), BlockSizes::Fixed(frames));
            session.loop_way = way;
            session
                .change(1_500, turn(Some((1.0, 3.0))))
                .change(14_444, turn(None))
                .change(20_000, turn(Some((1.0, 3.0))))
                .change(30_001, turn(Some((4.0, 21.7))))
                .change(30_100, TransportChange::Jump { to_beats: 20.9 })
                .change(40_000, TransportChange::Jump { to_beats: 40.0 })
                .change(47_001, TransportChange::Jump { to_beats: 21.7 });
            let found = notes(&play(&mut with_chart(CHARTS[0]), &session).events);
            let first = first.get_or_insert_with(|| found.clone());
            assert_notes(&found, first, &format!("{way:?} in {frames}"));
        }
    }
    assert!(first.unwrap().len() > 60);
}

/// The song turns where the VST3 host says, too.
#[test]
fn a_cycle_of_a_vst3_host_sounds_the_same() {
    let comping = RhythmSettings::new(Rhythm::Hold);
    let mut instance = vst3::mute();
    vst3::set(&mut instance, "Chords from", "Chart");
    vst3::load_chart(&mut instance, CHARTS[0]);
    for seed in 100..108 {
        let (range_beats, even) = any_loop(&mut Rng::with_seed(seed));
        let passes = passes_of(&even, range_beats);
        let expected = Oracle::new(CHARTS[0]).notes_of(&comping, &passes);
        for frames in SIZES {
            let session = session(&even, range_beats, LoopWay::GoesOn, frames);
            let events = render(&mut instance, &session).unwrap().events;
            let mut found = note_pairs(&events).unwrap();
            found.sort_by_key(|note| (note.start_samples, note.channel, note.key));
            let what = format!("seed {seed}: {range_beats:?} in {frames}");
            assert_notes(&found, &expected, &what);
        }
    }
}

/// Starts of chords in a loop of one bar of 4,000 samples whose blocks do not fit it, and how far each
/// block leads beyond the end.
fn starts(way: LoopWay, loops: bool, frames: u32) -> Vec<(u64, Vec<i16>)> {
    let mut session = Session::new(RATE_HZ, 2_880.0, 120_000);
    session.blocks = BlockSizes::Fixed(frames);
    session.loop_way = way;
    session.telling = Telling {
        loops,
        ..Telling::ALL
    };
    let range_beats = Some((4.0, 8.0));
    session
        .change(0, TransportChange::Jump { to_beats: 4.0 })
        .change(0, TransportChange::Loop { range_beats })
        .change(119_000, TransportChange::Stop);
    let found = chords(&play(&mut with_chart(CHARTS[0]), &session).events);
    found
        .into_iter()
        .map(|chord| (chord.start_samples, chord.keys))
        .collect()
}

/// A host that tells its loop, and begins a block at the start however far the one before has led beyond
/// the end. That shows in the first turn: its chord comes at the end of the loop, once. From then on it
/// comes with the block.
#[test]
fn a_host_that_restarts_the_loop_with_a_block_hears_every_chord_once() {
    for frames in [64, 256, 480, 1_024, 1_700] {
        let found = starts(LoopWay::Restarts, true, frames);
        let g7 = crate::plugin::planned(CHARTS[0])[1].keys.clone();
        let length = 4_000_u64.div_ceil(frames.into()) * u64::from(frames);
        let blocks = (0..).map(|turn| turn * length);
        let expected = blocks.map(|at| if at == length { 4_000 } else { at });
        let expected: Vec<_> = expected
            .take_while(|at| *at < 119_000)
            .map(|at| (at, g7.clone()))
            .collect();
        assert_eq!(found, expected, "in {frames}");
    }
}

/// A host whose blocks end where the loop does, but which tells positions in 1,920ths of a quarter note:
/// the end seems to lie within the last block, or after it.
#[test]
fn a_host_that_rounds_positions_hears_every_chord_once() {
    let g7 = &crate::plugin::planned(CHARTS[0])[1].keys;
    for (frames, tempo_bpm) in [(64, 130.0), (256, 130.0), (480, 127.3), (1_024, 130.0)] {
        let mut session = Session::new(RATE_HZ, tempo_bpm, 0);
        session.blocks = BlockSizes::Fixed(frames);
        session.telling.steps_per_beat = 1_920;
        let range_beats = Some((4.0, 8.0));
        let end = session.samples_at(47.0);
        session.length_samples = end + 100;
        session
            .change(0, TransportChange::Jump { to_beats: 4.0 })
            .change(0, TransportChange::Loop { range_beats })
            .change(end, TransportChange::Stop);
        let found = chords(&play(&mut with_chart(CHARTS[0]), &session).events);
        assert_eq!(found.len(), 12, "in {frames}: {found:?}");
        for (turn, chord) in (0..).zip(&found) {
            let off = chord
                .start_samples
                .abs_diff(session.samples_at(4.0 * f64::from(turn)));
            // A step is some twelve samples, and a position is half a step off at most.
            assert!(
                off <= 7 && chord.keys == *g7,
                "in {frames}: {chord:?}, {off} off"
            );
        }
    }
}

/// A host that does not tell its loop, with blocks that are shorter than a beat. What lies beyond the end is heard until the host has jumped
/// twice, and no longer than its block.
#[test]
fn a_loop_that_is_not_told_is_learned() {
    let g7 = crate::plugin::planned(CHARTS[0])[1].keys.clone();
    for way in [LoopWay::Restarts, LoopWay::GoesOn, LoopWay::Splits] {
        for frames in [1, 64, 255, 480, 950] {
            let found = starts(way, false, frames);
            let beyond: Vec<_> = found.iter().filter(|(_, keys)| *keys != g7).collect();
            let most = if way == LoopWay::Splits { 0 } else { 2 };
            assert!(beyond.len() <= most, "{way:?} in {frames}: {beyond:?}");
            for (at, _) in &beyond {
                let next = found.iter().find(|(start, _)| start > at).unwrap();
                assert!(
                    next.0 - at < frames.into(),
                    "{way:?} in {frames}: {found:?}"
                );
            }
            let turns = found.len() - beyond.len();
            assert!(turns >= 20, "{way:?} in {frames}: {turns}");
        }
    }
}

/// When the loop is switched off, the song goes on with the block after the end.
#[test]
fn a_learned_loop_that_is_switched_off_costs_a_block_at_most() {
    for frames in [64, 480, 1_024] {
        let mut session = Session::new(RATE_HZ, 2_880.0, 60_000);
        session.blocks = BlockSizes::Fixed(frames);
        session.loop_way = LoopWay::GoesOn;
        session.telling.loops = false;
        let range_beats = Some((4.0, 8.0));
        session
            .change(0, TransportChange::Jump { to_beats: 4.0 })
            .change(0, TransportChange::Loop { range_beats })
            .change(30_000, TransportChange::Loop { range_beats: None })
            .change(50_000, TransportChange::Stop);
        let found = chords(&play(&mut with_chart(CHARTS[0]), &session).events);
        let g7 = &crate::plugin::planned(CHARTS[0])[1].keys;
        let learned = found
            .iter()
            .filter(|chord| (9_000..31_000).contains(&chord.start_samples));
        assert!(learned.clone().count() > 4 && learned.clone().all(|chord| chord.keys == *g7));
        let at: Vec<u64> = found.iter().map(|chord| chord.start_samples).collect();
        let late = at.iter().find(|at| **at >= 32_000).unwrap();
        assert!(
            (32_000..32_000 + u64::from(frames)).contains(late),
            "{at:?}"
        );
        assert!(at.contains(&36_000) && at.contains(&40_000), "{at:?}");
    }
}

/// Whatever a loop does, nothing hangs: keys, sustained chords and full queues at the turn.
#[test]
fn nothing_hangs_in_a_loop() {
    let mut refused = 0;
    for seed in 0..6 {
        let mut rng = Rng::with_seed(seed);
        let (range_beats, even) = any_loop(&mut rng);
        let mut host = mute();
        load_chart(&mut host, CHARTS[2]);
        set(&mut host, "Chords from", "Chart");
        set(&mut host, "Rhythm", "Charleston");
        let frames = [64, 480, 4_096][rng.usize(0..3)];
        let mut session = session(&even, range_beats, LoopWay::GoesOn, frames);
        session.length_samples += 200_000;
        session.output_limit = Some(2);
        for key in 60..66 {
            session.event(rng.u64(0..4_000), Event::note_on(0, key, 0.75));
            session.event(rng.u64(4_000..9_000), Event::note_off(0, key));
        }
        let performance = guidehand_tests::render(&mut host, &session).unwrap();
        refused += performance.refused_events;
        notes(&performance.events);
    }
    assert!(refused > 50, "{refused}");
}
