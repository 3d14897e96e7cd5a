//! Which item comes next: a function of the list, the seed and the answers so far. The audio thread
//! asks it, so nothing allocates after it is made, and the work for an answer is bounded by the list.
//! Imports nothing of the crate.

/// How well an item is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Standing {
    /// So many right answers in a row are wanted before the item is done for this session, 1 to 3.
    pub wanted: u8,
}

impl Standing {
    /// The record knows it well.
    pub const KNOWN: Standing = Standing { wanted: 1 };
    /// The record does not know it, or not well enough.
    pub const NEW: Standing = Standing { wanted: 2 };
    /// The record knows that it is mostly missed. It comes before the others, and as often as what
    /// has been missed just now.
    pub const WEAK: Standing = Standing { wanted: 3 };

    const fn limited(self) -> u8 {
        if self.wanted < Standing::KNOWN.wanted {
            Standing::KNOWN.wanted
        } else if self.wanted > Standing::WEAK.wanted {
            Standing::WEAK.wanted
        } else {
            self.wanted
        }
    }
}

impl Default for Standing {
    fn default() -> Standing {
        Standing::NEW
    }
}

/// The most other items between a miss and the next try.
const MOST_BETWEEN: u32 = 3;

/// What is known of an item in this session.
#[derive(Clone, Copy, Debug)]
struct Course {
    /// So many right answers in a row are still wanted; 0 when it is done.
    wanted: u8,
    /// It was weak from the start, or has been missed, and is not yet learnt.
    weak: bool,
    /// It has been asked.
    asked: bool,
    /// The question, counted from 0, at which it comes again if it is weak and has been asked. For
    /// others that have been asked, when that was.
    turn: u32,
}

/// Which item comes next.
///
/// Items come in their order, those first that are weak from the start. One that is missed comes again
/// after one to three others, by chance and by the length of the list, until it has been right three times
/// in a row. The others come once more when all have been asked, in the order in which they were asked.
/// An item that has been right as often as is wanted is done and leaves the list. No item comes twice in a
/// row while another one is left.
///
/// So a list of which nothing is missed takes as many questions as its standings want together, and each
/// miss adds at most three.
#[derive(Clone, Debug)]
pub struct Picker {
    courses: Vec<Course>,
    in_order: bool,
    chance: fastrand::Rng,
    current: Option<usize>,
    /// Questions that have been answered.
    answered: u32,
    done: usize,
}

impl Default for Picker {
    fn default() -> Picker {
        Picker::new(Vec::new(), false, 0)
    }
}

impl Picker {
    /// A picker over items with these standings. If `in_order`, each comes in its place, round after
    /// round, and none is ever done.
    #[must_use]
    pub fn new(standings: Vec<Standing>, in_order: bool, seed: u64) -> Picker {
        let course = |standing: Standing| Course {
            wanted: standing.limited(),
            weak: standing.limited() == Standing::WEAK.wanted,
            asked: false,
            turn: 0,
        };
        let mut picker = Picker {
            courses: standings.into_iter().map(course).collect(),
            in_order,
            chance: fastrand::Rng::with_seed(seed),
            current: None,
            answered: 0,
            done: 0,
        };
        picker.current = if in_order {
            (!picker.courses.is_empty()).then_some(0)
        } else {
            picker.next()
        };
        picker
    }

    /// The item to ask now; none when all are done.
    #[must_use]
    pub const fn current(&self) -> Option<usize> {
        self.current
    }

    /// The current item was answered; returns the next one. An item of several chords is right only if
    /// each of them was right at first try.
    pub fn answered(&mut self, right_first: bool) -> Option<usize> {
        let current = self.current?;
        self.answered = self.answered.saturating_add(1);
        if self.in_order {
            let next = current + 1;
            self.current = Some(if next < self.courses.len() { next } else { 0 });
            return self.current;
        }
        let between = self.between();
        let answered = self.answered;
        if let Some(course) = self.courses.get_mut(current) {
            course.asked = true;
            if right_first {
                course.wanted = course.wanted.saturating_sub(1);
            } else {
                course.weak = true;
                course.wanted = Standing::WEAK.wanted;
            }
            course.turn = if course.weak {
                answered.saturating_add(between)
            } else {
                answered
            };
            self.done += usize::from(course.wanted == 0);
        }
        self.current = self.next();
        self.current
    }

    /// How many items are done.
    #[must_use]
    pub const fn done(&self) -> usize {
        self.done
    }

    /// How many other items come before a miss is asked again: by chance from one to three, and fewer in
    /// a short list.
    fn between(&mut self) -> u32 {
        let others = self.courses.len().saturating_sub(1) / 2;
        let most = u32::try_from(others).map_or(MOST_BETWEEN, |others| others.min(MOST_BETWEEN));
        self.chance.u32(1..=most.max(1))
    }

    /// The item that comes next.
    fn next(&self) -> Option<usize> {
        let last = self.current;
        let left = || {
            let courses = self.courses.iter().enumerate();
            courses.filter(|(_, course)| course.wanted > 0)
        };
        let others = left().filter(|(at, _)| Some(*at) != last);
        let rank = |(at, course): &(usize, &Course)| {
            let again = course.asked && course.weak;
            let group = if again && course.turn <= self.answered {
                Group::Again
            } else if again {
                Group::NotYet
            } else if course.asked {
                Group::OnceMore
            } else if course.weak {
                Group::Weak
            } else {
                Group::Fresh
            };
            (group, course.turn, *at)
        };
        let next = others.min_by_key(rank).or_else(|| left().next());
        next.map(|(at, _)| at)
    }
}

/// Which items come before which.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Group {
    /// Missed or weak, and its turn has come.
    Again,
    /// Weak from the start, and not asked yet.
    Weak,
    /// Not asked yet.
    Fresh,
    /// Asked, right, and wanted once more.
    OnceMore,
    /// Missed or weak, and its turn has not come, but nothing else is left.
    NotYet,
}

#[cfg(test)]
mod tests;
