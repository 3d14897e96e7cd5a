//! Whether the program that needs no host plays: an atomic count of the switch's turns, from the panel
//! to the audio thread. Only `ends` imports it.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

/// The switching half: panel. An even count of turns plays, an odd one stands still.
#[derive(Debug)]
pub struct Switch(Arc<AtomicU32>);

/// The reading half: audio thread.
#[derive(Debug)]
pub struct Reader(Arc<AtomicU32>);

/// Both halves. It plays from the beginning.
#[must_use]
pub fn channel() -> (Switch, Reader) {
    let turns = Arc::new(AtomicU32::new(0));
    (Switch(turns.clone()), Reader(turns))
}

/// The number of the start in force after so many turns; none if it stands still.
const fn start(turns: u32) -> Option<u32> {
    if turns.is_multiple_of(2) {
        Some(turns / 2)
    } else {
        None
    }
}

impl Switch {
    /// Whether it plays.
    #[must_use]
    pub fn plays(&self) -> bool {
        start(self.0.load(Ordering::Relaxed)).is_some()
    }

    /// Plays from the beginning, or stops. Nobody else may turn the switch meanwhile.
    pub fn play(&self, plays: bool) {
        if plays != self.plays() {
            self.0.fetch_add(1, Ordering::Relaxed);
        }
    }
}

impl Reader {
    /// The number of the start in force; none while it stands still. Wait-free.
    #[must_use]
    pub fn start(&self) -> Option<u32> {
        start(self.0.load(Ordering::Relaxed))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_start_has_a_number_of_its_own() {
        let (switch, reader) = channel();
        assert_eq!((switch.plays(), reader.start()), (true, Some(0)));
        switch.play(true);
        assert_eq!(reader.start(), Some(0), "it plays already");
        switch.play(false);
        assert_eq!((switch.plays(), reader.start()), (false, None));
        switch.play(true);
        assert_eq!(reader.start(), Some(1));
    }
}
