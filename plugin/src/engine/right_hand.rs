//! What the right hand has struck, and when: which of its keys chords have to agree with, and how busy
//! it is. Time is counted in samples that pass, so that loops and jumps of the song change nothing.
//! Runs on the audio thread; imports `ledger`.

use crate::engine::ledger::Keys;
use tinyvec::ArrayVec;

/// The most strokes whose times are kept. Two bars with more of them are as busy as can be.
const MOST_STROKES: usize = 128;

/// The keys of MIDI.
const KEYS: usize = 128;

/// How much the rhythm is filled at most, where the right hand rests, and thinned, where it is busy.
const FULLER: f64 = 0.5;
const THINNER: f64 = 1.0;

/// What the right hand has struck.
#[derive(Debug)]
pub struct RightHand {
    /// When each key was struck last, in samples since the last reset, counted from 1; 0 is never.
    struck: [u64; KEYS],
    /// When its last strokes began, in samples since the last reset, ascending.
    strokes: ArrayVec<[u64; MOST_STROKES]>,
}

impl Default for RightHand {
    fn default() -> Self {
        RightHand {
            struck: [0; KEYS],
            strokes: ArrayVec::default(),
        }
    }
}

impl RightHand {
    /// A key goes down. Keys that go down within `together_samples` of the first are one stroke.
    pub fn strike(&mut self, key: u8, now_samples: u64, together_samples: u64) {
        if let Some(struck) = self.struck.get_mut(usize::from(key)) {
            *struck = now_samples.saturating_add(1);
        }
        let last = self.strokes.last();
        if last.is_some_and(|last| now_samples.saturating_sub(*last) <= together_samples) {
            return;
        }
        if self.strokes.len() == MOST_STROKES {
            self.strokes.remove(0);
        }
        let _full = self.strokes.try_push(now_samples);
    }

    /// The keys that were struck after a sample, one bit each. None stands for the time before all
    /// samples.
    pub fn struck_after(&self, samples: Option<u64>) -> Keys {
        let after = samples.map_or(0, |samples| samples.saturating_add(1));
        let keys = self.struck.iter().zip(0_u8..);
        let keys = keys.filter(|(struck, _)| **struck > after);
        keys.fold(0, |all, (_, key)| all | 1 << key)
    }

    /// How much fuller the rhythm is to be at a sample, or how much thinner, from -1 to 0.5: by the
    /// strokes of the right hand in the time before it. A stroke to the quarter note leaves it as it
    /// is, and so does a right hand that has not played at all.
    pub fn room(&self, now_samples: u64, before_samples: u64, quarters: f64) -> f64 {
        let from = now_samples.saturating_sub(before_samples);
        let played = self.strokes.partition_point(|at| *at < now_samples);
        if played == 0 {
            return 0.0;
        }
        let earlier = self.strokes.partition_point(|at| *at < from);
        let strokes = u32::try_from(played.saturating_sub(earlier)).unwrap_or(u32::MAX);
        let to_the_quarter = f64::from(strokes) / quarters.max(1.0);
        (1.0 - to_the_quarter).clamp(-THINNER, FULLER)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_count_from_their_last_strike() {
        let mut hand = RightHand::default();
        assert_eq!(hand.struck_after(None), 0);
        hand.strike(0, 0, 10);
        hand.strike(127, 5, 10);
        hand.strike(60, 20, 10);
        assert_eq!(hand.struck_after(None), 1 | 1 << 127 | 1 << 60);
        assert_eq!(hand.struck_after(Some(0)), 1 << 127 | 1 << 60);
        assert_eq!(hand.struck_after(Some(5)), 1 << 60);
        assert_eq!(hand.struck_after(Some(20)), 0);
        hand.strike(0, 30, 10);
        assert_eq!(hand.struck_after(Some(20)), 1);
    }

    /// Quarters leave the rhythm as it is; eighths thin it as far as can be.
    #[test]
    fn room_follows_the_strokes_of_the_time_before() {
        let every = |samples: u64, until: u64| {
            let mut hand = RightHand::default();
            let mut at = 0;
            while at < until {
                hand.strike(60, at, 10);
                // Another finger of the same stroke.
                hand.strike(64, at + 5, 10);
                at += samples;
            }
            hand
        };
        // Eight quarters of a hundred samples.
        let room = |hand: &RightHand, now| hand.room(now, 800, 8.0);
        let near = |found: f64, expected: f64| (found - expected).abs() < 1.0e-9;
        assert!(near(room(&RightHand::default(), 800), 0.0));
        assert!(near(room(&every(100, 800), 800), 0.0));
        assert!(near(room(&every(50, 800), 800), -1.0));
        assert!(near(room(&every(25, 800), 800), -1.0));
        assert!(near(room(&every(400, 800), 800), 0.5));
        // It has been silent for a bar, and then for two.
        assert!(near(room(&every(50, 800), 1200), 0.0));
        assert!(near(room(&every(50, 800), 1600), 0.5));
        // What is struck at the sample itself does not count.
        let mut late = every(100, 800);
        late.strike(60, 800, 10);
        assert!(near(room(&late, 800), 0.0));
        // More than can be kept.
        assert!(near(room(&every(20, 8000), 8000), -1.0));
    }
}
