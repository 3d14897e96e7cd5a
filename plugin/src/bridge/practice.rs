//! Practice between threads: the exercise and the record as they are saved, the lesson that is made of
//! them, what the player asks of it, and the answers on their way back.

mod cell;
mod line;
mod making;
mod saved;

pub use crate::engine::practising::PracticeAsk;
pub use cell::{PracticeCell, PracticeWork, ReadPractice};
pub use line::LessonReceiver;
pub use making::{ChartNow, Surroundings};
pub use saved::SavedPractice;

#[cfg(test)]
mod tests;
