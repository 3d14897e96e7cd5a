//! What has been asked and answered, session by session. Everything that is told of it is reckoned from the
//! sessions. Imports `answered`, `cell`, `picker`, the fields of files, and the theory.

mod count;
mod merge;
mod read;
mod saved;
mod schedule;
mod session;
mod write;

pub use count::{CellCount, MoveCount, Progress};
pub use merge::Full;
pub use read::RecordError;
pub use schedule::Schedule;
pub use session::Session;

use crate::answered::Answered;
use crate::cell::Cell;
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Map, Value};
use session::Answer;

/// A moment of the calendar.
pub type Time = DateTime<Utc>;

/// What `format` says in the file of a record.
pub const FORMAT: &str = "guidehand practice";
/// The version that is written, and the latest that is read.
pub const VERSION: u64 = 1;
/// The largest record, in bytes of its file.
pub const LARGEST_RECORD: usize = 8 << 20;

/// A session is over when nothing was answered for so long.
const REST: TimeDelta = TimeDelta::minutes(30);

/// The most bytes of a file that one answer adds.
const MOST_BYTES_OF_AN_ANSWER: usize = 1024;

/// What has been asked and answered.
#[derive(Clone, Debug, Default)]
pub struct Record {
    /// In time; of several with one id, in the order of their text.
    sessions: Vec<Session>,
    /// Fields of other versions.
    unknown: Map<String, Value>,
    /// Sessions that were saved by a later version and cannot be read. They are saved again.
    unread: Vec<Value>,
    /// The version of what was loaded, if it is later.
    version: u64,
    /// The session that goes on. It is not saved: whoever loads a record begins another session, so
    /// that no session is continued in two places.
    open: Option<Open>,
}

/// The session that goes on.
#[derive(Clone, Copy, Debug)]
struct Open {
    began: Time,
    number: u32,
    /// When something was answered last.
    last: Time,
}

impl PartialEq for Record {
    /// Whether both hold the same. Which session goes on does not count.
    fn eq(&self, other: &Record) -> bool {
        self.sessions == other.sessions
            && self.unknown == other.unknown
            && self.unread == other.unread
            && self.version == other.version
    }
}

impl Record {
    /// Whether nothing has been answered.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.sessions.is_empty() && self.unread.is_empty()
    }

    /// The sessions in time.
    #[must_use]
    pub fn sessions(&self) -> &[Session] {
        &self.sessions
    }

    /// Takes in an answer that was given now, over a grip and perhaps after another one. A session is over
    /// when nothing was answered for half an hour.
    ///
    /// # Errors
    /// The record is full. Nothing changes.
    pub fn add(
        &mut self,
        answered: &Answered,
        cell: Cell,
        from: Option<Cell>,
        now: Time,
    ) -> Result<(), Full> {
        if self.bytes() + MOST_BYTES_OF_AN_ANSWER > LARGEST_RECORD {
            return Err(Full);
        }
        let answer = Answer::of(answered);
        let at = self.session_at(now);
        if let Some(session) = self.sessions.get_mut(at) {
            session.add(answer, cell, from);
        }
        Ok(())
    }

    /// The place of the session to which an answer belongs that was given now.
    fn session_at(&mut self, now: Time) -> usize {
        let goes_on = |open: &Open| (now - open.last).abs() < REST;
        let mut open = self.open.filter(goes_on).unwrap_or_else(|| Open {
            began: session::whole_seconds(now),
            // What the clock says below a second is by chance.
            number: now.timestamp_subsec_nanos(),
            last: now,
        });
        open.last = now;
        self.open = Some(open);
        let id = (open.began, open.number);
        let at = self.sessions.partition_point(|one| one.id() < id);
        if self.sessions.get(at).is_none_or(|one| one.id() != id) {
            let session = Session::new(open.began, open.number);
            self.sessions.insert(at, session);
        }
        at
    }
}

#[cfg(test)]
mod tests;
