//! MusicXML 4.0: writes scores and reads charts.
//!
//! For writing, from the bottom up: `value` holds the note values, `rhythm` lays a bar's events on
//! a grid of beats and tuplets, `staff` cuts notes at bar lines and other notes, `spelling` names
//! them, `part` holds staves, `measure` and `note` write bars and their contents, and `write`
//! writes the whole score. `xml` holds the XML elements.
//!
//! For reading: `tree` reads elements within bounds, `harmony` turns them into chords, `signs` into
//! jumps, `read` into bars, and `form` into repeats.

mod form;
mod harmony;
mod measure;
mod note;
mod part;
pub(crate) mod read;
mod rhythm;
mod signs;
mod spelling;
mod staff;
mod tree;
mod value;
mod write;
mod xml;

pub use write::{Form, Page, Staves, write};
