//! The ear of "follow the bass": `tracker` turns a bass's sound into notes, `roots` turns notes
//! into roots. Nothing here allocates after `new`, locks, logs or panics, so the audio thread may
//! call all of it. Files import those that stand above them: `biquad`, `front`, `bank`, `verdict`,
//! `tuning`, `tracker`; `roots` stands alone.

#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::indexing_slicing,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic
    )
)]

mod bank;
mod biquad;
mod front;
pub mod roots;
mod tracker;
mod tuning;
mod verdict;

pub use tracker::{Event, HIGHEST, Heard, LOWEST, State, Tracker};
pub use tuning::{HIGHEST_A4_HZ, LOWEST_A4_HZ, Reference};
