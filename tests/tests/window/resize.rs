//! An editor that asks its host for a size, by its corner or its zoom, in hosts of every manner.
//! What a host gives is what the panel is drawn for, and what it refuses is taken back.
//!
//! Sources: `clap/ext/gui.h` (`clap_host_gui.request_resize`: the host may refuse, need not call
//! `set_size`, and gives another size or the old one by `set_size`), and
//! `pluginterfaces/gui/iplugview.h` (`IPlugFrame::resizeView`: a view takes a size when the host
//! calls `onSize`, and tells the old one until then).

use super::{SETTLE, on_a_screen, on_a_screen_with};
use guidehand_tests::parent::OnScreen;
use guidehand_tests::paths::{self, PLUGIN_ID};
use guidehand_tests::picture::Picture;
use guidehand_tests::raw::stream::{self, Manner};
use guidehand_tests::raw::window::InstanceOnScreen;
use guidehand_tests::raw::{Instance, Knows};
use guidehand_tests::resizing::{Resizing, Size};
use guidehand_tests::scene::{FULL_AT, LARGER_ZOOM_AT, SMALL_AT, ZOOMS_AT};
use guidehand_tests::soak::resized;
use guidehand_tests::vst3::window::ViewOnScreen;
use guidehand_tests::window::HostOnScreen;
use guidehand_tests::{Host, Library, state};
use std::env;
use std::thread;
use std::time::Duration;

/// Names the one manner that is tested; without it all are.
const MANNER: &str = "GUIDEHAND_RESIZING";

const PLAIN: Size = (960, 760);
const LARGER: Size = (1_200, 950);
/// The first size of the small view.
const SMALL: Size = (560, 312);

/// A place where the pointer touches nothing.
const AWAY: (i16, i16) = (3, 3);
/// The corner, and how far it is dragged.
const CORNER: (i16, i16) = (954, 754);
const DRAGGED_TO: (i16, i16) = (1_014, 794);
const DRAGGED: Size = (1_014, 794);

/// What colours may differ by in two pictures of the same: a panel that has taken a zoom lies a
/// fraction of a pixel off one that opens with it.
const STEP: u8 = 4;

/// Longer than the panel waits for a host to answer.
const GIVEN_UP: Duration = Duration::from_millis(2_500);

/// Runs a test for each manner on a screen of its own, three at a time: most of it is waiting.
fn in_every_host(test: &str) {
    thread::scope(|scope| {
        for some in Resizing::ALL.chunks(2) {
            scope.spawn(move || {
                for manner in some {
                    let name = format!("{manner:?}");
                    on_a_screen_with(&format!("resize::{test}"), &[(MANNER, &name)]);
                }
            });
        }
    });
}

fn manners() -> Vec<Resizing> {
    let only = env::var(MANNER).ok();
    let wanted = |manner: &Resizing| {
        only.as_ref()
            .is_none_or(|name| *name == format!("{manner:?}"))
    };
    Resizing::ALL.into_iter().filter(wanted).collect()
}

/// The picture of an editor at rest.
fn settled(shown: &mut dyn OnScreen) -> Picture {
    // The first frames follow each other by themselves.
    shown.wait(SETTLE).unwrap();
    shown.click(AWAY).unwrap();
    shown.wait(SETTLE).unwrap();
    shown.parent().picture().unwrap()
}

fn choose_larger(shown: &mut dyn OnScreen) {
    shown.click(ZOOMS_AT).unwrap();
    shown.click(LARGER_ZOOM_AT).unwrap();
    shown.wait(GIVEN_UP).unwrap();
}

/// All that there is to tell of a size is the same: the host's window, the editor's, what the
/// plugin tells and what it saves.
fn expect(shown: &mut dyn OnScreen, size: Size, saved: &str, what: &str) {
    assert_eq!(shown.parent().size().unwrap(), size, "{what}: the window");
    let editor = shown.parent().editor_size().unwrap();
    assert_eq!(editor, size, "{what}: the editor");
    assert_eq!(shown.told_size().unwrap(), size, "{what}: told");
    let state = shown.state().unwrap().replace('\\', "");
    assert!(state.contains(saved), "{what}: no {saved} in {state}");
}

/// Asks for a size. A host that gives it sees the panel of that size, as an editor that opens at
/// it; any other sees the panel as it was.
fn ask(shown: &mut dyn OnScreen, manner: Resizing, by: fn(&mut dyn OnScreen), given: (Size, &str)) {
    let plain = r#""width":960.0,"height":760.0,"zoom":1.0"#;
    let before = settled(shown);
    expect(shown, PLAIN, plain, "before");
    by(shown);
    let after = settled(shown);
    match manner {
        Resizing::Within | Resizing::Late | Resizing::Silent => {
            let (size, saved) = given;
            expect(shown, size, saved, &format!("{manner:?}"));
            shown.open_again().unwrap();
            let again = settled(shown);
            expect(shown, size, saved, &format!("{manner:?}, opened again"));
            let differs = after.difference(&again, STEP);
            assert_eq!(differs, 0.0, "{manner:?}: drawn for another size");
        }
        Resizing::Refuses | Resizing::Cuts | Resizing::Deaf => {
            expect(shown, PLAIN, plain, &format!("{manner:?}"));
            let differs = after.difference(&before, STEP);
            assert_eq!(differs, 0.0, "{manner:?}: not taken back");
        }
    }
    shown.close().unwrap();
}

fn ask_for_both(mut open: impl FnMut(Resizing) -> Box<dyn OnScreen>) {
    for manner in manners() {
        let larger = (LARGER, r#""width":960.0,"height":760.0,"zoom":1.25"#);
        ask(&mut *open(manner), manner, choose_larger, larger);
        let dragged = (DRAGGED, r#""width":1014.0,"height":794.0,"zoom":1.0"#);
        let drag = |shown: &mut dyn OnScreen| {
            shown.drag(CORNER, DRAGGED_TO).unwrap();
            shown.wait(GIVEN_UP).unwrap();
        };
        ask(&mut *open(manner), manner, drag, dragged);
    }
}

#[test]
fn a_clap_host_decides_on_the_size() {
    in_every_host("ask_a_clap_host");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn ask_a_clap_host() {
    ask_for_both(|manner| {
        let host = Host::open(&paths::plugin_path(), PLUGIN_ID).unwrap();
        Box::new(HostOnScreen::open(host, manner).unwrap())
    });
}

#[test]
fn a_host_that_calls_back_within_the_call_decides_on_the_size() {
    in_every_host("ask_a_raw_host");
}

/// The plugin in the host of CLAP's own structures.
pub fn raw_instance(library: &Library) -> Instance {
    let id = std::ffi::CString::new(PLUGIN_ID).unwrap();
    Instance::new(library, &id, Knows::All).unwrap()
}

#[test]
#[ignore = "runs on a screen of its own"]
fn ask_a_raw_host() {
    let library = Library::open(&paths::plugin_path()).unwrap();
    ask_for_both(|manner| {
        let instance = raw_instance(&library);
        Box::new(InstanceOnScreen::open(instance, manner).unwrap())
    });
}

#[test]
fn a_window_that_is_too_small_for_the_zoom_shows_all_of_the_panel() {
    on_a_screen("resize::open_in_a_small_window");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn open_in_a_small_window() {
    let library = Library::open(&paths::plugin_path()).unwrap();
    let mut plain = InstanceOnScreen::open(raw_instance(&library), Resizing::Cuts).unwrap();
    let wanted = settled(&mut plain);
    plain.close().unwrap();

    let instance = raw_instance(&library);
    let saved = stream::save(&instance, Manner::WHOLE).unwrap();
    let panel = serde_json::json!({
        "width": 960.0, "height": 760.0, "zoom": 1.25,
        "knows_tensions": false, "knows_chart": false,
    });
    let saved = state::with_field(&saved, "panel", &panel);
    assert!(stream::load(&instance, &saved, Manner::WHOLE));
    let mut shown = InstanceOnScreen::open_within(instance, PLAIN).unwrap();
    let seen = settled(&mut shown);
    // The next host may have room for the saved zoom.
    let saved = r#""width":960.0,"height":760.0,"zoom":1.25"#;
    expect(&mut shown, PLAIN, saved, "a small window");
    assert_eq!(seen.difference(&wanted, STEP), 0.0, "something is cut");

    // The host makes room.
    shown.resize(LARGER).unwrap();
    settled(&mut shown);
    expect(&mut shown, LARGER, saved, "a window with room");
    shown.close().unwrap();
}

#[test]
fn a_zoom_is_taken_where_the_window_has_room_already() {
    on_a_screen("resize::choose_a_zoom_with_room");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn choose_a_zoom_with_room() {
    let library = Library::open(&paths::plugin_path()).unwrap();
    let instance = raw_instance(&library);
    let mut shown = InstanceOnScreen::open(instance, Resizing::Deaf).unwrap();
    shown.resize(LARGER).unwrap();
    settled(&mut shown);
    let more = i16::try_from(LARGER.0 - PLAIN.0).unwrap();
    let there = |(x, y): (i16, i16)| (x + more, y);
    shown.click(there(ZOOMS_AT)).unwrap();
    shown.click(there(LARGER_ZOOM_AT)).unwrap();
    shown.wait(GIVEN_UP).unwrap();
    settled(&mut shown);
    let saved = r#""width":960.0,"height":760.0,"zoom":1.25"#;
    expect(&mut shown, LARGER, saved, "a deaf host with room");
    shown.close().unwrap();
}

/// The small view has a size of its own, and the full one comes back with its own. A host that
/// gives no other size shows the small view in the window that there is.
#[test]
fn each_view_has_a_size_of_its_own() {
    in_every_host("open_the_small_view");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn open_the_small_view() {
    let library = Library::open(&paths::plugin_path()).unwrap();
    for manner in manners() {
        let instance = raw_instance(&library);
        let mut shown = InstanceOnScreen::open(instance, manner).unwrap();
        let full = settled(&mut shown);
        shown.click(SMALL_AT).unwrap();
        shown.wait(GIVEN_UP).unwrap();
        let small = settled(&mut shown);
        match manner {
            Resizing::Within | Resizing::Late | Resizing::Silent => {
                let saved = r#""view":"small""#;
                expect(&mut shown, SMALL, saved, &format!("{manner:?}"));
                shown.click(FULL_AT).unwrap();
                shown.wait(GIVEN_UP).unwrap();
                let again = settled(&mut shown);
                let saved = r#""width":960.0,"height":760.0,"zoom":1.0"#;
                expect(&mut shown, PLAIN, saved, &format!("{manner:?}, full again"));
                let differs = full.difference(&again, STEP);
                assert_eq!(differs, 0.0, "{manner:?}: another full view");
            }
            // Its window stays as it is, and the editor takes the size that was granted.
            Resizing::Cuts => assert_eq!(shown.parent().editor_size().unwrap(), SMALL),
            Resizing::Refuses | Resizing::Deaf => {
                expect(
                    &mut shown,
                    PLAIN,
                    r#""view":"small""#,
                    &format!("{manner:?}"),
                );
                let differs = full.difference(&small, STEP);
                assert!(differs > 0.1, "{manner:?}: still the full view");
            }
        }
        shown.close().unwrap();
    }
}

/// The seed of a random session.
const SEED: &str = "GUIDEHAND_SEED";

#[test]
fn nothing_is_cut_whatever_happens_to_the_size() {
    thread::scope(|scope| {
        for seed in ["1", "2", "5"] {
            let soak = move || on_a_screen_with("resize::soak", &[(SEED, seed)]);
            scope.spawn(soak);
        }
    });
}

#[test]
#[ignore = "runs on a screen of its own"]
fn soak() {
    let seed = env::var(SEED).map_or(1, |seed| seed.parse().unwrap());
    let library = Library::open(&paths::plugin_path()).unwrap();
    let changes =
        resized::survive(&library, seed).unwrap_or_else(|cut| panic!("seed {seed}: {cut}"));
    assert!(
        changes > 0,
        "seed {seed}: the size has always been the same"
    );
}

#[test]
fn a_vst3_host_decides_on_the_size() {
    in_every_host("ask_a_vst3_host");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn ask_a_vst3_host() {
    ask_for_both(|manner| {
        let instance = crate::vst3::untouched();
        Box::new(ViewOnScreen::open(instance, manner).unwrap())
    });
}
