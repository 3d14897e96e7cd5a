//! The chart as a saved field, as the framework wants one. The host's main thread calls it; the
//! audio thread never does. Imports `bridge`; only `params` imports it.

use crate::bridge::chart::{ChartCell, SavedChart};
use nice_plug::params::persist::PersistentField;

impl<'a> PersistentField<'a, SavedChart> for ChartCell {
    /// Takes over a saved chart, and plans it before it returns.
    fn set(&self, new_value: SavedChart) {
        self.load(new_value);
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&SavedChart) -> R,
    {
        f(&self.saved())
    }
}
