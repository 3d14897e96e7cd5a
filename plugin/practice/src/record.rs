//! What has been asked and answered, session by session. Everything that is told of it is reckoned from the
//! sessions. Its folder imports `answered`, `cell`, `picker`, the fields of files, and the theory.

mod count;
mod merge;
mod read;
mod rows;
mod saved;
mod schedule;
mod session;
mod whole;
mod write;

pub use count::{CellCount, MoveCount, Progress};
pub use read::RecordError;
pub use schedule::Schedule;
pub use session::Session;
pub use whole::{Full, Record};

use chrono::{DateTime, Utc};

/// A moment of the calendar.
pub type Time = DateTime<Utc>;

/// What `format` says in the file of a record.
pub const FORMAT: &str = "guidehand practice";
/// The version that is written, and the latest that is read.
pub const VERSION: u64 = 1;
/// The largest record, in bytes of its file.
pub const LARGEST_RECORD: usize = 8 << 20;

#[cfg(test)]
mod tests;
