//! A call in which no time passes. Hosts hand events over that way, in blocks of no frames, and the
//! framework does not play such a block: it has to be given a frame. This tells the plugin that the
//! frame does not count. The entry of a format makes one for each instance on the main thread, and
//! both use it on the audio thread. Knows no format; imports nothing of the crate.

use std::cell::RefCell;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Whether time stands still in the call under way. Shared by an instance of the plugin and the
/// entry through which its host calls it.
#[derive(Clone, Debug, Default)]
pub struct Standstill(Arc<AtomicBool>);

thread_local! {
    /// The one for the plugin that is being made: the framework makes plugins by `Default`.
    static NEXT: RefCell<Option<Standstill>> = const { RefCell::new(None) };
}

impl Standstill {
    /// Makes a plugin that shares this one.
    pub fn shared_with<T>(&self, make: impl FnOnce() -> T) -> T {
        NEXT.set(Some(self.clone()));
        let made = make();
        NEXT.take();
        made
    }

    /// The one for the plugin that is being made: shared with its entry if it has one.
    pub fn of_new_plugin() -> Self {
        NEXT.take().unwrap_or_default()
    }

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plugin_shares_that_of_its_entry_and_no_other() {
        let ours = Standstill::default();
        let plugin = ours.shared_with(Standstill::of_new_plugin);
        let another = Standstill::of_new_plugin();
        assert!(!plugin.is_still());
        ours.during(|| {
            assert!(plugin.is_still());
            assert!(!another.is_still());
        });
        assert!(!plugin.is_still());
    }

    #[test]
    fn what_no_plugin_took_is_not_kept_for_the_next() {
        let ours = Standstill::default();
        ours.shared_with(|| {});
        let plugin = Standstill::of_new_plugin();
        ours.during(|| assert!(!plugin.is_still()));
    }
}
