//! Wakes an open window when something moves: a thread that looks forty times a second,
//! as long as the window is open. `app` starts it.
//!
//! The audio thread wakes nobody, for that would be a system call; and the toolkit's
//! own timer may not run before a host shows the window.

use std::thread::{self, JoinHandle};
use std::time::Duration;

/// How often it looks. A chord that starts is seen at most this much and a frame
/// later.
const INTERVAL: Duration = Duration::from_millis(25);

/// Whether a window wants another frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// It shows what there is.
    Rest,
    /// Something has moved.
    Frame,
    /// It has closed.
    Gone,
}

/// A thread that looks after a window.
pub struct Waker(JoinHandle<()>);

/// Looks after one opening of a window until it is gone. Without a thread the panel shows what is
/// new when the pointer moves.
#[must_use]
pub fn start(name: &str, mut look: impl FnMut() -> Wish + Send + 'static) -> Option<Waker> {
    let thread = thread::Builder::new().name(name.to_owned());
    let looks = move || {
        while look() != Wish::Gone {
            thread::park_timeout(INTERVAL);
        }
    };
    thread.spawn(looks).ok().map(Waker)
}

impl Waker {
    /// Waits for the end of a thread whose window is gone.
    pub fn end(self) {
        self.0.thread().unpark();
        // It fails only if a look has panicked, and then the thread has ended, too.
        let _ended = self.0.join();
    }
}
