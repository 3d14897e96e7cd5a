//! A chord of the chart taken in hand in the window: heard while the host stands still, dressed,
//! kept, played, saved and played again.

use super::{RATE_HZ, on_a_screen, plugin, settled};
use guidehand_tests::notes::note_pairs;
use guidehand_tests::session::{Performance, Player, render};
use guidehand_tests::window::Window;
use guidehand_tests::{Host, Session, TransportChange};
use std::collections::BTreeMap;
use std::time::Duration;

/// Places in the editor at its first size, in pixels: the second chord of the first chart, the page
/// of the chord in hand, its second dressing, and what becomes of that.
const G7: (i16, i16) = (597, 357);
const CHORD: (i16, i16) = (111, 310);
const FLAT_NINE: (i16, i16) = (250, 505);
const KEEP: (i16, i16) = (330, 368);

/// The check values of trade practice: F A C E to F A B E to E G B D, and the dominant with its
/// flat ninth (common practice, no published source).
const DM9: [i16; 4] = [53, 57, 60, 64];
const G13: [i16; 4] = [53, 57, 59, 64];
const G13_FLAT_9: [i16; 4] = [53, 56, 59, 64];
const CMAJ9: [i16; 4] = [52, 55, 59, 62];

/// The keys that start together, one list after the other. Every note ends.
fn chords(performance: &Performance) -> Vec<Vec<i16>> {
    let notes = note_pairs(&performance.events).unwrap();
    let mut starts: BTreeMap<u64, Vec<i16>> = BTreeMap::new();
    for note in notes {
        let chord = starts.entry(note.start_samples).or_default();
        chord.push(note.key);
        chord.sort_unstable();
    }
    starts.into_values().collect()
}

/// The chords of the first four bars of the song.
fn from_the_top(host: &mut Host) -> Vec<Vec<i16>> {
    let mut session = Session::new(RATE_HZ, 240.0, 192_000);
    session.change(180_000, TransportChange::Stop);
    let performance = render(host, &session).unwrap();
    chords(&performance)
}

#[test]
fn a_chord_is_taken_in_hand_and_dressed() {
    on_a_screen("in_hand::dress_a_chord");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn dress_a_chord() {
    let mut host = plugin();
    let source = host.param_by_name("Chords from").unwrap().id;
    let chart = host.text_to_value(source, "Chart").unwrap();
    host.set_param(source, chart).unwrap();
    assert_eq!(from_the_top(&mut host)[..3], [DM9, G13, CMAJ9]);

    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    settled(&mut window, &mut host);
    let mut session = Session::new(RATE_HZ, 120.0, 480_000);
    session.change(0, TransportChange::Stop);
    let mut player = Player::start(&mut host, &session).unwrap();
    let mut until = 0;
    for (x, y) in [G7, CHORD, FLAT_NINE, KEEP] {
        window.click(player.host(), x, y).unwrap();
        // Three chords of two beats each have room.
        until += 105_600;
        let next = until + 43_200 * u64::from((x, y) == FLAT_NINE);
        window
            .play(&mut player, next.min(480_000), RATE_HZ)
            .unwrap();
        until = next;
    }
    let heard = chords(&player.finish().unwrap());
    assert_eq!(heard, [G13, DM9, G13_FLAT_9, CMAJ9]);
    settled(&mut window, &mut host);

    let saved = host.save_state().unwrap();
    let words = String::from_utf8_lossy(&saved);
    assert!(words.contains("| Dm7 | G7(b9,13) | Cmaj7 |"), "{words}");
    assert_eq!(from_the_top(&mut host)[..3], [DM9, G13_FLAT_9, CMAJ9]);
    window.close(&mut host).unwrap();

    let mut again = plugin();
    again.load_state(&saved).unwrap();
    assert_eq!(from_the_top(&mut again)[..3], [DM9, G13_FLAT_9, CMAJ9]);
}
