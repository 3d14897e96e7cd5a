//! Reads and writes charts: MIDI files, MusicXML, practice sheets. Reads and writes the player's own
//! voicings as JSON.
//!
//! Everything here is a pure function from values to bytes or text and back. Reading is bounded,
//! whatever the bytes say, and never panics.
//!
//! For writing, a [`score::Score`] goes to [`midi::write`] or [`musicxml::write`]. For reading,
//! [`import::import`] takes the bytes of any file that it knows, and returns a chart in our own
//! notation with a list of what it could not read. Both use the [`sheet::Sheet`]: a chart as a page
//! shows it.
//!
//! ```
//! use guidehand_exchange::{import, midi, score::Score};
//! use guidehand_theory::chart;
//!
//! let chart = chart::parse("| Dm7 | G7 | Cmaj7 | % |").unwrap();
//! let file = midi::write(&Score::of(chart, 120.0));
//! let back = import::import(&file).unwrap();
//! assert_eq!(back.text, "| Dm7 | G7 | Cmaj7 | % |");
//! ```

#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        clippy::unwrap_used
    )
)]

mod container;
pub mod fields;
mod found;
pub mod import;
pub mod kept;
mod line_choice;
mod melodies;
pub mod midi;
pub mod musicxml;
pub mod own_voicings;
pub mod pages;
pub mod played;
pub mod practice;
pub mod score;
pub mod sheet;
pub mod text;
