//! Bytes from anywhere: one function for each way in, which panics at the first
//! promise that is broken. The fuzz targets of `tests/fuzz` call them with what
//! they make up, and the tests with the corpus that is kept. Imports the theory,
//! its files, and the host.

mod events;
mod files;
mod saved;
mod words;

pub use events::events;
pub use files::{midi_file, musicxml};
pub use saved::state;
pub use words::{chart, symbol};

use crate::library::Library;

/// A way in for bytes.
#[derive(Clone, Copy)]
pub struct WayIn {
    /// The fuzz target, and the folder of its corpus.
    pub name: &'static str,
    /// Takes any bytes.
    pub takes: Takes,
}

/// What a way in needs beside the bytes.
#[derive(Clone, Copy)]
pub enum Takes {
    /// Nothing.
    Bytes(fn(&[u8])),
    /// The plugin.
    Plugin(fn(&Library, &[u8])),
}

/// Every way in.
pub const WAYS_IN: [WayIn; 6] = [
    WayIn {
        name: "symbol",
        takes: Takes::Bytes(symbol),
    },
    WayIn {
        name: "chart",
        takes: Takes::Bytes(chart),
    },
    WayIn {
        name: "midi_file",
        takes: Takes::Bytes(midi_file),
    },
    WayIn {
        name: "musicxml",
        takes: Takes::Bytes(musicxml),
    },
    WayIn {
        name: "state",
        takes: Takes::Plugin(state),
    },
    WayIn {
        name: "events",
        takes: Takes::Plugin(events),
    },
];
