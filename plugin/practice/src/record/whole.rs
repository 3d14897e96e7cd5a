//! The record: its sessions, and what comes into it. Imports its head file, `rows`, `write`, `session`,
//! `merge` and `answered`.

use super::rows::Answer;
use super::session::{self, Session};
use super::{LARGEST_RECORD, Time, merge, write};
use crate::answered::Answered;
use crate::cell::Cell;
use chrono::TimeDelta;
use serde_json::{Map, Value};
use std::fmt;

/// A session is over when nothing was answered for so long.
const REST: TimeDelta = TimeDelta::minutes(30);

/// The most bytes of a file that one answer adds.
const MOST_BYTES_OF_AN_ANSWER: usize = 1024;

/// There is no room for more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Full;

impl fmt::Display for Full {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "The record is full: it would take more than {} MiB. Write it to a file, and begin another \
             one.",
            LARGEST_RECORD >> 20
        )
    }
}

impl std::error::Error for Full {}

/// What has been asked and answered.
#[derive(Clone, Debug, Default)]
pub struct Record {
    /// In time; of several with one id, in the order of their text.
    pub(super) sessions: Vec<Session>,
    /// Fields of other versions.
    pub(super) unknown: Map<String, Value>,
    /// Sessions that were saved by a later version and cannot be read. They are saved again.
    pub(super) unread: Vec<Value>,
    /// The version of what was loaded, if it is later.
    pub(super) version: u64,
    /// The session that goes on. It is not saved: whoever loads a record begins another session, so
    /// that no session is continued in two places.
    pub(super) open: Option<Open>,
}

/// The session that goes on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Open {
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

    /// Both records together: the sessions of either one, each once. Of a session that both hold, one of
    /// them at an earlier moment, the later one counts. If it went on differently in both, both are kept.
    ///
    /// The order of merging does not matter, and to merge what is there already changes nothing.
    ///
    /// # Errors
    /// Together they are too large for one file.
    pub fn merge(&self, other: &Record) -> Result<Record, Full> {
        let sessions = self.sessions.iter().chain(&other.sessions);
        let mut unknown = self.unknown.clone();
        merge::join(&mut unknown, &other.unknown);
        let mut unread: Vec<Value> = self.unread.clone();
        unread.extend(other.unread.iter().cloned());
        let merged = Record {
            sessions: merge::in_order(sessions.cloned().collect()),
            unknown,
            unread: merge::each_once(unread),
            version: self.version.max(other.version),
            open: self.open,
        };
        if merged.bytes() > LARGEST_RECORD {
            return Err(Full);
        }
        Ok(merged)
    }

    /// The record as the text of a file. Sessions of a later version that cannot be read are left out:
    /// [`Record::unread`] counts them.
    #[must_use]
    pub fn write(&self) -> String {
        let sessions: Vec<String> = self.sessions.iter().map(Session::text).collect();
        let mut text = write::file_head();
        text.push_str(&sessions.join(","));
        text.push_str(&write::file_tail(&self.unknown));
        text
    }

    /// How many sessions a later version has saved that cannot be read.
    #[must_use]
    pub const fn unread(&self) -> usize {
        self.unread.len()
    }

    /// What the record takes in a file, in bytes.
    #[must_use]
    pub fn bytes(&self) -> usize {
        // With the commas between them.
        let sessions = self.sessions.iter().map(|one| one.bytes() + 1);
        let sessions = sessions.sum::<usize>().saturating_sub(1);
        let unread = self.unread.iter().map(|one| one.to_string().len());
        write::file_head().len()
            + sessions
            + write::file_tail(&self.unknown).len()
            + unread.sum::<usize>()
    }
}
