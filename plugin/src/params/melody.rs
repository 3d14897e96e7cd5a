//! The melody as versions without melodies in the document saved it: a text that the panel puts into
//! the document. The host's main thread and the panel use it; the audio thread never does. Imports `bridge`; `params`
//! and `editor` import it.

use crate::bridge::chart::LONGEST_TEXT;
use nice_plug::params::persist::PersistentField;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// That melody, shared by the host and the panel.
#[derive(Debug, Default)]
pub struct MelodyCell(Mutex<String>);

impl MelodyCell {
    fn lock(&self) -> MutexGuard<'_, String> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The text, if there is one.
    #[must_use]
    pub fn get(&self) -> Option<String> {
        let text = self.lock();
        (!text.is_empty()).then(|| text.clone())
    }

    /// The text is in the document now.
    pub fn forget(&self) {
        self.lock().clear();
    }
}

impl<'a> PersistentField<'a, String> for MelodyCell {
    /// Takes over a text. One that is too long changes nothing.
    fn set(&self, new_value: String) {
        if new_value.len() <= LONGEST_TEXT {
            *self.lock() = new_value;
        }
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&String) -> R,
    {
        f(&self.lock())
    }
}
