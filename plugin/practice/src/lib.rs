//! What is practised: exercises, the order in which questions come, and the record of the answers.
//! Pure functions on plain values: no threads, no files. The audio thread asks [`Picker`] for what
//! comes next; nothing else here is for it.

#![forbid(unsafe_code)]

mod answered;
mod cell;
mod drill;
mod exercise;
pub mod homework;
mod picker;
mod record;

pub use answered::Answered;
pub use cell::Cell;
pub use drill::{Asked, Drill, Item, Lesson};
pub use exercise::{
    AskedPosition, ChartKeys, Exercise, Help, KeyOrder, Origin, Pace, Progression, Tempo, Which,
};
pub use picker::{Picker, Standing};
pub use record::{CellCount, Record, Session, Time};
