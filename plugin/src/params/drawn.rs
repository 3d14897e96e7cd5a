//! The drawn pattern as a saved field. The host's main thread and the panel write it, the audio
//! thread reads it with the parameters. Imports `bridge` and `rhythm`; only `params` imports it.

use crate::bridge::moves::Counter;
use crate::engine::rhythm::{Drawn, DrawnCell};
use nice_plug::params::persist::PersistentField;

/// The drawn pattern as a saved field.
#[derive(Debug, Default)]
pub struct DrawnPattern {
    cell: DrawnCell,
    moves: Counter,
}

impl DrawnPattern {
    /// An empty pattern whose edits are counted.
    pub fn new(moves: Counter) -> DrawnPattern {
        let cell = DrawnCell::default();
        DrawnPattern { cell, moves }
    }

    /// The pattern in force.
    #[must_use]
    pub fn get(&self) -> Drawn {
        self.cell.get()
    }

    /// Puts another pattern in force.
    pub fn put(&self, drawn: Drawn) {
        self.cell.put(drawn);
        self.moves.add();
    }
}

impl<'a> PersistentField<'a, String> for DrawnPattern {
    fn set(&self, new_value: String) {
        self.put(Drawn::from_text(&new_value));
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&String) -> R,
    {
        f(&self.get().to_text())
    }
}
