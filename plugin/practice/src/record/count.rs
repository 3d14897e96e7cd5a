//! What there is to say of a record in numbers. Imports its head file, `rows`, `session` and `whole`.

use super::Time;
use super::rows::{Answer, Outcome, Way};
use super::session::Session;
use super::whole::Record;
use crate::cell::Cell;
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::voicing::Position;
use std::collections::BTreeMap;

/// What a session, or the whole record, holds of a cell or of several.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CellCount {
    /// How often it was asked.
    pub asked: u32,
    /// How often it was right at first try.
    pub right_first: u32,
    /// The median of the seconds to the right answer; none if there was none.
    pub median_s: Option<f32>,
    /// When it was asked last: the beginning of that session.
    pub last: Option<Time>,
}

/// A way from one grip to the next within a progression.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoveCount {
    /// Where the hand came from.
    pub from: Cell,
    /// Where it went.
    pub to: Cell,
    /// How often.
    pub asked: u32,
    /// How often it was right at first try.
    pub right_first: u32,
    /// The median of the seconds to the right answer; none if there was none.
    pub median_s: Option<f32>,
}

/// A session in numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// When it began.
    pub began: Time,
    /// How many questions were asked.
    pub asked: u32,
    /// How many were right at first try.
    pub right_first: u32,
    /// The median of the seconds to the right answer; none if there was none.
    pub median_s: Option<f32>,
}

/// Answers that are counted together.
#[derive(Clone, Debug, Default)]
struct Tally {
    asked: u32,
    right_first: u32,
    /// Milliseconds to the right answers.
    millis: Vec<u32>,
    last: Option<Time>,
}

impl Tally {
    fn add(&mut self, answers: &[Answer], session: &Session) {
        for answer in answers {
            self.asked = self.asked.saturating_add(1);
            self.right_first += u32::from(answer.outcome == Outcome::First);
            if answer.outcome != Outcome::Never {
                self.millis.push(answer.millis);
            }
        }
        self.last = self.last.max(Some(session.began()));
    }

    fn count(mut self) -> CellCount {
        CellCount {
            asked: self.asked,
            right_first: self.right_first,
            median_s: median(&mut self.millis),
            last: self.last,
        }
    }
}

/// The median of milliseconds, in seconds: of an even number of them the mean of the middle two.
fn median(millis: &mut [u32]) -> Option<f32> {
    millis.sort_unstable();
    let upper = millis.get(millis.len() / 2)?;
    let lower = millis.get((millis.len() - 1) / 2)?;
    let sum = u64::from(*upper) + u64::from(*lower);
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        reason = "a day has fewer milliseconds than a double can count"
    )]
    let seconds = (sum as f64 / 2000.0) as f32;
    Some(seconds)
}

impl Record {
    /// All cells that are counted together, by what `group` says of each.
    pub fn counted<K: Ord>(&self, group: impl Fn(&Cell) -> Option<K>) -> BTreeMap<K, CellCount> {
        let mut tallies: BTreeMap<K, Tally> = BTreeMap::new();
        for session in &self.sessions {
            for row in session.chords.iter() {
                if let Some(key) = group(&row.what) {
                    tallies.entry(key).or_default().add(&row.answers, session);
                }
            }
        }
        let tallies = tallies.into_iter();
        tallies.map(|(key, tally)| (key, tally.count())).collect()
    }

    /// What is known of a cell.
    #[must_use]
    pub fn count(&self, cell: &Cell) -> CellCount {
        let mut all = self.counted(|one| (one == cell).then_some(()));
        all.remove(&()).unwrap_or_default()
    }

    /// What is known of all cells together.
    #[must_use]
    pub fn total(&self) -> CellCount {
        let mut all = self.counted(|_| Some(()));
        all.remove(&()).unwrap_or_default()
    }

    /// Every cell that was asked.
    #[must_use]
    pub fn cells(&self) -> Vec<(Cell, CellCount)> {
        self.counted(|cell| Some(*cell)).into_iter().collect()
    }

    /// By family, in the order of [`ShapeFamily::ALL`], and by root from C.
    #[must_use]
    pub fn by_family_and_root(&self) -> [[CellCount; 12]; ShapeFamily::ALL.len()] {
        let all = self.counted(|cell| Some((cell.family, cell.root.number())));
        ShapeFamily::ALL.map(|family| {
            std::array::from_fn(|root| {
                let root = u8::try_from(root).unwrap_or_default();
                all.get(&(family, root)).copied().unwrap_or_default()
            })
        })
    }

    /// By family, in the order of [`ShapeFamily::ALL`].
    #[must_use]
    pub fn by_family(&self) -> [CellCount; ShapeFamily::ALL.len()] {
        let all = self.counted(|cell| Some(cell.family));
        ShapeFamily::ALL.map(|family| all.get(&family).copied().unwrap_or_default())
    }

    /// By position, each that was asked.
    #[must_use]
    pub fn by_position(&self) -> Vec<(Position, CellCount)> {
        let all = self.counted(|cell| Some(cell.position));
        all.into_iter().collect()
    }

    /// The ways within progressions that take longest, the slowest first. Those that were never right come
    /// before all others.
    #[must_use]
    pub fn slowest_moves(&self, most: usize) -> Vec<MoveCount> {
        let mut tallies: BTreeMap<Way, Tally> = BTreeMap::new();
        for session in &self.sessions {
            for row in session.ways.iter() {
                let tally = tallies.entry(row.what).or_default();
                tally.add(&row.answers, session);
            }
        }
        let moves = tallies.into_iter().map(|(way, tally)| {
            let count = tally.count();
            MoveCount {
                from: way.from,
                to: way.to,
                asked: count.asked,
                right_first: count.right_first,
                median_s: count.median_s,
            }
        });
        let mut moves: Vec<MoveCount> = moves.collect();
        let slow = |one: &MoveCount| one.median_s.unwrap_or(f32::INFINITY);
        moves.sort_by(|a, b| slow(b).total_cmp(&slow(a)));
        moves.truncate(most);
        moves
    }

    /// Every session in numbers, in time.
    #[must_use]
    pub fn progress(&self) -> Vec<Progress> {
        let sessions = self.sessions.iter().map(|session| {
            let mut tally = Tally::default();
            for row in session.chords.iter() {
                tally.add(&row.answers, session);
            }
            let count = tally.count();
            Progress {
                began: session.began(),
                asked: count.asked,
                right_first: count.right_first,
                median_s: count.median_s,
            }
        });
        sessions.collect()
    }
}
