//! A host that lets the plugin sleep: it plays blocks only when it likes, or when it is asked to
//! (`request_process` of `clap/host.h`). A chord that is taken in hand either sounds, or the panel says
//! why it does not.

use super::{RATE_HZ, on_a_screen, plugin, settled};
use guidehand_tests::notes::note_pairs;
use guidehand_tests::session::Player;
use guidehand_tests::window::Window;
use guidehand_tests::{Session, TransportChange};
use std::collections::BTreeMap;
use std::time::Duration;

/// The place of the second chord of the first chart in the editor at its first size, in pixels.
const G7: (i16, i16) = (297, 507);
/// The voicing of that chord (common practice, no published source).
const G13: [i16; 4] = [53, 57, 59, 64];
/// Longer than a request waits for a block, and for a frame after that.
const TOO_LATE: Duration = Duration::from_secs(4);
/// Longer than between the clicks of a double click.
const APART: Duration = Duration::from_millis(500);
const MOST_CLICKS: u32 = 10;
/// Longer than a chord that is tried sounds, in samples.
const A_WHILE_SAMPLES: u64 = 72_000;

/// Clicks on the chord until the host is asked to process: a busy machine may lose a click. Clicks lie so
/// far apart that two of them are no double click, which would select a word of the text.
fn take(window: &mut Window, player: &mut Player) {
    let before = player.host().requests().processes;
    for _ in 0..MOST_CLICKS {
        window.wait(player.host(), APART).unwrap();
        window.click(player.host(), G7.0, G7.1).unwrap();
        if player.host().requests().processes > before {
            return;
        }
    }
    panic!("the host is not asked to process");
}

#[test]
fn a_sleeping_host_is_asked_and_what_it_never_played_is_told() {
    on_a_screen("at_rest::let_it_sleep");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn let_it_sleep() {
    let mut host = plugin();
    let source = host.param_by_name("Chords from").unwrap().id;
    let chart = host.text_to_value(source, "Chart").unwrap();
    host.set_param(source, chart).unwrap();
    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    let mut session = Session::new(RATE_HZ, 120.0, 6 * A_WHILE_SAMPLES);
    session.change(0, TransportChange::Stop);
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(A_WHILE_SAMPLES).unwrap();

    // It sleeps, and is asked for each of three chords. It wakes in time for the last one.
    settled(&mut window, player.host());
    for _ in 0..3 {
        take(&mut window, &mut player);
    }
    player.run_until(2 * A_WHILE_SAMPLES).unwrap();
    // The meter of the tone falls for a while.
    window.wait(player.host(), TOO_LATE).unwrap();
    let silent = settled(&mut window, player.host());

    // It sleeps on.
    take(&mut window, &mut player);
    window.wait(player.host(), TOO_LATE).unwrap();
    let told = window.picture().unwrap();
    assert!(told != silent, "the panel says that nothing is heard");

    // It wakes too late: what was asked is not heard any more, and nothing is said of it.
    player.run_until(3 * A_WHILE_SAMPLES).unwrap();
    let awake = settled(&mut window, player.host());
    assert!(awake == silent, "nothing is said while blocks are played");

    // From now on it plays a while whenever it is asked, and sleeps otherwise.
    for _ in 0..2 {
        take(&mut window, &mut player);
        let until = player.position_samples() + A_WHILE_SAMPLES;
        player.run_until(until).unwrap();
    }
    let performance = player.finish().unwrap();
    let mut chords: BTreeMap<u64, Vec<i16>> = BTreeMap::new();
    for note in note_pairs(&performance.events).unwrap() {
        let chord = chords.entry(note.start_samples).or_default();
        chord.push(note.key);
        chord.sort_unstable();
    }
    let expected = [1, 3, 4].map(|nth| (nth * A_WHILE_SAMPLES, G13.to_vec()));
    assert_eq!(chords.into_iter().collect::<Vec<_>>(), expected);
    window.close(&mut host).unwrap();
}
