//! What has been asked and answered, session by session. Imports `cell` and `answered`.

use crate::answered::Answered;
use crate::cell::Cell;
use chrono::{DateTime, Utc};

/// A moment of the calendar.
pub type Time = DateTime<Utc>;

/// What a session, or the whole record, holds of a cell.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CellCount {
    /// How often it was asked.
    pub asked: u32,
    /// How often it was right at first try.
    pub right_first: u32,
    /// The median of the seconds to the right answer; none if there was none.
    pub median_s: Option<f32>,
    /// When it was asked last.
    pub last: Option<Time>,
}

/// One session.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Session {}

/// What has been asked and answered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Record {
    sessions: Vec<Session>,
}

impl Record {
    /// What is known of a cell.
    #[must_use]
    pub fn count(&self, _cell: &Cell) -> CellCount {
        CellCount::default()
    }

    /// Takes in an answer that was given now. A session is over when nothing was answered for half
    /// an hour.
    pub fn add(&mut self, _answered: &Answered, _cell: Cell, _from: Option<Cell>, _now: Time) {}
}

/// When each cell is due, and how well it is known.
#[derive(Clone, Debug, Default)]
pub struct Schedule {}

impl Schedule {
    /// When a cell is due; none if it has never been asked.
    #[must_use]
    pub fn due(&self, _cell: &Cell) -> Option<Time> {
        None
    }

    /// How well a cell is known.
    #[must_use]
    pub fn standing(&self, _cell: &Cell, _now: Time) -> crate::picker::Standing {
        crate::picker::Standing::NEW
    }
}

impl Record {
    /// When each cell is due, and how well it is known.
    #[must_use]
    pub fn schedule(&self) -> Schedule {
        Schedule::default()
    }
}
