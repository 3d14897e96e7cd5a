//! A chord of the chart taken in hand in the window, with the mouse alone and with the keys alone:
//! heard while the host stands still, dressed, kept, the next one pinned, all of it played, written
//! into files, saved and played again.

use super::{RATE_HZ, on_a_screen, plugin, settled};
use guidehand_tests::notes::note_pairs;
use guidehand_tests::session::{Performance, Player, render};
use guidehand_tests::window::{NamedKey, Window};
use guidehand_tests::{Host, Session, TransportChange};
use midly::{MidiMessage, Smf, TrackEventKind};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::time::Duration;

/// Places in the editor at its first size, in pixels: the second chord of the first chart, the page
/// of the chord in hand, the second of its ways, what becomes of that, the way to the next chord,
/// its other voicings; and on the page of files the path and what writes.
const G7: (i16, i16) = (297, 507);
const CHORD: (i16, i16) = (94, 426);
const SECOND: (i16, i16) = (250, 624);
const KEEP: (i16, i16) = (330, 487);
const NEXT: (i16, i16) = (57, 460);
const VOICINGS: (i16, i16) = (143, 521);
const FILES: (i16, i16) = (601, 426);
const FILE: (i16, i16) = (220, 490);
const WRITE_MIDI: (i16, i16) = (121, 522);
const WRITE_MUSICXML: (i16, i16) = (231, 522);

/// The check values of trade practice: F A C E to F A B E to E G B D, and the dominant with its
/// flat ninth (common practice, no published source).
const DM9: [i16; 4] = [53, 57, 60, 64];
const G13: [i16; 4] = [53, 57, 59, 64];
const G13_FLAT_9: [i16; 4] = [53, 56, 59, 64];
const CMAJ9: [i16; 4] = [52, 55, 59, 62];
/// The voicing that is pinned in its place, and the A7 after it.
const THREE_NOTES: [i16; 3] = [52, 59, 62];
const A7: [i16; 4] = [55, 58, 61, 65];

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

/// A host that plays the first chart, and stands still with its editor open.
fn opened() -> (Host, Window) {
    let mut host = plugin();
    let source = host.param_by_name("Chords from").unwrap().id;
    let chart = host.text_to_value(source, "Chart").unwrap();
    host.set_param(source, chart).unwrap();
    assert_eq!(from_the_top(&mut host)[..3], [DM9, G13, CMAJ9]);
    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    settled(&mut window, &mut host);
    (host, window)
}

/// A session in which the song stands still.
fn at_rest() -> Session {
    let mut session = Session::new(RATE_HZ, 120.0, 2_400_000);
    session.change(0, TransportChange::Stop);
    session
}

/// Plays on for some seconds.
fn play_on(window: &mut Window, player: &mut Player, seconds: u64) {
    let until = player.position_samples() + seconds * 48_000;
    window.play(player, until, RATE_HZ).unwrap();
}

/// What is heard on the way: the chord as it is taken, the dressing in context, the next chord, and
/// its other voicing in context.
fn is_heard(player: Player) {
    let heard = chords(&player.finish().unwrap());
    let mut expected: Vec<Vec<i16>> = [G13, DM9, G13_FLAT_9, CMAJ9, CMAJ9, G13_FLAT_9]
        .map(Vec::from)
        .into();
    expected.extend([THREE_NOTES.to_vec(), A7.to_vec()]);
    assert_eq!(heard, expected);
}

/// What is kept sounds from the top.
fn plays_what_is_kept(host: &mut Host) {
    let kept = [&DM9[..], &G13_FLAT_9, &THREE_NOTES];
    assert_eq!(from_the_top(host)[..3], kept);
}

/// The notes of the chords in a MIDI file by the quarter note in which they start. The bass has a
/// channel of its own.
fn in_midi(path: &Path) -> BTreeMap<u32, Vec<i16>> {
    let bytes = fs::read(path).unwrap();
    let file = Smf::parse(&bytes).unwrap();
    let midly::Timing::Metrical(quarter) = file.header.timing else {
        panic!("it counts in frames");
    };
    let mut starts: BTreeMap<u32, Vec<i16>> = BTreeMap::new();
    for track in &file.tracks {
        let mut ticks = 0;
        for event in track {
            ticks += event.delta.as_int();
            if let TrackEventKind::Midi { channel, message } = event.kind
                && channel == 0
                && let MidiMessage::NoteOn { key, vel } = message
                && vel > 0
            {
                let at = ticks / u32::from(quarter.as_int());
                let chord = starts.entry(at).or_default();
                chord.push(key.as_int().into());
                chord.sort_unstable();
            }
        }
    }
    starts
}

/// The notes of each measure of a score in MusicXML, from the lowest.
fn in_musicxml(path: &Path) -> Vec<Vec<i16>> {
    let text = fs::read_to_string(path).unwrap();
    let within = |text: &str, element: &str| {
        let from = text.split_once(&format!("<{element}>"))?.1;
        Some(from.split_once("</")?.0.to_owned())
    };
    let key = |note: &str| {
        let step = match within(note, "step")?.as_str() {
            "C" => 0,
            "D" => 2,
            "E" => 4,
            "F" => 5,
            "G" => 7,
            "A" => 9,
            _ => 11,
        };
        let alter: i16 = within(note, "alter").map_or(0, |alter| alter.parse().unwrap());
        let octave: i16 = within(note, "octave")?.parse().unwrap();
        Some((octave + 1) * 12 + step + alter)
    };
    let measures = text.split("<measure ").skip(1);
    let measures = measures.map(|measure| {
        let mut keys: Vec<i16> = measure.split("<note").skip(1).filter_map(key).collect();
        keys.sort_unstable();
        keys.dedup();
        keys
    });
    measures.collect()
}

/// The files hold the same chords. They are written on a thread of their own.
fn are_written(path: &Path, window: &mut Window, host: &mut Host) {
    const MOST_LOOKS: u32 = 40;
    let [midi, musicxml] = ["mid", "musicxml"].map(|ending| path.with_extension(ending));
    for _ in 0..MOST_LOOKS {
        if midi.exists() && musicxml.exists() {
            break;
        }
        settled(window, host);
    }
    let (midi, xml) = (in_midi(&midi), in_musicxml(&musicxml));
    let chords = [&DM9[..], &G13_FLAT_9, &THREE_NOTES];
    for ((bar, measure), chord) in (0_u32..).zip(&xml).zip(chords) {
        assert_eq!(midi[&(4 * bar)], chord, "MIDI, {midi:?}");
        assert_eq!(measure, chord, "MusicXML, {xml:?}");
    }
    assert!(xml.len() >= chords.len());
}

/// The chart is saved as it was kept, and plays the same again.
fn is_saved(mut host: Host, window: Window) {
    plays_what_is_kept(&mut host);
    let saved = host.save_state().unwrap();
    let words = String::from_utf8_lossy(&saved);
    assert!(words.contains("| Dm7 | G7(b9,13) | Cmaj7 |"), "{words}");
    window.close(&mut host).unwrap();

    let mut again = plugin();
    again.load_state(&saved).unwrap();
    plays_what_is_kept(&mut again);
}

#[test]
fn a_chord_is_taken_in_hand_with_the_mouse_alone() {
    on_a_screen("in_hand::walk_with_the_mouse");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn walk_with_the_mouse() {
    let (mut host, mut window) = opened();
    let mut player = Player::start(&mut host, &at_rest()).unwrap();
    for ((x, y), seconds) in [
        (G7, 2),
        (CHORD, 0),
        // Three chords of two beats each have room.
        (SECOND, 4),
        (KEEP, 1),
        (NEXT, 2),
        (VOICINGS, 0),
        (SECOND, 4),
        (KEEP, 1),
    ] {
        window.click(player.host(), x, y).unwrap();
        play_on(&mut window, &mut player, seconds);
    }
    is_heard(player);
    settled(&mut window, &mut host);

    // The path is the one thing that is typed.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("kept");
    for (x, y) in [FILES, FILE] {
        window.click(&mut host, x, y).unwrap();
        settled(&mut window, &mut host);
    }
    let typed = path.display().to_string();
    window.type_text(&mut host, &typed).unwrap();
    for (x, y) in [WRITE_MIDI, WRITE_MUSICXML] {
        window.click(&mut host, x, y).unwrap();
        settled(&mut window, &mut host);
    }
    are_written(&path, &mut window, &mut host);
    is_saved(host, window);
}

/// Presses a key, and waits until the editor shows what it does: before that the next key could
/// come into the same frame.
fn press(window: &mut Window, host: &mut Host, key: NamedKey, with_shift: bool) {
    const LOOK: Duration = Duration::from_millis(50);
    const MOST_LOOKS: u32 = 400;
    let before = window.picture().unwrap();
    window.press(host, key, with_shift).unwrap();
    for _ in 0..MOST_LOOKS {
        window.wait(host, LOOK).unwrap();
        if window.picture().unwrap() != before {
            return window.wait(host, LOOK).unwrap();
        }
    }
    panic!("nothing is to be seen of {key:?}");
}

/// Tabs until a control has the focus, backwards where there are fewer than none.
fn tab(window: &mut Window, host: &mut Host, controls: i32) {
    for _ in 0..controls.abs() {
        press(window, host, NamedKey::Tab, controls < 0);
    }
}

#[test]
fn a_chord_is_taken_in_hand_with_the_keys_alone() {
    on_a_screen("in_hand::walk_with_the_keys");
}

/// The numbers of tabs are those of the panel's own test of this walk.
#[test]
#[ignore = "runs on a screen of its own"]
fn walk_with_the_keys() {
    let (mut host, mut window) = opened();
    window.focus().unwrap();
    let mut player = Player::start(&mut host, &at_rest()).unwrap();
    for (controls, key, seconds) in [
        // The name of the chord, whose arrows lead to the next one; the page; the second dressing.
        (10, NamedKey::Right, 2),
        (24, NamedKey::Space, 0),
        (19, NamedKey::Space, 4),
        // Keep; the next chord; other voicings; the second one; Keep.
        (-6, NamedKey::Space, 1),
        (-3, NamedKey::Space, 2),
        (6, NamedKey::Space, 0),
        (3, NamedKey::Space, 4),
        (-6, NamedKey::Space, 1),
    ] {
        tab(&mut window, player.host(), controls);
        press(&mut window, player.host(), key, false);
        play_on(&mut window, &mut player, seconds);
    }
    is_heard(player);
    settled(&mut window, &mut host);

    // The page of files, the path, and what writes.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("kept");
    tab(&mut window, &mut host, -6);
    press(&mut window, &mut host, NamedKey::Space, false);
    tab(&mut window, &mut host, 5);
    let typed = path.display().to_string();
    window.type_text(&mut host, &typed).unwrap();
    for controls in [2, 1] {
        tab(&mut window, &mut host, controls);
        press(&mut window, &mut host, NamedKey::Space, false);
        settled(&mut window, &mut host);
    }
    are_written(&path, &mut window, &mut host);
    is_saved(host, window);
}
