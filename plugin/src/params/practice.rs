//! Practice as a saved field, as the framework wants one. The host's main thread calls it; the audio
//! thread never does. Imports `bridge`; only `params` imports it.

use crate::bridge::practice::{PracticeCell, SavedPractice};
use nice_plug::params::persist::PersistentField;

impl<'a> PersistentField<'a, SavedPractice> for PracticeCell {
    fn set(&self, new_value: SavedPractice) {
        self.load(new_value);
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&SavedPractice) -> R,
    {
        f(&self.saved())
    }
}
