//! The life of an editor's window: it rests while nothing moves and wakes for a
//! chord, leaks nothing, and leaves other instances alone.

use super::{RATE_HZ, on_a_screen, on_a_screen_with, plugin, settled};
use guidehand_tests::scene::{self, SCENES, Scene};
use guidehand_tests::session::Player;
use guidehand_tests::window::{Picture, Window};
use guidehand_tests::{Session, TransportChange, paths};
use std::env;
use std::fs;
use std::path::Path;
use std::sync::Mutex;
use std::thread;
use std::time::Duration;

/// Longer than the frames that follow an opening.
const OPENED: Duration = Duration::from_millis(2_600);

#[test]
fn nothing_is_drawn_while_nothing_moves_and_a_chord_shows_at_once() {
    on_a_screen("life::rest_and_wake");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn rest_and_wake() {
    const NOTES: u64 = 5;
    const APART_SAMPLES: u64 = 48_000;
    /// Rounds of the host, of a millisecond or more, in which something must be drawn.
    const MOST: u32 = 5_000;
    /// Rounds until a frame for a chord begins: the plugin looks for one every 25 ms.
    const BEGINS: u32 = 70;
    let mut host = plugin();
    // Its meter would move for as long as a chord sounds.
    let tone = host.param_by_name("Audition tone").unwrap().id;
    host.set_param(tone, 0.0).unwrap();
    let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
    window.wait(&mut host, OPENED).unwrap();
    window.watch().unwrap();

    let mut session = Session::new(RATE_HZ, 120.0, NOTES * APART_SAMPLES + 1);
    session.change(0, TransportChange::Stop);
    for note in 0..NOTES {
        let start = note * APART_SAMPLES + 512;
        session.note(start, start + 24_000, 41 + i16::try_from(note).unwrap());
    }
    let mut player = Player::start(&mut host, &session).unwrap();
    let (mut took, mut frames) = (Vec::new(), Vec::new());
    let rest = Duration::from_millis(300);
    for note in 0..NOTES {
        // The chords are drawn in time, with a rest before each one.
        let start = note * APART_SAMPLES + 512;
        window.play(&mut player, start, RATE_HZ).unwrap();
        window.wait(player.host(), rest).unwrap();
        // The time of a frame on this machine at the moment, measured with a frame for the pointer.
        window
            .point(300, 100 + i16::try_from(note).unwrap())
            .unwrap();
        let drawn = window.rounds_to_a_drawing(player.host(), MOST).unwrap();
        frames.push(drawn.expect("the pointer is followed"));
        window.wait(player.host(), rest).unwrap();
        player.run_until(start + 512).unwrap();
        let drawn = window.rounds_to_a_drawing(player.host(), MOST).unwrap();
        took.push(drawn.expect("the chord is drawn"));
    }
    took.sort_unstable();
    frames.sort_unstable();
    println!("rounds until a chord is drawn: {took:?}, until the pointer is: {frames:?}");
    // What a frame takes is taken off: the build under test is no optimised one.
    let middle = took.len() / 2;
    let begins = took[middle].saturating_sub(frames[middle]);
    assert!(begins < BEGINS, "{took:?} {frames:?}");

    window
        .play(&mut player, NOTES * APART_SAMPLES, RATE_HZ)
        .unwrap();
    window
        .wait(player.host(), Duration::from_millis(500))
        .unwrap();
    let before = window.drawings();
    assert!(before > 0, "drawings are counted");
    window.wait(player.host(), Duration::from_secs(2)).unwrap();
    assert_eq!(
        window.drawings(),
        before,
        "something is drawn while nothing moves"
    );
    drop(player);
    window.close(&mut host).unwrap();
}

#[test]
fn opening_and_closing_leaks_nothing() {
    on_a_screen("life::open_a_hundred_times");
}

/// Threads and open files of this process, and its memory in KiB.
fn holds() -> (usize, usize, u64) {
    let entries = |folder: &str| fs::read_dir(folder).unwrap().count();
    let status = fs::read_to_string("/proc/self/status").unwrap();
    let resident = status.lines().find_map(|l| l.strip_prefix("VmRSS:"));
    let kib = resident.and_then(|l| l.trim().strip_suffix(" kB"));
    (
        entries("/proc/self/task"),
        entries("/proc/self/fd"),
        kib.and_then(|k| k.trim().parse().ok()).unwrap(),
    )
}

#[test]
#[ignore = "runs on a screen of its own"]
fn open_a_hundred_times() {
    const TIMES: usize = 100;
    /// The number of openings until fonts, drivers and allocators have allocated what they keep.
    const WARM: usize = 20;
    /// The limit for the eighty openings after that. The toolkit (baseview 0.4.2) does not free its
    /// keymaps, some 60 KiB each time.
    const MOST_KIB: u64 = 14 * 1024;
    let mut host = plugin();
    let mut before = (0, 0, 0);
    for time in 0..TIMES {
        let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
        window.wait(&mut host, Duration::from_millis(60)).unwrap();
        window
            .close_and_wait(&mut host, Duration::from_millis(60))
            .unwrap();
        if time + 1 == WARM {
            before = holds();
        }
    }
    // The system may tell of the driver's threads for a moment after their end.
    thread::sleep(Duration::from_millis(500));
    let after = holds();
    println!("threads, files, KiB: {before:?}, then {after:?}");
    assert!(after.0 <= before.0, "threads: {before:?}, then {after:?}");
    assert!(after.1 <= before.1, "files: {before:?}, then {after:?}");
    assert!(
        after.2 < before.2 + MOST_KIB,
        "memory: {before:?}, then {after:?}"
    );
}

#[test]
fn two_editors_leave_each_other_alone() {
    on_a_screen("life::two_at_once");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn two_at_once() {
    let (mut one, mut other) = (plugin(), plugin());
    let mut first = Window::open(&mut one, Duration::ZERO).unwrap();
    let mut second = Window::open_at(&mut other, Duration::ZERO, (1_000, 0)).unwrap();
    second.point(2, 2).unwrap();
    let before = (
        settled(&mut first, &mut one),
        settled(&mut second, &mut other),
    );
    assert_eq!(before.0.difference(&before.1, 0), 0.0, "they begin alike");

    let mut session = Session::new(RATE_HZ, 120.0, 12_000);
    session.change(0, TransportChange::Stop);
    session.note(2_400, 11_000, 43);
    let mut player = Player::start(&mut one, &session).unwrap();
    first.play(&mut player, 6_000, RATE_HZ).unwrap();
    let playing = settled(&mut first, player.host());
    drop(player);
    assert!(playing.difference(&before.0, 0) > 0.01, "the chord shows");
    let silent = settled(&mut second, &mut other);
    assert_eq!(
        silent.difference(&before.1, 0),
        0.0,
        "it shows in the other one too"
    );

    first.close(&mut one).unwrap();
    let (width, height) = second.size();
    second.resize(&mut other, width + 40, height + 40).unwrap();
    let alone = settled(&mut second, &mut other);
    assert!(
        alone.colours() > super::DRAWN,
        "it keeps working when the first closes"
    );
    second.close(&mut other).unwrap();
}

/// Names the one scene that is compared; without it all are.
const SCENE: &str = "GUIDEHAND_SCENE";
/// Screens that show scenes at the same time: most of a scene is waiting.
const SCREENS: usize = 3;

#[test]
fn the_panel_looks_as_in_its_pictures() {
    let scenes = Mutex::new(SCENES.iter());
    let next = || scenes.lock().unwrap().next();
    thread::scope(|scope| {
        for _ in 0..SCREENS {
            scope.spawn(|| {
                while let Some(scene) = next() {
                    on_a_screen_with("life::compare_pictures", &[(SCENE, scene.name)]);
                }
            });
        }
    });
}

/// Compares the scenes with the pictures of the README and the guide. After a change of the
/// panel they are made anew by `cargo xtask panel --out plugin/pictures`.
#[test]
#[ignore = "runs on a screen of its own"]
fn compare_pictures() {
    /// The difference in a colour that other drivers may have.
    const STEP: u8 = 24;
    /// The difference in the ground of the panel, where nothing is drawn.
    const FLAT_STEP: u8 = 1;
    /// The share of pixels that may differ by more, which allows for the edges of letters.
    const SHARE: f64 = 0.0005;
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../plugin/pictures");
    let mut differ = Vec::new();
    let only = env::var(SCENE).ok();
    let wanted = |scene: &&Scene| only.as_deref().is_none_or(|name| name == scene.name);
    let scenes: Vec<&Scene> = SCENES.iter().filter(wanted).collect();
    assert!(!scenes.is_empty(), "no scene {only:?}");
    for scene in scenes {
        let wanted = Picture::load(&folder.join(scene.name).with_extension("png")).unwrap();
        let picture = scene::picture(&paths::plugin_path(), scene).unwrap();
        let share = picture.difference(&wanted, STEP);
        println!(
            "{}: {:.3} % of the pixels differ",
            scene.name,
            share * 100.0
        );
        let corners = picture.pixels.iter().zip(&wanted.pixels).next().unwrap();
        let mut ground = corners.0.iter().zip(corners.1);
        let flat = ground.all(|(a, b)| a.abs_diff(*b) <= FLAT_STEP);
        assert!(flat, "{}: another ground, {corners:?}", scene.name);
        if share > SHARE {
            let kept = env::temp_dir().join(format!("panel-{}.png", scene.name));
            picture.save(&kept).unwrap();
            differ.push(format!("{} ({})", scene.name, kept.display()));
        }
    }
    assert!(differ.is_empty(), "other than their pictures: {differ:?}");
    let blank = Picture {
        pixels: vec![[0; 3]; 960 * 760],
        width: 960,
        height: 760,
    };
    let first = Picture::load(&folder.join("first.png")).unwrap();
    assert!(first.difference(&blank, STEP) > 0.1, "the check can fail");
}
