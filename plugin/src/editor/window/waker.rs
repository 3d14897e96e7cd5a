//! Wakes an open window when something moves: a thread that looks forty times a
//! second, as long as the window is open. Imports `app`, which starts it.
//!
//! The audio thread wakes nobody, for that would be a system call; and the
//! toolkit's own timer may not run before a host shows the window.

use crate::editor::window::app::{SharedApp, Wish};
use std::thread;
use std::time::Duration;

/// How often it looks. A chord that starts is seen at most this much and a frame
/// later.
const INTERVAL: Duration = Duration::from_millis(25);

/// Looks after one opening of a panel until it closes.
pub fn start(app: SharedApp, opening: u32) {
    let thread = thread::Builder::new().name("guidehand-panel".to_owned());
    let looks = move || {
        while app.look(opening) != Wish::Gone {
            thread::sleep(INTERVAL);
        }
    };
    // Without a thread the panel shows what is new when the pointer moves.
    let _started = thread.spawn(looks);
}
