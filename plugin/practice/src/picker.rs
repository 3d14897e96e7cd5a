//! Which item comes next: a function of the list, the seed and the answers so far. The audio thread
//! asks it, so nothing allocates after it is made. Imports nothing of the crate.

/// How well an item is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Standing {
    /// So many right answers in a row are wanted before the item is done for this session.
    pub wanted: u8,
}

/// Which item comes next.
#[derive(Clone, Debug, Default)]
pub struct Picker {
    standings: Vec<Standing>,
    at: usize,
}

impl Picker {
    /// A picker over items with these standings. If `in_order`, each comes in its place, round after
    /// round, and none is ever done.
    #[must_use]
    pub fn new(standings: Vec<Standing>, in_order: bool, seed: u64) -> Picker {
        let _ = (in_order, seed);
        Picker { standings, at: 0 }
    }

    /// The item to ask now; none when all are done.
    #[must_use]
    pub fn current(&self) -> Option<usize> {
        (self.at < self.standings.len()).then_some(self.at)
    }

    /// The current item was answered, rightly at first try or not; returns the next one.
    pub fn answered(&mut self, right_first: bool) -> Option<usize> {
        let _ = right_first;
        self.at += 1;
        self.current()
    }

    /// How many items are done.
    #[must_use]
    pub fn done(&self) -> usize {
        self.at.min(self.standings.len())
    }
}
