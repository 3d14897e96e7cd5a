//! Wakes an open window when something moves: a thread that looks forty times a second,
//! as long as the window is open. `app` starts it.
//!
//! The audio thread wakes nobody, for that would be a system call; and the toolkit's
//! own timer may not run before a host shows the window.

use std::thread;
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

/// Looks after one opening of a window until it is gone.
pub fn start(look: impl Fn() -> Wish + Send + 'static) {
    let thread = thread::Builder::new().name("guidehand-panel".to_owned());
    let looks = move || {
        while look() != Wish::Gone {
            thread::sleep(INTERVAL);
        }
    };
    // Without a thread the panel shows what is new when the pointer moves.
    let _started = thread.spawn(looks);
}
