//! The saved state of the window: its size, its zoom and its theme.

use super::{on_a_screen, plugin, settled};
use guidehand_tests::window::{Picture, Window};
use guidehand_tests::{Event, Host, state};
use std::time::Duration;

fn load(host: &mut Host, panel: &str) {
    let panel = serde_json::from_str(panel).unwrap();
    let state = state::with_field(&host.save_state().unwrap(), "panel", &panel);
    host.load_state(&state).unwrap();
}

fn saves(host: &mut Host, words: &str) {
    let state = host.save_state().unwrap();
    let state = String::from_utf8_lossy(&state).replace('\\', "");
    assert!(state.contains(words), "no {words}: {state}");
}

fn is_light(picture: &Picture) -> bool {
    let corner = picture.pixels.last().unwrap();
    corner.iter().all(|channel| *channel > 200)
}

#[test]
fn a_saved_size_and_look_come_back() {
    on_a_screen("saved::open_as_saved");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn open_as_saved() {
    let mut host = plugin();
    load(
        &mut host,
        r#"{"width":880,"height":720,"zoom":1.25,"look":"light"}"#,
    );
    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    assert_eq!(window.size(), (1_100, 900));
    assert!(is_light(&settled(&mut window, &mut host)));
    saves(
        &mut host,
        r#""width":880.0,"height":720.0,"zoom":1.25,"look":"light""#,
    );
    // A state is loaded while the window is open.
    load(&mut host, r#"{"width":1000,"height":720}"#);
    let picture = settled(&mut window, &mut host);
    assert_eq!(window.size(), (1_000, 720));
    assert!(!is_light(&picture));
    window.close(&mut host).unwrap();
}

#[test]
fn a_size_from_the_host_or_the_hand_is_saved_and_announced() {
    on_a_screen("saved::resize_and_save");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn resize_and_save() {
    let mut host = plugin();
    let revision = host.param_by_name("Chart revision").unwrap().id;
    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    settled(&mut window, &mut host);
    host.take_flushed();
    window.resize(&mut host, 1_010, 790).unwrap();
    settled(&mut window, &mut host);
    saves(&mut host, r#""width":1010.0,"height":790.0"#);
    let told = host.take_flushed();
    let moved = |e: &Event| matches!(e, Event::Param { id, .. } if *id == revision);
    assert!(told.iter().any(moved), "{told:?}");

    // The window is resized by its corner.
    window.drag(&mut host, (1_004, 784), (1_054, 824)).unwrap();
    settled(&mut window, &mut host);
    assert_eq!(window.size(), (1_054, 824));
    saves(&mut host, r#""width":1054.0,"height":824.0"#);
    // The window is never smaller than its contents.
    window.resize(&mut host, 100, 100).unwrap();
    settled(&mut window, &mut host);
    assert_eq!(window.size(), (840, 704));
    window.close(&mut host).unwrap();
}
