//! The melody in the window: the right hand is recorded over the chart, with the mouse and the keys of
//! the keyboard alone, and chords are planned under what it has played.

use super::{RATE_HZ, on_a_screen, plugin, settled};
use guidehand_tests::session::Player;
use guidehand_tests::window::Window;
use guidehand_tests::{Host, Session, TransportChange, state};
use serde_json::Value;
use std::time::Duration;

/// Places in the editor at its first size, in pixels: the page of the melody, and what records.
const MELODY: (i16, i16) = (411, 426);
const RECORD: (i16, i16) = (865, 460);

/// What the host saves of the chart.
fn chart(host: &mut Host) -> Value {
    let saved = host.save_state().unwrap();
    let saved: Value = serde_json::from_slice(state::json_of(&saved)).unwrap();
    serde_json::from_str(saved["fields"]["chart"].as_str().unwrap()).unwrap()
}

#[test]
fn the_right_hand_is_recorded() {
    on_a_screen("melody::record");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn record() {
    let mut host = plugin();
    let source = host.param_by_name("Chords from").unwrap().id;
    let from_chart = host.text_to_value(source, "Chart").unwrap();
    host.set_param(source, from_chart).unwrap();
    let saved = host.save_state().unwrap();
    let text = "| Dm7 | G7b9 | Cmaj7 | % |";
    host.load_state(&state::with_chart(&saved, text)).unwrap();
    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    settled(&mut window, &mut host);
    for (x, y) in [MELODY, RECORD] {
        window.click(&mut host, x, y).unwrap();
        settled(&mut window, &mut host);
    }

    // At 120 beats a minute. Each key comes and goes a little late.
    let mut session = Session::new(RATE_HZ, 120.0, 2_400_000);
    let late = 900;
    for (key, from, to) in [(81, 4.0, 6.0), (79, 6.0, 8.0), (76, 8.0, 12.0)] {
        let [from, to] = [from, to].map(|beats| session.samples_at(beats) + late);
        session.note(from, to, key);
    }
    let stop = session.samples_at(14.0);
    session.change(stop, TransportChange::Stop);
    let until = session.samples_at(15.0);
    let mut player = Player::start(&mut host, &session).unwrap();
    window.play(&mut player, until, RATE_HZ).unwrap();
    window.click(player.host(), RECORD.0, RECORD.1).unwrap();
    window.play(&mut player, until + 96_000, RATE_HZ).unwrap();
    player.finish().unwrap();
    settled(&mut window, &mut host);
    let saved = chart(&mut host);
    assert_eq!(saved["text"], text);
    assert_eq!(saved["melody"], "| | A5/2 G5 | E5/1 |");
    window.close(&mut host).unwrap();
}
