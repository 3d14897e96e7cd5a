//! What hosts do when an editor asks for a size. Imports nothing of the crate.

use std::time::{Duration, Instant};

/// How long a late host takes to answer.
const LATE: Duration = Duration::from_millis(600);

/// Width and height in pixels.
pub type Size = (u32, u32);

/// What a host does when an editor asks for a size.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Resizing {
    /// It gives the size, and tells the editor so before it answers.
    #[default]
    Within,
    /// It says yes, and gives the size after a while.
    Late,
    /// It says yes and resizes its window, and leaves the rest to the editor.
    Silent,
    /// It says no.
    Refuses,
    /// It says yes, and does nothing: what is larger than its window is cut.
    Cuts,
    /// It is never there to be asked.
    Deaf,
}

/// A size that a host has said yes to and not given yet.
#[derive(Debug)]
pub struct Promise {
    size: Size,
    since: Instant,
}

impl Resizing {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Within,
        Self::Late,
        Self::Silent,
        Self::Refuses,
        Self::Cuts,
        Self::Deaf,
    ];

    /// Whether the editor can resize itself in the host's window.
    #[must_use]
    pub const fn lets_go(self) -> bool {
        matches!(self, Self::Silent | Self::Cuts | Self::Deaf)
    }
}

impl Promise {
    /// A promise to be kept in a while.
    #[must_use]
    pub fn new(size: Size) -> Self {
        Self {
            size,
            since: Instant::now(),
        }
    }

    /// The size, when its time has come.
    #[must_use]
    pub fn due(&self) -> Option<Size> {
        (self.since.elapsed() >= LATE).then_some(self.size)
    }
}
