//! The left hand: which root is held, and which extra keys override its quality. Used on the audio
//! thread; imports the theory only.
//!
//! Keys that go down together, within [`TOGETHER_SECONDS`] of the first, are one gesture: the lowest
//! is the root, and the others override its quality. A key that goes down later is a new root, so that
//! a line played legato is never taken for overrides. Lifting the root ends the gesture; lifting an
//! extra key does not.

use guidehand_theory::root_note::Extras;
use tinyvec::ArrayVec;

/// Keys within this time of the first belong together (common practice, no
/// published source).
pub const TOGETHER_SECONDS: f64 = 0.08;

/// A key that is held.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct HeldKey {
    /// The MIDI channel, 0 to 15.
    pub channel: u8,
    /// The MIDI note, 0 to 127.
    pub key: u8,
    /// How hard it was struck, 0 to 1.
    pub velocity: f32,
}

/// The keys of one gesture.
#[derive(Clone, Copy, Debug, Default)]
pub struct Hand {
    /// In any order: the lowest is the root.
    keys: ArrayVec<[HeldKey; 8]>,
    /// When the first key went down, in samples since the last reset.
    began_samples: u64,
}

impl Hand {
    /// A key goes down; true if it begins a new gesture.
    pub fn press(&mut self, key: HeldKey, now_samples: u64, together_samples: u64) -> bool {
        let begins = self.keys.is_empty()
            || now_samples.saturating_sub(self.began_samples) > together_samples;
        if begins {
            self.keys.clear();
            self.began_samples = now_samples;
        }
        self.keys
            .retain(|k| (k.channel, k.key) != (key.channel, key.key));
        // A ninth key adds nothing to eight.
        let _full = self.keys.try_push(key);
        begins
    }

    /// A key goes up; true if it was the root and the gesture is over.
    pub fn release(&mut self, channel: u8, key: u8) -> bool {
        let ends = self
            .root()
            .is_some_and(|r| (r.channel, r.key) == (channel, key));
        if ends {
            self.keys.clear();
        } else if self.root().is_some_and(|r| r.key == key) {
            // The same key on another channel must not become the root later.
            self.keys.retain(|k| (k.channel, k.key) != (channel, key));
        }
        ends
    }

    /// Forgets all keys.
    pub fn clear(&mut self) {
        self.keys.clear();
    }

    /// The root: the lowest key.
    #[must_use]
    pub fn root(&self) -> Option<HeldKey> {
        self.keys.iter().copied().min_by_key(|k| k.key)
    }

    /// The keys of the gesture. An extra key stays in it after it goes up.
    pub fn keys(&self) -> impl Iterator<Item = HeldKey> {
        self.keys.iter().copied()
    }

    /// The other keys, as intervals above the root.
    #[must_use]
    pub fn extras(&self) -> Extras {
        let Some(root) = self.root() else {
            return Extras::NONE;
        };
        let above = self.keys.iter().map(|k| (k.key - root.key) % 12);
        above
            .filter(|interval| *interval != 0)
            .fold(Extras::NONE, Extras::with)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(key: u8) -> HeldKey {
        HeldKey {
            channel: 0,
            key,
            velocity: 0.5,
        }
    }

    #[test]
    fn keys_together_are_one_gesture() {
        let mut hand = Hand::default();
        assert!(hand.press(key(53), 0, 100));
        assert!(!hand.press(key(50), 100, 100));
        assert_eq!(hand.root().map(|k| k.key), Some(50));
        assert_eq!(hand.extras(), Extras::NONE.with(3));
        assert!(!hand.release(0, 53));
        assert_eq!(hand.extras(), Extras::NONE.with(3));
        assert!(hand.release(0, 50));
        assert_eq!(hand.root(), None);
    }

    #[test]
    fn a_legato_line_is_a_line_of_roots() {
        let mut hand = Hand::default();
        hand.press(key(50), 0, 100);
        assert!(hand.press(key(55), 101, 100));
        assert_eq!(hand.root().map(|k| k.key), Some(55));
        assert_eq!(hand.extras(), Extras::NONE);
        assert!(!hand.release(0, 50));
        assert!(hand.release(0, 55));
    }
}
