//! The chart in every rhythm: each note of the built plugin is as in the oracle, whatever the
//! meter, swing, length, place and blocks.

use crate::plugin::{BLOCKS, RATE_HZ, id, notes, play, set, with_chart};
use guidehand_report::request::Rhythm;
use guidehand_tests::expected::{EvenPlay, Oracle, Pass, RhythmSettings};
use guidehand_tests::notes::PlayedNote;
use guidehand_tests::{BlockSizes, Host, Session, Telling, TransportChange, state};

/// The tempo gives about a thousand samples a beat, and not a whole number of them. Places on the
/// grid are then never close to a sample, where rounding could move them.
pub const TEMPO_BPM: f64 = 2_868.9;

/// Charts in many meters and at many densities.
const COMMON: [&str; 8] = [
    "Pickup G7 | Cmaj7 | Dm7 G7 |",
    "| Dm7 | Segno G7 | Cmaj7 A7 D7 To Coda | Ab7 D.S. al Coda | Coda even C6 F6 G7 |",
    "| Dm7 | G7 | Cmaj7 | A7 |",
    "| Dm7 G7 | Cmaj7 | N.C. | A7 / / Ab7 |",
    "| C6 |",
    "| Dm7 G7 Em7 A7 | Cmaj7 C6/9 Am7 | N.C. Ab7 |",
    "| C6 Db6 D6 Eb6 E6 F6 Gb6 G6 Ab6 A6 Bb6 B6 C6 Db6 D6 Eb6 | G7 |",
    "| N.C. |",
];
const OTHERS: [&str; 6] = [
    "3/4 | Dm7 | G7 / Db7 | Cmaj7 N.C. |",
    "6/8 | Dm7 G7 | Cmaj7 / / / / A7 |",
    "5/4 | Dm7 / / G7 / | Cmaj7 | N.C. |",
    "7/8 | Dm7 / / / G7 / / | Cmaj7 |",
    "2/2 | Dm7 G7 | Cmaj7 |",
    "12/8 | Dm7 G7 | Cmaj7 A7 Dm7 G7 |",
];

/// Gives an instance the settings of the oracle.
pub fn set_comping(host: &mut Host, comping: &RhythmSettings) {
    let percent = |fraction: f64| format!("{} %", fraction * 100.0);
    set(host, "Rhythm", comping.rhythm.words());
    set(host, "Swing", &percent(comping.swing));
    for (name, on) in [
        ("Swing follows tempo", comping.swing_follows_tempo),
        ("Anticipation", comping.anticipation),
        ("Inner lines", comping.inner_lines),
        ("Chart repeats", comping.repeats),
    ] {
        set(host, name, if on { "On" } else { "Off" });
    }
    set(host, "Length", &percent(comping.length));
    set(host, "Accents", &percent(comping.accents));
    set(host, "Chart velocity", &percent(comping.velocity));
    set(host, "Chart from bar", &comping.from_bar.to_string());
}

/// Puts a drawn pattern into an instance.
pub fn draw(host: &mut Host, cells: &str) {
    let saved = host.save_state().unwrap();
    host.load_state(&state::with_field(&saved, "drawn", &cells.into()))
        .unwrap();
}

/// The session of a performance: the song plays from a place to its stop.
pub fn session(play: &EvenPlay, blocks: BlockSizes) -> Session {
    let length = play.stop_samples + 100;
    let mut session = Session::new(play.sample_rate_hz, play.tempo_bpm, length);
    let to_beats = play.from_beats;
    session
        .change(0, TransportChange::Jump { to_beats })
        .change(play.stop_samples, TransportChange::Stop);
    session.blocks = blocks;
    session
}

/// A performance at the tests' rate and tempo.
pub const fn from(from_beats: f64, stop_samples: u64) -> EvenPlay {
    EvenPlay {
        sample_rate_hz: RATE_HZ,
        tempo_bpm: TEMPO_BPM,
        from_beats,
        stop_samples,
    }
}

/// Compares notes: keys and samples exactly, velocities in single precision.
///
/// # Panics
/// At the first note that differs, with the notes around it.
pub fn assert_notes(found: &[PlayedNote], expected: &[PlayedNote], what: &str) {
    let same = |(a, b): (&PlayedNote, &PlayedNote)| {
        let velocity = a.velocity;
        (a.velocity - b.velocity).abs() < 1.0e-6 && *a == PlayedNote { velocity, ..*b }
    };
    let pairs = found.iter().zip(expected);
    let equal = pairs.clone().take_while(|pair| same(*pair)).count();
    if equal == found.len() && equal == expected.len() {
        return;
    }
    let around = |notes: &[PlayedNote]| {
        let from = notes.len().min(equal.saturating_sub(4));
        let notes = notes[from..].iter().take(12);
        let lines = notes.map(|note| format!("  {note:?}\n"));
        lines.collect::<String>()
    };
    panic!(
        "{what}: note {equal} differs; found\n{}expected\n{}",
        around(found),
        around(expected)
    );
}

/// All settings of a rhythm that are tested.
fn settings(rhythm: Rhythm) -> Vec<RhythmSettings> {
    let swings = [0.5, f64::from(0.62_f32), 0.75];
    let mut all = Vec::new();
    for swing in swings {
        for length in [0.5, 1.0, 1.5] {
            for anticipation in [true, false] {
                all.push(RhythmSettings {
                    swing,
                    swing_follows_tempo: false,
                    length,
                    anticipation,
                    ..RhythmSettings::new(rhythm)
                });
            }
        }
    }
    all
}

/// Blocks of all kinds in turn. Not every size is used with every setting, but every size is used
/// with every rhythm and every chart.
fn blocks(turn: usize) -> BlockSizes {
    let sizes = [
        BlockSizes::Fixed(4096),
        BlockSizes::Fixed(441),
        BlockSizes::Random {
            seed: 3,
            max_frames: 2048,
        },
        BlockSizes::Fixed(64),
    ];
    sizes[turn % sizes.len()]
}

fn expect_all(charts: &[&str]) {
    let mut turn = 0;
    for chart in charts {
        let oracle = Oracle::new(chart);
        let mut host = with_chart(chart);
        for comping in Rhythm::ALL.into_iter().flat_map(settings) {
            set_comping(&mut host, &comping);
            for from_beats in [0.0, 5.4, 34.5 - 0.01] {
                let play_ = from(from_beats, 9_300);
                let found = notes(&play(&mut host, &session(&play_, blocks(turn))).events);
                let expected = oracle.notes(&comping, &play_);
                let what = format!("{chart} from {from_beats}, {:?}, {comping:?}", blocks(turn));
                assert_notes(&found, &expected, &what);
                turn += 1;
            }
        }
    }
}

#[test]
fn every_rhythm_in_common_time_is_struck_as_expected() {
    expect_all(&COMMON[..3]);
}

#[test]
fn every_rhythm_with_many_chords_is_struck_as_expected() {
    expect_all(&COMMON[3..]);
}

#[test]
fn every_rhythm_in_other_meters_is_struck_as_expected() {
    expect_all(&OTHERS[..3]);
}

#[test]
fn every_rhythm_in_more_meters_is_struck_as_expected() {
    expect_all(&OTHERS[3..]);
}

#[test]
fn rhythms_come_out_the_same_in_any_blocks() {
    for (index, rhythm) in Rhythm::ALL.into_iter().enumerate() {
        let comping = RhythmSettings::new(rhythm);
        let chart = COMMON[1 + index % 3];
        let oracle = Oracle::new(chart);
        let mut host = with_chart(chart);
        set_comping(&mut host, &comping);
        let play_ = from(7.3, 9_000);
        let expected = oracle.notes(&comping, &play_);
        for blocks in BLOCKS {
            let found = notes(&play(&mut host, &session(&play_, blocks)).events);
            assert_notes(&found, &expected, &format!("{rhythm:?}, {blocks:?}"));
        }
    }
}

#[test]
fn swing_follows_the_tempo() {
    let oracle = Oracle::new(COMMON[1]);
    let mut host = with_chart(COMMON[1]);
    for rhythm in [Rhythm::LateCharleston, Rhythm::Bossa] {
        let comping = RhythmSettings::new(rhythm);
        set_comping(&mut host, &comping);
        for tempo_bpm in [61.3, 187.7, 233.3, 281.9, 351.1] {
            let mut play_ = from(0.0, 0);
            play_.tempo_bpm = tempo_bpm;
            play_.stop_samples = session(&play_, blocks(0)).samples_at(9.2);
            let found = notes(&play(&mut host, &session(&play_, BlockSizes::Fixed(4096))).events);
            let expected = oracle.notes(&comping, &play_);
            assert_notes(&found, &expected, &format!("{rhythm:?} at {tempo_bpm}"));
        }
    }
}

#[test]
fn drawn_patterns_are_struck() {
    for cells in [
        "l--s----------------------------",
        "s-s-s-s---------l-------l-------",
        "-s--l-l-ssss----s--s--s---------",
        "l--------------sssssssssssssssss",
        "--------------------------------",
        "----------------l-----------l---",
    ] {
        for chart in [COMMON[1], OTHERS[2], OTHERS[5]] {
            let comping = RhythmSettings {
                drawn: cells.to_owned(),
                ..RhythmSettings::new(Rhythm::Drawn)
            };
            let mut host = with_chart(chart);
            set_comping(&mut host, &comping);
            draw(&mut host, cells);
            let play_ = from(0.0, 21_000);
            let found = notes(&play(&mut host, &session(&play_, blocks(0))).events);
            let expected = Oracle::new(chart).notes(&comping, &play_);
            assert_notes(&found, &expected, &format!("{cells} on {chart}"));
        }
    }
}

#[test]
fn the_chart_starts_at_its_bar_and_may_end() {
    for rhythm in [Rhythm::Hold, Rhythm::Push, Rhythm::Bossa, Rhythm::OffBeats] {
        for (chart, from_bar) in [
            (COMMON[1], 1),
            (COMMON[1], 3),
            (OTHERS[2], 2),
            (COMMON[2], 4),
        ] {
            for repeats in [true, false] {
                let comping = RhythmSettings {
                    from_bar,
                    repeats,
                    ..RhythmSettings::new(rhythm)
                };
                let mut host = with_chart(chart);
                set_comping(&mut host, &comping);
                for from_beats in [0.0, 9.75, 17.3] {
                    let play_ = from(from_beats, 16_000);
                    let found = notes(&play(&mut host, &session(&play_, blocks(1))).events);
                    let expected = Oracle::new(chart).notes(&comping, &play_);
                    assert_notes(&found, &expected, &format!("{chart}, {comping:?}"));
                }
            }
        }
    }
}

#[test]
fn inner_lines_move_one_voice_and_strike_no_other() {
    let mut moved = 0;
    for chart in [
        "| G7 | Cmaj7 | C7 | F6 |",
        "| Dm7 G7 | Cmaj7 A7 | D7 | G7 |",
        "3/4 | G7 | Cmaj7 |",
        "| G7 C7 F7 Bb7 | Eb6 |",
    ] {
        let oracle = Oracle::new(chart);
        let mut host = with_chart(chart);
        for rhythm in Rhythm::ALL {
            let inner = RhythmSettings {
                inner_lines: true,
                ..RhythmSettings::new(rhythm)
            };
            set_comping(&mut host, &inner);
            for from_beats in [0.0, 2.7] {
                let play_ = from(from_beats, 13_300);
                let found = notes(&play(&mut host, &session(&play_, blocks(2))).events);
                let expected = oracle.notes(&inner, &play_);
                assert_notes(&found, &expected, &format!("{chart}, {rhythm:?}"));
                let plain = RhythmSettings {
                    inner_lines: false,
                    ..inner.clone()
                };
                moved += usize::from(expected != oracle.notes(&plain, &play_));
            }
        }
    }
    assert!(moved > 40, "{moved} performances had an inner line");
}

#[test]
fn without_a_transport_the_chart_runs_by_itself() {
    let comping = RhythmSettings::new(Rhythm::Charleston);
    let oracle = Oracle::new(COMMON[1]);
    for words in ["97 bpm", "287 bpm"] {
        let mut host = with_chart(COMMON[1]);
        set_comping(&mut host, &comping);
        set(&mut host, "Tempo without host", words);
        let (tempo_bpm, _) = words.split_once(' ').unwrap();
        let play_ = EvenPlay {
            tempo_bpm: tempo_bpm.parse().unwrap(),
            ..from(0.0, u64::MAX)
        };
        let mut untold = Session::new(RATE_HZ, 120.0, 200_100);
        untold.telling = Telling::NOTHING;
        untold.blocks = blocks(2);
        // Only this event, all sound off, ends the notes.
        let bypass = id(&host, "Bypass");
        untold.param(200_000, bypass, 1.0);
        let found = notes(&play(&mut host, &untold).events);
        // The host is waited for, for a second.
        let pass = Pass {
            from_samples: 48_000,
            play: EvenPlay {
                stop_samples: 152_000,
                ..play_
            },
        };
        assert_notes(&found, &oracle.notes_of(&comping, &[pass]), words);
        assert!(!found.is_empty());
    }
}

#[test]
fn velocities_follow_the_accents() {
    let mut host = with_chart("| C6 |");
    for (accents, velocity, expected) in [
        (1.0, 0.5, [0.5, 0.56]),
        (0.5, 0.5, [0.5, 0.53]),
        (0.0, 0.5, [0.5, 0.5]),
        (1.0, 1.0, [1.0, 1.0]),
    ] {
        let comping = RhythmSettings {
            accents,
            velocity,
            ..RhythmSettings::new(Rhythm::Charleston)
        };
        set_comping(&mut host, &comping);
        let found = notes(&play(&mut host, &session(&from(0.0, 3_900), blocks(0))).events);
        let mut heard: Vec<f64> = found.iter().map(|note| note.velocity).collect();
        heard.dedup();
        let near = heard.iter().zip(expected);
        assert!(
            heard.len() <= 2 && near.into_iter().all(|(a, b)| (a - b).abs() < 1.0e-6),
            "{accents} of {velocity}: {heard:?}"
        );
    }
}
