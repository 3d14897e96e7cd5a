//! A chart that is typed while the song plays: when it is heard.
//!
//! The host plays only when a test says so, so that the song's time stands still while keys are pressed.

use super::{RATE_HZ, on_a_screen, plugin, settled};
use crate::plugin::{Chord, chords, load_chart, planned, set};
use guidehand_tests::scene;
use guidehand_tests::session::Player;
use guidehand_tests::window::Window;
use guidehand_tests::{Host, Session};
use std::time::{Duration, Instant};

/// One beat is a thousand samples.
const TEMPO_BPM: f64 = 2_880.0;
const BAR_SAMPLES: u64 = 4_000;
const BARS: u64 = 4_000;
/// The chart before anything is typed: its chord is struck in every bar.
const BEFORE: &str = "| Ebm7 |";
/// How long typing rests before a text plays.
const REST: Duration = Duration::from_secs(1);
/// The most attempts to press keys and play within that time, on a machine with much other work.
const MOST_ATTEMPTS: u32 = 60;

/// The keys of the one chord of a chart.
fn chord_of(chart: &str) -> Vec<i16> {
    let mut keys = planned(chart).remove(0).keys;
    keys.sort_unstable();
    keys
}

/// A host with a chart whose editor is open, with the text selected.
fn typist() -> (Host, Window) {
    let mut host = plugin();
    set(&mut host, "Chords from", "Chart");
    set(&mut host, "Audition tone", "Off");
    load_chart(&mut host, BEFORE);
    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    settled(&mut window, &mut host);
    let (x, y) = scene::in_the_chart(&window);
    window.click(&mut host, x, y).unwrap();
    window.select_all(&mut host).unwrap();
    (host, window)
}

/// Plays two bars, from the middle of one to the middle of another. Returns what starts there.
fn two_bars(player: &mut Player) -> Vec<Chord> {
    let from = player.position_samples();
    player.run_until(from + 2 * BAR_SAMPLES).unwrap();
    let new = |chord: &Chord| chord.start_samples >= from;
    let all = chords(&player.performance().events);
    all.into_iter().filter(new).collect()
}

fn keys(chords: &[Chord]) -> Vec<Vec<i16>> {
    chords.iter().map(|chord| chord.keys.clone()).collect()
}

/// Plays until a chord is heard, whatever the machine is busy with. Returns where it starts first.
fn until_heard(window: &mut Window, player: &mut Player, keys: &[i16]) -> u64 {
    for _ in 0..BARS / 4 {
        let heard = two_bars(player);
        if let Some(chord) = heard.iter().find(|chord| chord.keys == keys) {
            return chord.start_samples;
        }
        window
            .wait(player.host(), Duration::from_millis(100))
            .unwrap();
    }
    panic!("{keys:?} never sounds");
}

#[test]
fn half_a_chart_that_is_typed_does_not_play_before_typing_rests() {
    on_a_screen("typing::type_half_a_chart");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn type_half_a_chart() {
    let (mut host, mut window) = typist();
    let session = Session::new(RATE_HZ, TEMPO_BPM, BARS * BAR_SAMPLES);
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(BAR_SAMPLES / 2).unwrap();
    let before = chord_of(BEFORE);
    assert_eq!(two_bars(&mut player).len(), 2);

    // `| D` can be read. A space after it changes nothing but the time of the last key.
    let mut typed = "| D".to_owned();
    let mut keys_to_press = typed.clone();
    let mut attempts = 0;
    loop {
        let begun = Instant::now();
        window.type_text(player.host(), &keys_to_press).unwrap();
        let heard = keys(&two_bars(&mut player));
        let state = player.host().save_state().unwrap();
        let arrived = String::from_utf8_lossy(&state).contains(&format!("{typed}\\\""));
        if arrived && begun.elapsed() < REST {
            assert_eq!(heard, [before.clone(), before.clone()], "too early");
            break;
        }
        attempts += 1;
        assert!(
            attempts < MOST_ATTEMPTS,
            "the machine is too busy: {heard:?}"
        );
        typed.push(' ');
        keys_to_press = " ".to_owned();
    }
    // The song is in the middle of a bar whenever it stands still.
    let start = until_heard(&mut window, &mut player, &chord_of("| D |"));
    assert_eq!(start % BAR_SAMPLES, 0, "it comes in at a bar line");

    drop(player);
    window.close(&mut host).unwrap();
}

#[test]
fn an_error_in_what_is_typed_keeps_the_chart_before() {
    on_a_screen("typing::type_an_error");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn type_an_error() {
    let (mut host, mut window) = typist();
    let session = Session::new(RATE_HZ, TEMPO_BPM, BARS * BAR_SAMPLES);
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(BAR_SAMPLES / 2).unwrap();
    for _ in 0..MOST_ATTEMPTS {
        let begun = Instant::now();
        // `| G` can be read on the way.
        window.type_text(player.host(), "| G | H").unwrap();
        let without_rest = begun.elapsed() < REST;
        window.wait(player.host(), 2 * REST).unwrap();
        let heard = keys(&two_bars(&mut player));
        if without_rest {
            assert_eq!(heard, [chord_of(BEFORE), chord_of(BEFORE)]);
            drop(player);
            window.close(&mut host).unwrap();
            return;
        }
        load_chart(player.host(), BEFORE);
        window.wait(player.host(), REST).unwrap();
        window.select_all(player.host()).unwrap();
    }
    panic!("the machine is too busy to press seven keys in a second");
}

#[test]
fn the_enter_key_lets_a_chart_play_at_the_next_bar_line() {
    on_a_screen("typing::press_enter");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn press_enter() {
    let (mut host, mut window) = typist();
    let session = Session::new(RATE_HZ, TEMPO_BPM, BARS * BAR_SAMPLES);
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(BAR_SAMPLES / 2).unwrap();
    two_bars(&mut player);
    for attempt in 0..MOST_ATTEMPTS {
        let chart = ["| Gbmaj7", "| Dm7"][attempt as usize % 2];
        window.select_all(player.host()).unwrap();
        let begun = Instant::now();
        window
            .type_text(player.host(), &format!("{chart}\n"))
            .unwrap();
        let start = until_heard(&mut window, &mut player, &chord_of(chart));
        assert_eq!(start % BAR_SAMPLES, 0, "it comes in at a bar line");
        if begun.elapsed() < REST {
            drop(player);
            window.close(&mut host).unwrap();
            return;
        }
    }
    panic!("the key is never heard before typing has rested");
}

#[test]
fn a_paste_plays_at_the_next_bar_line() {
    on_a_screen("typing::paste");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn paste() {
    let (mut host, mut window) = typist();
    window.copy(&mut host).unwrap();
    let session = Session::new(RATE_HZ, TEMPO_BPM, BARS * BAR_SAMPLES);
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(BAR_SAMPLES / 2).unwrap();
    let (before, other) = (chord_of(BEFORE), chord_of("| Dm7 |"));
    let mut attempts = 0;
    loop {
        window.type_text(player.host(), "| Dm7 |\n").unwrap();
        until_heard(&mut window, &mut player, &other);
        window.select_all(player.host()).unwrap();
        let begun = Instant::now();
        window.paste(player.host()).unwrap();
        let start = until_heard(&mut window, &mut player, &before);
        assert_eq!(start % BAR_SAMPLES, 0, "it comes in at a bar line");
        window.select_all(player.host()).unwrap();
        if begun.elapsed() < REST {
            break;
        }
        attempts += 1;
        assert!(attempts < MOST_ATTEMPTS, "it waits until typing rests");
    }
    // Where no control has the focus, a paste is a whole other chart.
    window.type_text(player.host(), "| Dm7 |\n").unwrap();
    until_heard(&mut window, &mut player, &other);
    let (width, _) = window.size();
    let beside = i16::try_from(width / 2).unwrap();
    window.click(player.host(), beside, 90).unwrap();
    window.paste(player.host()).unwrap();
    until_heard(&mut window, &mut player, &before);
    let state = player.host().save_state().unwrap();
    let state = String::from_utf8_lossy(&state);
    assert!(state.contains(&format!("{BEFORE}\\\"")), "{state}");
    drop(player);
    window.close(&mut host).unwrap();
}
