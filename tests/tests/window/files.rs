//! Files that are read from the window: a pipe and a slow file hold up neither the window nor
//! the host that closes it.

use super::{on_a_screen, plugin, settled};
use guidehand_tests::Host;
use guidehand_tests::window::{Picture, Window};
use std::fs::{self, File};
use std::os::fd::AsRawFd;
use std::path::Path;
use std::process::{self, Command};
use std::thread;
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// Places in the editor at its first size, in pixels: names of pages, and what the page of files
/// shows.
const VOICING: (i16, i16) = (159, 426);
const FILES: (i16, i16) = (601, 426);
const FILE: (i16, i16) = (220, 490);
const IMPORT: (i16, i16) = (44, 522);
const CANCEL: (i16, i16) = (44, 632);

/// The longest wait for anything on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);

/// A chart that is not the first one.
pub const OTHER: &str = "| F6 | Bb6 |";

/// Which signal tells the holder of a lease (Linux, `asm-generic/fcntl.h`).
const F_SETSIG: i32 = 10;

/// A file that is held by a lease: whoever opens it has to wait until this is dropped, or for the
/// time in `/proc/sys/fs/lease-break-time` (Linux, `fcntl(2)`, `F_SETLEASE`). To those who wait
/// it is like a file on a network that does not answer.
struct Lease(#[expect(dead_code, reason = "the lease ends when it is closed")] File);

impl Lease {
    fn of(path: &Path) -> Lease {
        let file = File::options().read(true).write(true).open(path);
        let file = file.unwrap();
        let set = |what, value: i32| {
            // SAFETY: the descriptor is open, and both commands take a whole number.
            let done = unsafe { libc::fcntl(file.as_raw_fd(), what, value) };
            assert_eq!(done, 0, "{}", std::io::Error::last_os_error());
        };
        // The signal that tells the holder. This one is ignored unless somebody listens.
        set(F_SETSIG, libc::SIGURG);
        set(libc::F_SETLEASE, libc::F_WRLCK);
        Lease(file)
    }
}

/// A window that never closes ends the test.
fn give_up_at_last() {
    thread::spawn(|| {
        thread::sleep(Duration::from_secs(300));
        eprintln!("the window hangs");
        process::abort();
    });
}

/// The page of files in an open window.
pub struct Page {
    host: Host,
    window: Window,
    _folder: TempDir,
}

impl Page {
    /// The page of files, with the path of a file in a folder of its own.
    pub fn open(name: &str, make: impl FnOnce(&Path)) -> (Page, std::path::PathBuf) {
        give_up_at_last();
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(name);
        make(&path);
        let mut host = plugin();
        let mut window = Window::open(&mut host, Duration::ZERO).unwrap();
        settled(&mut window, &mut host);
        let mut page = Page {
            host,
            window,
            _folder: folder,
        };
        page.click(FILES);
        page.click(FILE);
        let typed = path.to_str().unwrap();
        page.window.type_text(&mut page.host, typed).unwrap();
        (page, path)
    }

    /// What is seen of it.
    pub fn look(&mut self) -> Picture {
        settled(&mut self.window, &mut self.host)
    }

    /// Imports the file whose path was typed.
    pub fn import(&mut self) {
        self.click(IMPORT);
    }

    /// Clicks at a place, and returns what is seen then.
    pub fn click(&mut self, (x, y): (i16, i16)) -> Picture {
        self.window.click(&mut self.host, x, y).unwrap();
        self.window.point(2, 2).unwrap();
        settled(&mut self.window, &mut self.host)
    }

    /// Whether the saved state holds this chart.
    pub fn holds(&mut self, chart: &str) -> bool {
        let state = self.host.save_state().unwrap();
        String::from_utf8_lossy(&state).contains(chart)
    }

    /// Waits until something is so.
    pub fn until(&mut self, what: &str, mut is_so: impl FnMut(&mut Page) -> bool) {
        let start = Instant::now();
        while !is_so(self) {
            assert!(start.elapsed() < PATIENCE, "not so in {PATIENCE:?}: {what}");
            let pause = Duration::from_millis(50);
            self.window.wait(&mut self.host, pause).unwrap();
        }
    }

    /// Closes the window, and then the plugin.
    pub fn close(mut self) {
        self.window.close(&mut self.host).unwrap();
    }
}

#[test]
fn a_pipe_is_refused_and_the_window_closes() {
    on_a_screen("files::read_a_pipe");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn read_a_pipe() {
    let (mut page, _) = Page::open("pipe", |path| {
        let made = Command::new("mkfifo").arg(path).status().unwrap();
        assert!(made.success());
    });
    let told = page.click(IMPORT);
    let elsewhere = page.click(VOICING);
    assert!(told != elsewhere, "the window has stopped");
    page.close();
}

#[test]
fn the_window_goes_on_while_a_file_is_slow() {
    on_a_screen("files::read_a_slow_file");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn read_a_slow_file() {
    /// Rounds of the host, of a millisecond or more, in which something must be drawn.
    const MOST: u32 = 5_000;
    let (mut page, path) = Page::open("slow", |path| fs::write(path, OTHER).unwrap());
    let lease = Lease::of(&path);
    let reading = page.click(IMPORT);
    let elsewhere = page.click(VOICING);
    assert!(reading != elsewhere, "the window has stopped");
    page.click(FILES);
    let cancelled = page.click(CANCEL);
    assert!(reading != cancelled, "nothing is cancelled");

    page.click(IMPORT);
    assert!(!page.holds(OTHER));
    page.window.watch().unwrap();
    let rest = Duration::from_millis(500);
    page.window.wait(&mut page.host, rest).unwrap();
    let drawings = page.window.drawings();
    page.window.wait(&mut page.host, rest).unwrap();
    assert_eq!(page.window.drawings(), drawings, "it draws while it waits");
    drop(lease);
    // Nothing but the file makes it draw.
    let drawn = page.window.rounds_to_a_drawing(&mut page.host, MOST);
    assert!(drawn.unwrap().is_some(), "what was read is not shown");
    settled(&mut page.window, &mut page.host);
    assert!(page.holds(OTHER));

    let _held = Lease::of(&path);
    page.click(IMPORT);
    page.close();
}
