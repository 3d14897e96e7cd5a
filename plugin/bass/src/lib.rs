//! The ear of "follow the bass": `tracker` turns a bass's sound into notes, `roots` turns notes
//! into roots. Nothing here allocates after `new`, locks, logs or panics, so the audio thread may
//! call all of it. Files import those that stand above them: `biquad`, `front`, `spectrum`,
//! `weights`, `model`, `ear`, `verdict`, `cents`, `tuning`, `tracker`; `fitting` is for the fitting
//! of `weights` alone; `roots` stands alone.

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

mod biquad;
mod cents;
mod ear;
#[doc(hidden)]
pub mod fitting;
mod front;
mod model;
pub mod roots;
mod spectrum;
mod tracker;
mod tuning;
mod verdict;
mod weights;

pub use tracker::{Event, HIGHEST, Heard, LOWEST, State, Tracker};
pub use tuning::{HIGHEST_A4_HZ, LOWEST_A4_HZ, Reference};
