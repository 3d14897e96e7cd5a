//! The end of the program that needs no host: atomic flags. Whoever ends it asks, the panel closes its
//! window, and the audio thread ends what sounds and says when that is done. Only `ends` imports it.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The asking half: whoever ends the program, and the panel.
#[derive(Clone, Debug)]
pub struct End {
    asked: Arc<AtomicBool>,
    silent: Arc<AtomicBool>,
}

/// The answering half: audio thread.
#[derive(Debug)]
pub struct Answer {
    end: End,
    /// The block before this one has ended the last note.
    delivered: bool,
}

/// Both halves.
#[must_use]
pub fn channel() -> (End, Answer) {
    let end = End {
        asked: Arc::default(),
        silent: Arc::default(),
    };
    let answer = Answer {
        end: end.clone(),
        delivered: false,
    };
    (end, answer)
}

impl End {
    /// Asks for the end.
    pub fn ask(&self) {
        self.asked.store(true, Ordering::Release);
    }

    /// Whether the program is to end.
    #[must_use]
    pub fn is_asked(&self) -> bool {
        self.asked.load(Ordering::Acquire)
    }

    /// The flag that [`End::ask`] sets, for signals.
    #[cfg(feature = "standalone")]
    #[must_use]
    pub fn flag(&self) -> Arc<AtomicBool> {
        self.asked.clone()
    }

    /// Whether everything that sounded has ended, and the events that say so have been delivered.
    #[must_use]
    pub fn is_silent(&self) -> bool {
        self.silent.load(Ordering::Acquire)
    }
}

impl Answer {
    /// Whether the program is to end. Wait-free.
    #[must_use]
    pub fn is_asked(&self) -> bool {
        self.end.is_asked()
    }

    /// Tells whether everything has ended by the end of this block. The events of a block have been
    /// delivered once the next one begins, so the other half hears of it one block later. Wait-free.
    pub fn tell(&mut self, all_ended: bool) {
        if self.delivered && all_ended {
            self.end.silent.store(true, Ordering::Release);
        }
        self.delivered = all_ended;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn silence_is_told_a_block_after_the_last_event() {
        let (end, mut answer) = channel();
        assert!(!answer.is_asked());
        end.ask();
        assert!(answer.is_asked());
        for (all_ended, silent) in [(false, false), (true, false), (true, true)] {
            answer.tell(all_ended);
            assert_eq!(end.is_silent(), silent);
        }
    }

    #[cfg(feature = "standalone")]
    #[test]
    fn a_signal_asks_by_its_flag() {
        let (end, answer) = channel();
        end.flag().store(true, Ordering::SeqCst);
        assert!(answer.is_asked());
    }
}
