//! The editor as far as a host can use it before there is a window; the `window` modules test the
//! rest. Without a screen the editor is refused, which is tested in a process of its own.

use super::instance;
use clap_sys::ext::gui::{
    CLAP_WINDOW_API_COCOA, CLAP_WINDOW_API_WAYLAND, CLAP_WINDOW_API_WIN32, CLAP_WINDOW_API_X11,
};
use guidehand_tests::raw::{Instance, gui};
use guidehand_tests::threads;
use std::collections::BTreeMap;
use std::env;
use std::ffi::CStr;
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

const APIS: [&CStr; 5] = [
    CLAP_WINDOW_API_X11,
    CLAP_WINDOW_API_COCOA,
    CLAP_WINDOW_API_WIN32,
    CLAP_WINDOW_API_WAYLAND,
    c"",
];

const fn of_this_system() -> &'static CStr {
    if cfg!(windows) {
        CLAP_WINDOW_API_WIN32
    } else if cfg!(target_os = "macos") {
        CLAP_WINDOW_API_COCOA
    } else {
        CLAP_WINDOW_API_X11
    }
}

#[test]
fn only_windows_of_this_system_that_do_not_float_are_supported() {
    let instance = instance();
    for api in APIS {
        let supported = api == of_this_system();
        assert_eq!(gui::supports(&instance, api, false), supported, "{api:?}");
        assert!(!gui::supports(&instance, api, true), "{api:?} floats");
        assert!(!gui::create(&instance, api, true), "{api:?} floats");
        if !supported {
            assert!(!gui::create(&instance, api, false), "{api:?}");
        }
    }
    assert_eq!(gui::preferred(&instance), Some((of_this_system(), false)));
}

/// The questions that a host may ask before it makes an editor, and the calls that are refused
/// then.
fn expect_no_editor(instance: &Instance) {
    let size = gui::size(instance).expect("a size before there is an editor");
    assert!(
        (200..4_000).contains(&size.0) && (200..4_000).contains(&size.1),
        "{size:?}"
    );
    assert_eq!(
        gui::resize_hints(instance).is_some(),
        gui::can_resize(instance)
    );
    if let Some(hints) = gui::resize_hints(instance) {
        assert!(
            hints.can_resize_horizontally || hints.can_resize_vertically,
            "{hints:?}"
        );
    }
    assert!(!gui::show(instance, true) && !gui::show(instance, false));
    assert!(!gui::set_size(instance, size));
    assert_eq!(gui::adjusted(instance, size), None);
    assert!(!gui::set_scale(instance, 2.0));
    gui::destroy(instance);
    assert_eq!(gui::size(instance), Some(size));
}

#[test]
fn without_an_editor_there_is_a_size_and_nothing_else() {
    expect_no_editor(&instance());
}

/// Much more time than either test takes, even on a busy machine.
const LONGEST: Duration = Duration::from_secs(120);

/// Runs an ignored test of this module in a process of its own, so that an editor that hangs does
/// not stop the other tests.
fn run_alone(test: &str, prepare: impl FnOnce(&mut Command)) {
    let mut command = Command::new(env::current_exe().unwrap());
    command
        .args(["--exact", &format!("conformance::editor::{test}")])
        .args(["--ignored", "--nocapture"])
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    prepare(&mut command);
    let mut child = command.spawn().unwrap();
    let start = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if start.elapsed() > LONGEST {
            child.kill().unwrap();
            panic!("{test} hangs");
        }
        thread::sleep(Duration::from_millis(50));
    }
    let output = child.wait_with_output().unwrap();
    let words = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{}: {words}", output.status);
    assert!(words.contains("1 passed"), "{test} did not run: {words}");
}

/// Fails if threads of an editor are left.
fn expect_no_more_than(before: &BTreeMap<u32, String>) {
    let left = threads::more_than(before);
    assert!(left.is_empty(), "{left:?} are left");
}

#[test]
#[ignore = "runs in a process without a screen"]
fn create_without_a_screen() {
    let instance = instance();
    let before = threads::all();
    for _ in 0..3 {
        assert!(!gui::create(&instance, of_this_system(), false));
        expect_no_more_than(&before);
        expect_no_editor(&instance);
    }
}

#[cfg(target_os = "linux")]
#[test]
fn without_a_screen_the_editor_is_refused() {
    run_alone("create_without_a_screen", |command| {
        command.env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY");
    });
}

#[test]
#[ignore = "runs on a screen of its own"]
fn create_and_never_show() {
    let instance = instance();
    let before = threads::all();
    let mut scaled = None;
    for _ in 0..5 {
        assert!(gui::create(&instance, of_this_system(), false));
        assert!(
            !gui::create(&instance, of_this_system(), false),
            "an editor exists already"
        );
        // An editor that finds a scale by itself ignores the host's.
        let plain = gui::size(&instance).expect("a size");
        let takes = gui::set_scale(&instance, 1.5);
        let size = gui::size(&instance).expect("a size");
        if takes {
            assert_eq!(
                size,
                *scaled.get_or_insert((plain.0 * 3 / 2, plain.1 * 3 / 2))
            );
        }
        assert!(size.0 > 0 && size.1 > 0);
        if gui::can_resize(&instance) {
            for wanted in [size, (1, 1), (100_000, 100_000)] {
                if let Some(taken) = gui::adjusted(&instance, wanted) {
                    assert!(taken.0 > 0 && taken.1 > 0, "{wanted:?}");
                    // A size that the plugin proposes is accepted unchanged.
                    assert_eq!(gui::adjusted(&instance, taken), Some(taken));
                }
            }
        }
        gui::destroy(&instance);
    }
    // A host may destroy the editor at once.
    for _ in 0..10 {
        assert!(gui::create(&instance, of_this_system(), false));
        gui::destroy(&instance);
        expect_no_more_than(&before);
    }
}

#[cfg(target_os = "linux")]
#[test]
fn an_editor_comes_and_goes_without_being_shown() {
    let screen = guidehand_tests::screen::Screen::start();
    let screen = screen.expect("a virtual screen: is Xvfb installed?");
    run_alone("create_and_never_show", |command| {
        command.envs(screen.variables());
    });
}
