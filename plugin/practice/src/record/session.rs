//! One session: what was answered over each grip, and on each way from one grip to the next. Imports `rows`
//! and `write`.

use super::rows::{Answer, Rows, Way};
use super::{Time, write};
use crate::cell::Cell;
use chrono::SubsecRound;
use serde_json::{Map, Value};

/// One session.
#[derive(Clone, Debug, PartialEq)]
pub struct Session {
    began: Time,
    number: u32,
    pub(super) chords: Rows<Cell>,
    pub(super) ways: Rows<Way>,
    pub(super) unknown: Map<String, Value>,
    /// What it takes in a file.
    bytes: usize,
}

impl Session {
    /// A session in which nothing has been answered.
    pub(super) fn new(began: Time, number: u32) -> Session {
        Session::of(began, number, Rows::default(), Rows::default(), Map::new())
    }

    pub(super) fn of(
        began: Time,
        number: u32,
        chords: Rows<Cell>,
        ways: Rows<Way>,
        unknown: Map<String, Value>,
    ) -> Session {
        let mut session = Session {
            began,
            number,
            chords,
            ways,
            unknown,
            bytes: 0,
        };
        session.weigh();
        session
    }

    /// When it began.
    #[must_use]
    pub const fn began(&self) -> Time {
        self.began
    }

    /// The number that tells it from others that began in the same second.
    #[must_use]
    pub const fn number(&self) -> u32 {
        self.number
    }

    /// What tells it from others.
    pub(super) const fn id(&self) -> (Time, u32) {
        (self.began, self.number)
    }

    pub(super) const fn bytes(&self) -> usize {
        self.bytes
    }

    /// Its lines in a file.
    pub(super) fn text(&self) -> String {
        let head = write::head(self.began, self.number);
        write::session(&head, &self.chords, &self.ways, &self.unknown)
    }

    /// It as a value.
    pub(super) fn value(&self) -> Value {
        serde_json::from_str(&self.text()).unwrap_or_default()
    }

    /// Reckons its size again, after a change.
    pub(super) fn weigh(&mut self) {
        self.bytes = self.text().len();
    }

    pub(super) fn add(&mut self, answer: Answer, cell: Cell, from: Option<Cell>) {
        self.chords.add(cell, answer);
        if let Some(from) = from {
            self.ways.add(Way { from, to: cell }, answer);
        }
        self.weigh();
    }

    /// Whether the other one is this session, at this moment or later.
    pub(super) fn begins(&self, other: &Session) -> bool {
        self.id() == other.id() && self.chords.begin(&other.chords) && self.ways.begin(&other.ways)
    }
}

/// A time without what is below a second.
pub(super) fn whole_seconds(time: Time) -> Time {
    time.trunc_subsecs(0)
}
