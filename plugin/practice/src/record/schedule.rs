//! When each grip is due, and how well it is known: from the sessions alone, so that a record that was
//! merged says the same whatever the order. Imports its head file, `rows`, `session`, `whole`,
//! `cell` and `picker`.
//!
//! The scheduler is FSRS, as the crate `rs-fsrs` has it, with its long-term scheduler: there is one review
//! for each grip and session, rated by the first answer of the session. What comes again within a session
//! is the picker's business, so the steps of minutes of the short-term scheduler have no place here. There
//! is no chance in the intervals: the same sessions always give the same days.

use super::Time;
use super::rows::{Answer, Outcome};
use super::whole::Record;
use crate::cell::Cell;
use crate::picker::Standing;
use chrono::TimeDelta;
use rs_fsrs::{Card, FSRS, Parameters, Rating};
use std::collections::{HashMap, VecDeque};

/// The chance to know a grip on the day on which it is due. It is the one that FSRS ships with.
const RETENTION: f64 = 0.9;

/// The longest interval, in days: what is known best is asked once a year.
const LONGEST_DAYS: i32 = 365;

/// The least stability, in days. Without it a grip that is missed a thousand times in a day would end at
/// none, which nothing can be divided by.
const LEAST_STABILITY: f64 = 0.01;

/// A grip is due half a day early, so that what was practised in the evening is due on a morning.
const EARLY: TimeDelta = TimeDelta::hours(12);

/// The last answers, by which the picker knows how well a grip is known.
const LAST_ANSWERS: usize = 5;
/// So many of them make a grip that is known well.
const KNOWN_FROM: usize = 3;

/// What is known of a grip.
#[derive(Clone, Debug)]
struct Known {
    card: Card,
    due: Time,
    /// For each of the last answers, whether it was right at first try.
    last: VecDeque<bool>,
}

/// When each grip is due, and how well it is known.
#[derive(Clone, Debug, Default)]
pub struct Schedule(HashMap<Cell, Known>);

impl Record {
    /// When each grip is due, and how well it is known. Walks the whole record.
    #[must_use]
    pub fn schedule(&self) -> Schedule {
        let fsrs = FSRS::new(Parameters {
            request_retention: RETENTION,
            maximum_interval: LONGEST_DAYS,
            enable_short_term: false,
            enable_fuzz: false,
            ..Parameters::default()
        });
        let mut schedule = Schedule::default();
        for session in &self.sessions {
            for row in session.chords.iter() {
                let known = schedule.0.entry(row.what).or_insert_with(|| Known {
                    card: Card::default(),
                    due: session.began(),
                    last: VecDeque::with_capacity(LAST_ANSWERS + 1),
                });
                if let Some(first) = row.answers.first() {
                    known.review(&fsrs, rating(first), session.began());
                }
                for answer in &row.answers {
                    known.last.push_back(answer.outcome == Outcome::First);
                    if known.last.len() > LAST_ANSWERS {
                        known.last.pop_front();
                    }
                }
            }
        }
        schedule
    }

    /// The grips that are due, in their order.
    #[must_use]
    pub fn due(&self, now: Time) -> Vec<Cell> {
        let schedule = self.schedule();
        let due = schedule.0.iter().filter(|(_, known)| known.due <= now);
        let mut due: Vec<Cell> = due.map(|(cell, _)| *cell).collect();
        due.sort_unstable();
        due
    }
}

const fn rating(first: &Answer) -> Rating {
    match (first.outcome, first.helped) {
        (Outcome::First, false) => Rating::Good,
        (Outcome::First, true) => Rating::Hard,
        (Outcome::Later | Outcome::Never, _) => Rating::Again,
    }
}

impl Known {
    fn review(&mut self, fsrs: &FSRS, rating: Rating, began: Time) {
        let mut card = self.card.clone();
        // Days are counted to the nearest one: from evening to morning is a day.
        let days = (began - card.last_review + EARLY).num_days().max(0);
        card.last_review = began - TimeDelta::days(days);
        let mut card = fsrs.next(card, began, rating).card;
        card.stability = card.stability.max(LEAST_STABILITY);
        // The scheduler tells its answers apart by a day even at the longest interval.
        let interval = card.scheduled_days.min(LONGEST_DAYS.into());
        self.due = began + TimeDelta::days(interval) - EARLY;
        self.card = card;
    }
}

impl Schedule {
    /// When a grip is due; none if it has never been asked.
    #[must_use]
    pub fn due(&self, cell: &Cell) -> Option<Time> {
        self.0.get(cell).map(|known| known.due)
    }

    /// How well a grip is known: weak if less than half of the last answers was right at first try, and
    /// known if all of them were, three at least, and it is not due.
    #[must_use]
    pub fn standing(&self, cell: &Cell, now: Time) -> Standing {
        let Some(known) = self.0.get(cell) else {
            return Standing::NEW;
        };
        let right = known.last.iter().filter(|right| **right).count();
        let count = known.last.len();
        if 2 * right < count {
            Standing::WEAK
        } else if right == count && count >= KNOWN_FROM && known.due > now {
            Standing::KNOWN
        } else {
            Standing::NEW
        }
    }

    /// When the first of all grips is due.
    #[must_use]
    pub fn next_due(&self) -> Option<Time> {
        self.0.values().map(|known| known.due).min()
    }
}
