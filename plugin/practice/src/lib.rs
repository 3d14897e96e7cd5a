//! What is practised: exercises, the order in which questions come, and the record of the answers.
//! Pure functions on plain values: no threads, no files. The audio thread asks [`Picker`] for what
//! comes next; nothing else here is for it.

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

mod answered;
mod cell;
mod choice;
mod drill;
mod exercise;
pub mod homework;
mod making;
mod picker;
mod progression;
mod record;
mod told;

pub use answered::Answered;
pub use cell::Cell;
pub use choice::{
    AskedPosition, ChartKeys, Help, KeyOrder, Origin, Pace, Progression, Tempo, Which,
};
pub use drill::{Asked, Drill, Item, Lesson};
pub use exercise::Exercise;
pub use guidehand_theory::dressing::{StockDressing, stock_dressings};
pub use making::{ChartToAsk, Made, Making};
pub use picker::{Picker, Standing};
pub use record::{
    CellCount, Full, LARGEST_RECORD, MoveCount, Progress, Record, RecordError, Schedule, Session,
    Time,
};
pub use told::{LeftOut, NoDrill, Told};
