//! The chart, from its text to the threads that use it. One constructor, [`ChartCell::new`],
//! returns the ends that every instance has: the cell, which the panel and the host's main
//! thread hold, and the audio thread's [`PlannedReceiver`]. [`ChartCell::work`] gives the
//! worker its end.
//!
//! With the text goes what was picked for its chords: both are one [`Document`].
//!
//! [`Document`]: crate::document::Document
//!
//! A text is read once, and its chart is planned once in each texture. What comes of it is
//! published: to the panel as [`ReadChart`], and to the audio thread through a queue, once the
//! text is in force. A text that is still being typed is in force when typing rests. Both threads
//! share the same planned chart.
//!
//! `params`, `worker`, `editor` and `host` import it.

mod cell;
mod inner;
mod line;
mod progress;
mod read;
mod saved;
mod shared;
#[cfg(test)]
mod tests;

pub use cell::ChartCell;
#[cfg(test)]
pub use cell::ClockHand;
pub use line::PlannedReceiver;
pub use progress::Depth;
pub use read::ReadChart;
pub use saved::{LONGEST_TEXT, SavedChart};
pub use shared::ChartWork;
