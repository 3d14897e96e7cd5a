//! The keys of an answer: which are down, which of them were struck for it, and when they are to be
//! judged. Imports `ledger`.
//!
//! Keys that follow each other within the time of a gesture are judged together, that long after the
//! last of them. A gesture that is let go of before is judged as it was. Keys that are still down from
//! the answer before are old: they may belong to the new answer, or be on their way up.

use crate::engine::ledger::Keys;

/// When a key went down.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moment {
    /// In samples since the last reset.
    pub samples: u64,
    /// In ticks of the time in which questions fall; 0 where there is none.
    pub ticks: f64,
}

/// The keys of an answer.
#[derive(Clone, Copy, Debug, Default)]
pub struct Hand {
    /// The keys that are down.
    held: Keys,
    /// The keys that went down for this answer. It is over when none of them is down.
    struck: Keys,
    /// The keys that went down at this sample.
    pressed: Keys,
    first: Moment,
    last: Moment,
    judged_at: Option<u64>,
}

/// What has come of keys that went up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Lifted {
    /// None of the keys that were struck for the answer is down any longer.
    pub answer_over: bool,
    /// No key is down any longer.
    pub all_up: bool,
}

impl Hand {
    /// A key goes down at this sample.
    pub const fn press(&mut self, key: u8) {
        self.pressed |= 1 << (key & 127);
    }

    /// The keys of the answer, those that go down at this sample among them.
    pub const fn taken(&self) -> Keys {
        self.held | self.pressed
    }

    /// Whether keys have gone down at this sample.
    pub const fn is_pressed(&self) -> bool {
        self.pressed != 0
    }

    /// The keys that were down and have gone up at this sample, when these are down.
    const fn up(&self, down: Keys) -> Keys {
        self.held & (!down | self.pressed)
    }

    /// Whether an answer that waits to be judged is let go of at this sample: it has to be judged before.
    pub const fn is_cut_short(&self, down: Keys) -> bool {
        self.judged_at.is_some() && self.up(down) & self.struck != 0
    }

    /// Keys have gone up, so that at most these are down.
    pub const fn lift(&mut self, down: Keys) -> Lifted {
        let held = self.held & !self.up(down);
        let was_held = self.held != 0;
        self.held = held;
        let answer_over = self.struck != 0 && self.struck & held == 0;
        if answer_over {
            self.struck = 0;
        }
        Lifted {
            answer_over,
            all_up: was_held && held == 0,
        }
    }

    /// The keys that went down at this sample are struck, and these are down now. They will be judged
    /// after so many samples.
    pub const fn strike(&mut self, down: Keys, here: Moment, together_samples: u64) {
        if self.struck == 0 {
            self.first = here;
        }
        self.last = here;
        self.struck |= self.pressed;
        self.held = down | self.pressed;
        self.pressed = 0;
        self.judged_at = Some(here.samples.saturating_add(together_samples));
    }

    /// Whether a key that was struck at this sample is up already, when these are down.
    pub const fn is_gone(&self, down: Keys) -> bool {
        self.held & !down != 0
    }

    /// When the answer is to be judged, in samples since the last reset.
    pub const fn judged_at(&self) -> Option<u64> {
        self.judged_at
    }

    /// The answer is being judged: the keys that are down.
    pub const fn judge(&mut self) -> Keys {
        self.judged_at = None;
        self.held
    }

    /// The keys that are down.
    pub const fn held(&self) -> Keys {
        self.held
    }

    /// The keys that are down from before this answer.
    pub const fn old(&self) -> Keys {
        self.held & !self.struck
    }

    /// When the first and the last key of the answer went down.
    pub const fn moments(&self) -> (Moment, Moment) {
        (self.first, self.last)
    }

    /// The answer is over: what is down from now on is from before the next one.
    pub const fn spend(&mut self) {
        self.struck = 0;
        self.judged_at = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TOGETHER: u64 = 80;

    fn strike(hand: &mut Hand, keys: &[u8], down: Keys, samples: u64) {
        keys.iter().for_each(|key| hand.press(*key));
        let here = Moment {
            samples,
            ticks: 0.0,
        };
        hand.strike(down, here, TOGETHER);
    }

    #[test]
    fn an_answer_is_judged_after_its_last_key() {
        let mut hand = Hand::default();
        strike(&mut hand, &[1], 0b10, 100);
        strike(&mut hand, &[2], 0b110, 150);
        assert_eq!(hand.judged_at(), Some(230));
        assert_eq!(hand.moments().0.samples, 100);
        assert_eq!(hand.judge(), 0b110);
        assert_eq!(hand.judged_at(), None);
    }

    #[test]
    fn a_short_answer_is_judged_when_it_is_let_go_of() {
        let mut hand = Hand::default();
        strike(&mut hand, &[1, 2], 0b110, 0);
        assert!(!hand.is_cut_short(0b110));
        assert!(hand.is_cut_short(0b10));
        assert_eq!(hand.judge(), 0b110, "as it was");
        let lifted = hand.lift(0b10);
        assert!(!lifted.answer_over && !lifted.all_up);
        let lifted = hand.lift(0);
        assert!(lifted.answer_over && lifted.all_up);
    }

    #[test]
    fn a_key_that_is_struck_again_at_the_same_sample_was_let_go_of() {
        let mut hand = Hand::default();
        strike(&mut hand, &[1], 0b10, 0);
        hand.press(1);
        assert!(hand.is_cut_short(0b10));
        hand.judge();
        assert!(hand.lift(0b10).answer_over);
        strike(&mut hand, &[], 0b10, 5);
        assert_eq!(hand.held(), 0b10);
    }

    #[test]
    fn keys_of_the_answer_before_are_old_and_go_up_without_ending_the_new_one() {
        let mut hand = Hand::default();
        strike(&mut hand, &[1, 2], 0b110, 0);
        hand.spend();
        strike(&mut hand, &[3], 0b1110, 40);
        assert_eq!(hand.old(), 0b110);
        assert!(!hand.is_cut_short(0b1010), "an old key goes up");
        assert!(!hand.lift(0b1010).answer_over);
        assert_eq!((hand.old(), hand.judge()), (0b10, 0b1010));
    }
}
