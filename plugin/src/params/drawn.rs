//! The drawn pattern as a saved field. The host's main thread and the panel write it, and whoever
//! reads the parameters reads it with them, the audio thread too. Imports `bridge` and `rhythm`; only `params` imports it.

use crate::bridge::drawn::{Reader, Writer};
use crate::bridge::moves::Counter;
use crate::engine::rhythm::Drawn;
use nice_plug::params::persist::PersistentField;

/// The drawn pattern as a saved field.
#[derive(Debug)]
pub struct DrawnPattern {
    writer: Writer,
    reader: Reader,
    moves: Counter,
}

impl DrawnPattern {
    /// A field that holds both ends of a pattern. Its edits are counted as moves.
    pub fn new((writer, reader): (Writer, Reader), moves: Counter) -> DrawnPattern {
        DrawnPattern {
            writer,
            reader,
            moves,
        }
    }

    /// The pattern in force.
    #[must_use]
    pub fn get(&self) -> Drawn {
        self.reader.get()
    }

    /// Puts another pattern in force.
    pub fn put(&self, drawn: Drawn) {
        self.writer.put(drawn);
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
