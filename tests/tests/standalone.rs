//! The program that needs no host, on an invisible screen and without sound. It shows the panel,
//! plays, and ends when its window is closed or a signal asks for it.

use guidehand_tests::{paths, screen::Screen};
use std::collections::HashSet;
use std::io::{BufRead as _, BufReader, Read};
use std::os::unix::process::ExitStatusExt as _;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::{Arc, Mutex};
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

/// A program that runs. It ends when this is dropped.
pub struct Program(pub Child);

impl Drop for Program {
    fn drop(&mut self) {
        // A program that has already ended needs nothing more.
        let _gone = self.0.kill();
        let _gone = self.0.wait();
    }
}

impl Program {
    /// Sends signals, by their names without `SIG`, one after the other.
    pub fn signal(&self, signals: &[&str]) {
        for signal in signals {
            let kill = format!("kill -{signal} {}", self.0.id());
            let sent = Command::new("sh").args(["-c", &kill]).status().unwrap();
            assert!(sent.success(), "{kill}: {sent}");
        }
    }

    /// Whether it still runs.
    pub fn runs(&mut self) -> bool {
        matches!(self.0.try_wait(), Ok(None))
    }

    /// Waits until it ends by itself.
    pub fn end(&mut self) -> ExitStatus {
        until("the end", || self.0.try_wait().unwrap())
    }
}

/// The lines that a program has written so far.
pub fn lines(output: impl Read + Send + 'static) -> Arc<Mutex<Vec<String>>> {
    let told: Arc<Mutex<Vec<String>>> = Arc::default();
    let tells = told.clone();
    thread::spawn(move || {
        for line in BufReader::new(output).lines().map_while(Result::ok) {
            tells.lock().unwrap().push(line);
        }
    });
    told
}

/// Repeats a question until there is an answer.
pub fn until<T>(what: &str, mut ask: impl FnMut() -> Option<T>) -> T {
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

/// The program, to be started on a screen.
pub fn program(screen: &Screen, arguments: &[&str]) -> Command {
    let mut program = Command::new(paths::standalone_path());
    program.args(arguments).envs(screen.variables());
    program
}

fn started(screen: &Screen, arguments: &[&str]) -> Program {
    let program = program(screen, arguments)
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

/// The screen for one who looks at it, and its root.
pub fn looked_at(screen: &Screen) -> (RustConnection, Window) {
    let [(_, display), _] = screen.variables();
    let (x11, number) = x11rb::connect(Some(display)).unwrap();
    let root = x11.setup().roots[number].root;
    (x11, root)
}

/// Waits until the program has a window that shows the panel.
pub fn panel(x11: &RustConnection, root: Window) -> Window {
    let window = until("a window", || window_named(x11, root, "Guidehand"));
    until("a panel", || {
        colours(x11, window).filter(|colours| *colours > COLOURS)
    });
    window
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
pub fn close(x11: &RustConnection, window: Window) {
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
    let (x11, root) = looked_at(&screen);
    let window = panel(&x11, root);
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
    let status = program.end();
    assert!(status.success(), "{status}");
}

/// Both ask a program to end (POSIX, `signal.h`). It does so as if its window were closed.
#[test]
fn signals_end_it_as_closing_its_window_does() {
    let screen = Screen::start().unwrap();
    let (x11, root) = looked_at(&screen);
    for signal in ["INT", "TERM"] {
        let mut program = started(&screen, &["--backend", "dummy"]);
        panel(&x11, root);
        program.signal(&[signal]);
        let status = program.end();
        assert_eq!(status.code(), Some(0), "SIG{signal}: {status}");
    }
}

/// The first signal asks, the second does not wait for the answer (common practice, no published
/// source). Both arrive while the program cannot act on either.
#[test]
fn a_second_signal_ends_it_at_once() {
    let screen = Screen::start().unwrap();
    let (x11, root) = looked_at(&screen);
    let mut program = started(&screen, &["--backend", "dummy"]);
    panel(&x11, root);
    program.signal(&["STOP", "INT", "TERM", "CONT"]);
    let status = program.end();
    assert!(status.signal().is_some(), "{status}");
}

/// Without a screen it plays on, and a signal ends it all the same.
#[test]
fn it_needs_no_screen() {
    for signal in ["INT", "TERM"] {
        let mut program = Command::new(paths::standalone_path());
        program.args(["--backend", "dummy"]).env_remove("DISPLAY");
        let program = program.stdout(Stdio::null()).stderr(Stdio::piped());
        let mut program = Program(program.spawn().unwrap());
        let told = lines(program.0.stderr.take().unwrap());
        until("words on the missing window", || {
            let told = told.lock().unwrap();
            told.iter()
                .any(|line| line.contains("No window"))
                .then_some(())
        });
        program.signal(&[signal]);
        let status = program.end();
        assert_eq!(status.code(), Some(0), "SIG{signal}: {status}");
    }
}

#[test]
fn its_help_lists_its_own_options_and_those_of_the_framework() {
    let help = Command::new(paths::standalone_path())
        .arg("--help")
        .output();
    let help = help.unwrap();
    assert!(help.status.success());
    let words = String::from_utf8(help.stdout).unwrap();
    for option in ["--follow-jack", "--backend", "--tempo"] {
        assert!(words.contains(option), "{option}: {words}");
    }
}

#[test]
fn an_option_that_nobody_knows_ends_it() {
    let screen = Screen::start().unwrap();
    let mut program = started(&screen, &["--backend", "telegraph"]);
    assert!(!program.end().success());
}
