//! The end of an editor: when the host has it destroyed, no thread of it is left, and the process
//! may end at once. A thread in a graphics driver during the process's exit handlers is a crash
//! (common practice, no published source; `clap/ext/gui.h` has `destroy` free all resources of the
//! editor, and `pluginterfaces/gui/iplugview.h` says the same of `removed`).

use super::resize::raw_instance;
use super::{on_a_screen, run_on_a_screen};
use guidehand_tests::parent::OnScreen;
use guidehand_tests::raw::window::InstanceOnScreen;
use guidehand_tests::resizing::Resizing;
use guidehand_tests::vst3::window::ViewOnScreen;
use guidehand_tests::{Library, paths, threads};
use std::collections::BTreeMap;
use std::time::Duration;
use std::{env, process, thread};

/// Long enough for some frames.
const DRAWS: Duration = Duration::from_millis(400);

/// Fails if there are threads that there were not before.
fn expect_no_more_than(before: &BTreeMap<u32, String>, what: &str) {
    let left = threads::more_than(before);
    assert!(left.is_empty(), "{what}: {left:?} are left");
}

/// Opens and closes an editor again and again, with frames and without, and looks for threads as
/// soon as it is closed.
fn open_and_close(shown: &mut dyn OnScreen, format: &str) {
    // The graphics driver keeps threads of its own from its first use on.
    shown.wait(DRAWS).unwrap();
    shown.close().unwrap();
    thread::sleep(DRAWS);
    let before = threads::all();
    for round in 0..12 {
        let draws = round % 2 == 0;
        shown.open_again().unwrap();
        if draws {
            shown.wait(DRAWS).unwrap();
        }
        shown.close().unwrap();
        let what = format!("{format}, round {round}, frames: {draws}");
        expect_no_more_than(&before, &what);
    }
}

#[test]
fn no_thread_outlives_its_editor() {
    for test in [
        "end_raw_editors",
        "end_vst3_views",
        "end_an_orphan",
        "end_with_the_plugin",
    ] {
        on_a_screen(&format!("ends::{test}"));
    }
}

#[test]
#[ignore = "runs on a screen of its own"]
fn end_raw_editors() {
    let library = Library::open(&paths::plugin_path()).unwrap();
    let instance = raw_instance(&library);
    let mut shown = InstanceOnScreen::open(instance, Resizing::Within).unwrap();
    open_and_close(&mut shown, "CLAP");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn end_vst3_views() {
    let instance = crate::vst3::untouched();
    let mut shown = ViewOnScreen::open(instance, Resizing::Within).unwrap();
    open_and_close(&mut shown, "VST3");
}

/// The host's window goes before the editor in it does.
#[test]
#[ignore = "runs on a screen of its own"]
fn end_an_orphan() {
    let library = Library::open(&paths::plugin_path()).unwrap();
    let instance = raw_instance(&library);
    let mut shown = InstanceOnScreen::open(instance, Resizing::Within).unwrap();
    shown.wait(DRAWS).unwrap();
    shown.close().unwrap();
    thread::sleep(DRAWS);
    let before = threads::all();
    for _ in 0..3 {
        shown.open_again().unwrap();
        shown.wait(DRAWS).unwrap();
        shown.lose_window().unwrap();
        thread::sleep(DRAWS);
        shown.close().unwrap();
        expect_no_more_than(&before, "an editor without a window");
    }
}

/// The host destroys the plugin and forgets its editor. `clap/plugin.h` has `destroy` free all that the
/// plugin holds, and `pluginterfaces/base/ipluginbase.h` has `terminate` clean up (from memory).
#[test]
#[ignore = "runs on a screen of its own"]
fn end_with_the_plugin() {
    let library = Library::open(&paths::plugin_path()).unwrap();
    let mut open: [&mut dyn FnMut() -> Box<dyn OnScreen>; 2] = [
        &mut || {
            let instance = raw_instance(&library);
            Box::new(InstanceOnScreen::open(instance, Resizing::Within).unwrap())
        },
        &mut || {
            let instance = crate::vst3::untouched();
            Box::new(ViewOnScreen::open(instance, Resizing::Within).unwrap())
        },
    ];
    // The thread that plans lives as long as an instance does.
    let _another = raw_instance(&library);
    for open in &mut open {
        let mut first = open();
        first.wait(DRAWS).unwrap();
        first.close().unwrap();
        drop(first);
        thread::sleep(DRAWS);
        let before = threads::all();
        for _ in 0..3 {
            let mut shown = open();
            shown.wait(DRAWS).unwrap();
            drop(shown);
            expect_no_more_than(&before, "a plugin that went with its editor");
        }
    }
}

/// The number of processes that end right after their editor in a run of the tests.
const PROCESSES: u32 = 12;
/// Whether the editor draws before it is closed.
const FRAMES: &str = "GUIDEHAND_FRAMES";

#[test]
fn a_process_may_end_right_after_its_editor() {
    for process in 0..PROCESSES {
        let frames = if process % 2 == 0 { "1" } else { "0" };
        let test = ["close_and_exit", "remove_and_exit"][usize::from(process % 4 > 1)];
        // The status tells: a process that crashes at its end has another one.
        run_on_a_screen(&format!("ends::{test}"), &[(FRAMES, frames)]);
    }
}

/// Ends the process at once, with its exit handlers and without the test's own end.
fn exit(shown: &mut dyn OnScreen) -> ! {
    if env::var(FRAMES).is_ok_and(|frames| frames == "1") {
        shown.wait(DRAWS).unwrap();
    }
    shown.close().unwrap();
    process::exit(0)
}

#[test]
#[ignore = "ends the process"]
fn close_and_exit() {
    let library = Library::open(&paths::plugin_path()).unwrap();
    let instance = raw_instance(&library);
    exit(&mut InstanceOnScreen::open(instance, Resizing::Within).unwrap());
}

#[test]
#[ignore = "ends the process"]
fn remove_and_exit() {
    let instance = crate::vst3::untouched();
    exit(&mut ViewOnScreen::open(instance, Resizing::Within).unwrap());
}
