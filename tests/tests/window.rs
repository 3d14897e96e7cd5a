//! The editor in a window, on a virtual screen: that it is drawn whenever a host
//! shows it, that keys typed into it reach the saved state, and that it follows
//! what is played.
//!
//! The ignored tests run in processes of their own, whose environment names the screen. Run
//! directly, they pass too if there is a display.

mod at_rest;
mod dialogs;
mod drops;
mod ends;
mod files;
mod handled;
mod in_hand;
mod life;
mod melody;
mod resize;
mod saved;
mod typing;

use guidehand_tests::paths::PLUGIN_ID;
use guidehand_tests::scene;
use guidehand_tests::screen::Screen;
use guidehand_tests::session::Player;
use guidehand_tests::window::{Picture, Window};
use guidehand_tests::{Event, Host, Session, TransportChange, paths};
use std::env;
use std::process::Command;
use std::time::Duration;

const RATE_HZ: f64 = 48_000.0;
/// Enough time for the slowest frame that is drawn in software on a busy machine.
const SETTLE: Duration = Duration::from_millis(1_500);
/// A window with more colours than this shows more than a background.
const DRAWN: usize = 50;

/// Runs an ignored test of this module on a screen of its own.
fn on_a_screen(test: &str) {
    on_a_screen_with(test, &[]);
}

/// The same with more in the environment.
fn on_a_screen_with(test: &str, variables: &[(&str, &str)]) {
    let words = run_on_a_screen(test, variables);
    assert!(words.contains("1 passed"), "{test} did not run: {words}");
}

/// Runs an ignored test of this module, which must not fail, and returns what it says.
fn run_on_a_screen(test: &str, variables: &[(&str, &str)]) -> String {
    let screen = Screen::start().expect("a virtual screen: is Xvfb installed?");
    let output = Command::new(env::current_exe().unwrap())
        .args(["--exact", &format!("window::{test}")])
        .args(["--ignored", "--nocapture"])
        .envs(screen.variables())
        .envs(variables.iter().copied())
        // Memory that is given back can be told from memory that is lost.
        .env("MALLOC_ARENA_MAX", "1")
        .output()
        .unwrap();
    let words = String::from_utf8_lossy(&output.stdout);
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(
        output.status.success(),
        "{test}: {}: {words}{errors}",
        output.status
    );
    words.into_owned()
}

fn plugin() -> Host {
    let mut host = Host::open(&paths::plugin_path(), PLUGIN_ID).expect("the plugin loads");
    let source = host.param_by_name("Chords from").unwrap().id;
    let roots = host.text_to_value(source, "Roots").unwrap();
    host.set_param(source, roots).unwrap();
    host
}

fn settled(window: &mut Window, host: &mut Host) -> Picture {
    window.wait(host, SETTLE).unwrap();
    window.picture().unwrap()
}

#[test]
fn a_host_may_take_its_time_to_show_the_window() {
    on_a_screen("show_late");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn show_late() {
    // The last one is later than the frames that follow an opening anyway.
    for wait_ms in [0, 30, 300, 2_500] {
        let mut host = plugin();
        let mut window = Window::open(&mut host, Duration::from_millis(wait_ms)).unwrap();
        let picture = settled(&mut window, &mut host);
        assert!(picture.colours() > DRAWN, "blank after {wait_ms} ms");
        window.close(&mut host).unwrap();
    }
}

#[test]
fn an_editor_that_was_hidden_shows_again() {
    on_a_screen("hide_and_show");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn hide_and_show() {
    let mut host = plugin();
    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    let first = settled(&mut window, &mut host);
    for _ in 0..2 {
        window.hide(&mut host).unwrap();
        assert_eq!(settled(&mut window, &mut host).colours(), 1, "not hidden");
        window.show(&mut host).unwrap();
        assert_eq!(settled(&mut window, &mut host), first);
    }
    window.close(&mut host).unwrap();
}

#[test]
fn an_editor_opens_again_and_takes_another_size() {
    on_a_screen("open_again");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn open_again() {
    let mut host = plugin();
    for _ in 0..2 {
        let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
        assert!(settled(&mut window, &mut host).colours() > DRAWN);
        let (width, height) = window.size();
        window.resize(&mut host, width + 120, height + 80).unwrap();
        let picture = settled(&mut window, &mut host);
        assert_eq!(window.size(), (width + 120, height + 80));
        // The new edges are drawn by the editor, not left as the host's window shows them.
        let corner = picture.pixels.last().unwrap();
        assert!(corner.iter().all(|channel| *channel < 64), "{corner:?}");
        window.resize(&mut host, width, height).unwrap();
        window.close(&mut host).unwrap();
    }
}

#[test]
fn what_is_typed_is_saved_and_announced() {
    on_a_screen("type_a_chart");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn type_a_chart() {
    const TYPED: &str = "| Ebm7 Ab13 | Dbmaj7#11 | H";
    let mut host = plugin();
    let revision = host.param_by_name("Chart revision").unwrap().id;
    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    settled(&mut window, &mut host);
    let (x, y) = scene::in_the_chart(&window);
    window.click(&mut host, x, y).unwrap();
    window.select_all(&mut host).unwrap();
    host.take_flushed();
    window.type_text(&mut host, TYPED).unwrap();
    window.wait(&mut host, SETTLE).unwrap();

    let state = host.save_state().unwrap();
    let state = String::from_utf8_lossy(&state);
    assert!(state.contains(TYPED), "{state}");
    let told = host.take_flushed();
    let count = |wanted: fn(&Event, u32) -> bool| {
        told.iter().filter(|event| wanted(event, revision)).count()
    };
    let begun = count(|event, id| matches!(event, Event::GestureBegin { id: at } if *at == id));
    let set = count(|event, id| matches!(event, Event::Param { id: at, .. } if *at == id));
    let ended = count(|event, id| matches!(event, Event::GestureEnd { id: at } if *at == id));
    // Keys within one frame are one edit.
    assert!((2..=TYPED.len()).contains(&set), "{told:?}");
    assert_eq!((begun, ended), (set, set));
    window.close(&mut host).unwrap();
}

#[test]
fn a_state_that_is_loaded_shows() {
    on_a_screen("load_a_state");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn load_a_state() {
    let mut host = plugin();
    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    let first = settled(&mut window, &mut host);
    let state = host.save_state().unwrap();
    let state = String::from_utf8_lossy(&state[8..]).replace("| Dm7 | G7", "| F#m7 | B7");
    let length = u64::try_from(state.len()).unwrap().to_le_bytes();
    host.load_state(&[&length, state.as_bytes()].concat())
        .unwrap();
    let loaded = settled(&mut window, &mut host);
    assert_ne!(first, loaded);
    window.close(&mut host).unwrap();
}

#[test]
fn a_chord_shows_while_it_sounds_and_after() {
    on_a_screen("play_a_root");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn play_a_root() {
    let mut host = plugin();
    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    // Nothing has sounded, so the first chord of the chart is on show.
    let before = settled(&mut window, &mut host);
    let mut session = Session::new(RATE_HZ, 120.0, 96_000);
    session.change(0, TransportChange::Stop);
    session.note(4_800, 48_000, 43);
    let mut player = Player::start(&mut host, &session).unwrap();
    window.play(&mut player, 24_000, RATE_HZ).unwrap();
    let sounding = settled(&mut window, player.host());
    window.play(&mut player, 95_000, RATE_HZ).unwrap();
    let after = settled(&mut window, player.host());
    drop(player);
    // The colour of guide tones, which fills the keys that play them.
    let lit = |picture: &Picture| {
        let guide = [0xee, 0xbb, 0x55];
        picture.pixels.iter().filter(|p| **p == guide).count()
    };
    assert!(lit(&before) > lit(&after) + 1_000, "no chord is on show");
    assert!(lit(&sounding) > lit(&after) + 1_000, "no key is lit");
    assert_ne!(before, sounding, "the chord at the cursor stays on show");
    assert_ne!(before, after, "the released chord stays on show");
    window.close(&mut host).unwrap();
}
