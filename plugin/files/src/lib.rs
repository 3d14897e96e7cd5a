//! Files that are replaced whole or not at all: each is written beside the one that it becomes,
//! flushed to the disk, and given its name at the end. So a full disk leaves the old file as it was.
//! Runs on any thread that may wait for a disk. The plugin's `disk` and the commands import it.

#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        clippy::unwrap_used
    )
)]

mod beside;
mod links;
mod together;

pub use beside::Beside;
pub use links::followed;
pub use together::take_places;
