//! A call in which no time passes. Hosts hand events over that way, in blocks of no frames, and the
//! framework does not play such a block: it has to be given a frame. This tells the plugin that the
//! frame does not count. The entry and the plugin share one (`shared`), and use it on the audio
//! thread. Knows no format; imports nothing of the crate.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Whether time stands still in the call under way. Shared by an instance of the plugin and the
/// entry through which its host calls it.
#[derive(Clone, Debug, Default)]
pub struct Standstill(Arc<AtomicBool>);

impl Standstill {
    /// Makes a call in which no time passes.
    pub fn during<T>(&self, call: impl FnOnce() -> T) -> T {
        self.0.store(true, Ordering::Relaxed);
        let result = call();
        self.0.store(false, Ordering::Relaxed);
        result
    }

    /// Whether no time passes in the call under way.
    pub fn is_still(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}
