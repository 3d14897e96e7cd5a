//! The answers over one grip, and on one way from a grip to the next. Imports `answered` and `cell`.

use crate::answered::Answered;
use crate::cell::Cell;
use serde_json::{Map, Value};

/// The longest time of an answer that is kept: a day, in milliseconds.
pub(super) const LONGEST_MILLIS: u32 = 24 * 60 * 60 * 1000;

/// How an answer came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Outcome {
    /// Right at first try.
    First,
    /// Right in the end.
    Later,
    /// Never right: it was passed over, or its time went by.
    Never,
}

/// An answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Answer {
    /// Milliseconds to the right answer, or to the end of trying.
    pub millis: u32,
    pub outcome: Outcome,
    /// More help was shown than at first.
    pub helped: bool,
}

impl Answer {
    pub fn of(answered: &Answered) -> Answer {
        Answer {
            millis: answered.millis.min(LONGEST_MILLIS),
            outcome: match (answered.right_first, answered.right) {
                (true, _) => Outcome::First,
                (false, true) => Outcome::Later,
                (false, false) => Outcome::Never,
            },
            helped: answered.helped,
        }
    }
}

/// The answers over one grip, or on one way.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row<T> {
    /// The grip or the way.
    pub what: T,
    /// The answers in their order. There is at least one.
    pub answers: Vec<Answer>,
    /// Fields of other versions.
    pub unknown: Map<String, Value>,
}

/// A way from one grip to the next.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Way {
    pub from: Cell,
    pub to: Cell,
}

/// Rows in the order of what they are about, each once.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Rows<T>(Vec<Row<T>>);

impl<T> Default for Rows<T> {
    fn default() -> Self {
        Rows(Vec::new())
    }
}

impl<T: Ord + Copy> Rows<T> {
    pub fn iter(&self) -> std::slice::Iter<'_, Row<T>> {
        self.0.iter()
    }

    pub fn iter_mut(&mut self) -> std::slice::IterMut<'_, Row<T>> {
        self.0.iter_mut()
    }

    pub const fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub fn get(&self, what: &T) -> Option<&Row<T>> {
        let at = self.0.binary_search_by_key(what, |row| row.what).ok()?;
        self.0.get(at)
    }

    /// Puts a row in its place. False if there is one about the same.
    pub fn insert(&mut self, row: Row<T>) -> bool {
        let place = self.0.binary_search_by_key(&row.what, |row| row.what);
        let place = place.map_err(|at| self.0.insert(at, row));
        place.is_err()
    }

    pub fn add(&mut self, what: T, answer: Answer) {
        match self.0.binary_search_by_key(&what, |row| row.what) {
            Ok(at) => self
                .0
                .get_mut(at)
                .into_iter()
                .for_each(|row| row.answers.push(answer)),
            Err(at) => self.0.insert(
                at,
                Row {
                    what,
                    answers: vec![answer],
                    unknown: Map::new(),
                },
            ),
        }
    }

    /// Whether the other ones begin with these answers, row by row.
    pub fn begin(&self, other: &Rows<T>) -> bool {
        self.0.iter().all(|row| {
            let there = other.get(&row.what);
            there.is_some_and(|there| there.answers.starts_with(&row.answers))
        })
    }
}
