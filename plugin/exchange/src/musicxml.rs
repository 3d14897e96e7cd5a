//! MusicXML 4.0: scores out, charts in.
//!
//! Out, from the bottom up: `value` holds the note values, `rhythm` lays a bar's
//! events on a grid of beats and tuplets, `staff` cuts notes into what a bar shows,
//! `spelling` names them, `part` holds staves, `note` and `measure` write what is in
//! a bar and the bar itself with what `engraver` holds, `write` the whole; `xml` are
//! their elements.
//!
//! In: `tree` reads elements within bounds, `harmony` makes chords of them, `signs`
//! jumps, `read` bars, and `form` repeats.

mod engraver;
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
