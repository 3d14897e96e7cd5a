//! The program that needs no host, on an invisible screen and without sound. It shows the panel,
//! plays, and ends when its window is closed.

use guidehand_tests::{paths, screen::Screen};
use std::collections::HashSet;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::thread;
use std::time::{Duration, Instant};
use x11rb::connection::Connection;
use x11rb::protocol::xproto::{AtomEnum, ClientMessageEvent, ConnectionExt as _};
use x11rb::protocol::xproto::{EventMask, ImageFormat, Window};
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;

/// The longest time for any step on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);
/// A panel has more colours than this, an empty window fewer.
const COLOURS: usize = 30;

/// The program. It ends when this is dropped.
struct Program(Child);

impl Drop for Program {
    fn drop(&mut self) {
        // A program that has already ended needs nothing more.
        let _gone = self.0.kill();
        let _gone = self.0.wait();
    }
}

/// Repeats a question until there is an answer.
fn until<T>(what: &str, mut ask: impl FnMut() -> Option<T>) -> T {
    let start = Instant::now();
    loop {
        if let Some(answer) = ask() {
            return answer;
        }
        assert!(
            start.elapsed() < PATIENCE,
            "{what}: nothing in {PATIENCE:?}"
        );
        thread::sleep(Duration::from_millis(100));
    }
}

fn started(screen: &Screen, arguments: &[&str]) -> Program {
    let program = Command::new(paths::standalone_path())
        .args(arguments)
        .envs(screen.variables())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    Program(program.expect("the program starts"))
}

fn window_named(x11: &RustConnection, root: Window, name: &str) -> Option<Window> {
    let windows = x11.query_tree(root).ok()?.reply().ok()?.children;
    windows.into_iter().find(|window| {
        let words = x11.get_property(false, *window, AtomEnum::WM_NAME, AtomEnum::ANY, 0, 64);
        let words = words.ok().and_then(|words| words.reply().ok());
        words.is_some_and(|words| words.value == name.as_bytes())
    })
}

/// The number of colours that a window shows.
fn colours(x11: &RustConnection, window: Window) -> Option<usize> {
    let size = x11.get_geometry(window).ok()?.reply().ok()?;
    let (width, height) = (size.width, size.height);
    let picture = x11
        .get_image(ImageFormat::Z_PIXMAP, window, 0, 0, width, height, u32::MAX)
        .ok()?
        .reply()
        .ok()?;
    let pixels: HashSet<&[u8]> = picture.data.chunks_exact(4).collect();
    Some(pixels.len())
}

/// Sends what a window manager sends when a window's close button is pressed.
fn close(x11: &RustConnection, window: Window) {
    let atom = |name: &[u8]| x11.intern_atom(false, name).unwrap().reply().unwrap().atom;
    let (protocols, delete) = (atom(b"WM_PROTOCOLS"), atom(b"WM_DELETE_WINDOW"));
    let message = ClientMessageEvent::new(32, window, protocols, [delete, 0, 0, 0, 0]);
    x11.send_event(false, window, EventMask::NO_EVENT, message)
        .unwrap();
    x11.sync().unwrap();
}

#[test]
fn the_program_without_a_host_shows_the_panel_and_ends_with_it() {
    let screen = Screen::start().unwrap();
    let mut program = started(&screen, &["--backend", "dummy"]);
    let [(_, display), _] = screen.variables();
    let (x11, number) = x11rb::connect(Some(display)).unwrap();
    let root = x11.setup().roots[number].root;
    let window = until("a window", || window_named(&x11, root, "Guidehand"));
    until("a panel", || {
        colours(&x11, window).filter(|colours| *colours > COLOURS)
    });
    // It plays its first chart by itself, so the place in the chart moves.
    let picture = |x11: &RustConnection| {
        let size = x11.get_geometry(window).unwrap().reply().unwrap();
        let (width, height) = (size.width, size.height);
        let image = x11.get_image(ImageFormat::Z_PIXMAP, window, 0, 0, width, height, u32::MAX);
        image.unwrap().reply().unwrap().data
    };
    let first = picture(&x11);
    until("another chord", || (picture(&x11) != first).then_some(()));
    close(&x11, window);
    let status: ExitStatus = until("the end", || program.0.try_wait().unwrap());
    assert!(status.success(), "{status}");
}

#[test]
fn an_option_that_nobody_knows_ends_it() {
    let screen = Screen::start().unwrap();
    let mut program = started(&screen, &["--backend", "telegraph"]);
    let status = until("the end", || program.0.try_wait().unwrap());
    assert!(!status.success());
}
