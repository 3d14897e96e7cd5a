//! MusicXML 4.0: scores out, charts in. `import` and the crate's users import this.
//!
//! Out, from the bottom up: `value` holds the note values. `rhythm` lays the events of a bar on
//! a grid of beats and tuplets. `staff` cuts notes into what a bar shows, and `spelling` names
//! them. `part` holds staves. `note` and `measure` write the notes of a bar and the bar itself,
//! with what `engraver` holds. `passes` says whether repeats can stand, and `swing` makes eighths
//! even. `write` writes the whole page. `xml` writes their elements. `kept` holds what was picked for
//! the chords, out and in.
//!
//! In: `tree` reads elements within bounds and `document` finds the parts and their measures among
//! them. `choice` chooses the part, and `transposition` says how it sounds. `harmony` reads chords,
//! `signs` jumps, `said` the texts of other elements, and `reader` bars. `lines` finds the
//! staves that can be the melody, `line` reads the notes of one of them, and `melody` plays them over
//! the chart. `form` unfolds repeats, and `read` joins these.

mod choice;
mod document;
mod engraver;
mod form;
mod harmony;
mod kept;
mod line;
mod lines;
mod measure;
mod melody;
mod note;
mod part;
mod passes;
pub(crate) mod read;
mod reader;
mod rhythm;
mod said;
mod signs;
mod spelling;
mod staff;
mod swing;
mod transposition;
mod tree;
mod value;
mod write;
mod xml;

pub use write::{Form, Page, Staves, Words, sheet, write};
