//! How often parameters have moved: an atomic count, from whoever moves one to the audio thread
//! and the panel. They read the parameters only when the count has changed. `ends` and `params`
//! import it.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

/// The counting half: the parameters, and the saved fields that the engine reads with them.
#[derive(Clone, Debug, Default)]
pub struct Counter(Arc<AtomicU32>);

/// The reading half: audio thread and panel.
#[derive(Clone, Debug)]
pub struct Reader(Arc<AtomicU32>);

/// Both halves.
#[must_use]
pub fn channel() -> (Counter, Reader) {
    let count = Arc::new(AtomicU32::new(0));
    (Counter(count.clone()), Reader(count))
}

impl Counter {
    /// Counts a move. The new value has to be in place before this call. Wait-free.
    pub fn add(&self) {
        self.0.fetch_add(1, Ordering::Release);
    }
}

impl Reader {
    /// The number of moves so far, which wraps. Wait-free.
    #[must_use]
    pub fn count(&self) -> u32 {
        self.0.load(Ordering::Acquire)
    }
}
