//! What the entry of a format shares with the plugin behind it. The framework makes plugins by `Default`
//! and hands nothing to them, so it is laid ready on the main thread while one is made. Imports
//! `standstill` and the bridge.

use crate::bridge::wake::Wake;
use crate::host::standstill::Standstill;
use std::cell::RefCell;

/// What an entry and an instance of the plugin share.
#[derive(Clone, Debug, Default)]
pub struct Shared {
    /// Whether time stands still in the call under way.
    pub standstill: Standstill,
    /// Asks the host to process.
    pub wake: Wake,
}

thread_local! {
    /// For the plugin that is being made.
    static NEXT: RefCell<Option<Shared>> = const { RefCell::new(None) };
}

impl Shared {
    /// Makes a plugin that shares this.
    pub fn with<T>(&self, make: impl FnOnce() -> T) -> T {
        NEXT.set(Some(self.clone()));
        let made = make();
        NEXT.take();
        made
    }

    /// What the plugin that is being made shares with its entry, if it has one.
    pub fn of_new_plugin() -> Self {
        NEXT.take().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plugin_shares_that_of_its_entry_and_no_other() {
        let ours = Shared::default();
        let plugin = ours.with(Shared::of_new_plugin).standstill;
        let another = Shared::of_new_plugin().standstill;
        assert!(!plugin.is_still());
        ours.standstill.during(|| {
            assert!(plugin.is_still());
            assert!(!another.is_still());
        });
        assert!(!plugin.is_still());
    }

    #[test]
    fn what_no_plugin_took_is_not_kept_for_the_next() {
        let ours = Shared::default();
        ours.with(|| {});
        let plugin = Shared::of_new_plugin().standstill;
        ours.standstill.during(|| assert!(!plugin.is_still()));
    }
}
