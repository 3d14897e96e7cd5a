//! What is counted of practice since it began, and the answers on their way to the record. It outlives a
//! reset. Imports the practice crate.

use guidehand_practice::Answered;
use tinyvec::ArrayVec;

/// The most answers that wait for the record. They are taken after each block.
const MOST_WAITING: usize = 64;

/// A pause counts for so many seconds of practice at most.
const LONGEST_PAUSE_SECONDS: f64 = 60.0;

/// Answers on their way to the record.
#[derive(Debug, Default)]
pub struct Answers {
    waiting: ArrayVec<[Answered; MOST_WAITING]>,
    lost: u32,
}

impl Answers {
    /// An answer is to come into the record.
    fn put(&mut self, answered: Answered) {
        if self.waiting.try_push(answered).is_some() {
            self.lost = self.lost.saturating_add(1);
        }
    }

    /// Whether any waits.
    pub fn is_any(&self) -> bool {
        !self.waiting.is_empty()
    }

    /// Hands on what waits, the oldest first, until `take` refuses one, which then goes on waiting.
    pub fn drain(&mut self, mut take: impl FnMut(Answered) -> bool) {
        let taken = self.waiting.iter().take_while(|answer| take(**answer));
        let taken = taken.count();
        self.waiting.drain(..taken);
    }

    /// Answers for which there was no room.
    pub const fn lost(&self) -> u32 {
        self.lost
    }
}

/// What is counted of practice.
#[derive(Debug, Default)]
pub struct Tally {
    /// Answers on their way to the record.
    pub answers: Answers,
    /// Questions that were answered.
    pub answered: u32,
    /// Of these, right at first try.
    pub right_first: u32,
    practised_seconds: f64,
    /// When something happened last, in samples since the last reset.
    active_samples: Option<u64>,
}

impl Tally {
    /// Practice begins anew.
    pub fn begin(&mut self) {
        *self = Tally {
            answers: std::mem::take(&mut self.answers),
            ..Tally::default()
        };
    }

    /// Samples are counted anew.
    pub const fn reset(&mut self) {
        self.active_samples = None;
    }

    /// A question is answered.
    pub fn count(&mut self, answered: Answered) {
        self.answered = self.answered.saturating_add(1);
        self.right_first += u32::from(answered.right_first);
        self.answers.put(answered);
    }

    /// The player does something, at so many samples a second.
    pub fn practise(&mut self, now_samples: u64, second_samples: f64) {
        let before = self.active_samples.replace(now_samples);
        let passed = now_samples.saturating_sub(before.unwrap_or(now_samples));
        #[expect(clippy::cast_precision_loss, reason = "exact below 2^53")]
        let seconds = passed as f64 / second_samples.max(1.0);
        self.practised_seconds += seconds.min(LONGEST_PAUSE_SECONDS);
    }

    /// Whole minutes of practice.
    pub fn minutes(&self) -> u16 {
        let minutes = (self.practised_seconds / 60.0).min(f64::from(u16::MAX));
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "0 to 65,535"
        )]
        {
            minutes as u16
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answer(question: u32) -> Answered {
        Answered {
            question,
            ..Answered::default()
        }
    }

    #[test]
    fn answers_wait_while_nobody_takes_them_and_those_beyond_are_counted() {
        let mut tally = Tally::default();
        (0..70).for_each(|question| tally.count(answer(question)));
        assert_eq!((tally.answered, tally.answers.lost()), (70, 6));
        let mut taken = Vec::new();
        tally.answers.drain(|answer| {
            taken.push(answer.question);
            taken.len() < 3
        });
        assert_eq!(taken, [0, 1, 2], "the third was refused");
        taken.clear();
        tally.answers.drain(|answer| {
            taken.push(answer.question);
            true
        });
        assert_eq!(taken, (2..64).collect::<Vec<_>>());
    }

    #[test]
    fn a_pause_counts_for_a_minute_at_most() {
        let mut tally = Tally::default();
        tally.practise(0, 1.0);
        tally.practise(50, 1.0);
        assert_eq!(tally.minutes(), 0);
        tally.practise(5000, 1.0);
        assert_eq!(tally.minutes(), 1, "fifty seconds, and a minute");
        tally.practise(5010, 1.0);
        assert_eq!(tally.minutes(), 2);
        tally.begin();
        assert_eq!(tally.minutes(), 0);
    }
}
