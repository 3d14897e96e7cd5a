//! What the panel says: snapshot and settings as words. Pure functions without the
//! toolkit; the panel's thread. Every region imports it.

pub mod bass;
pub mod families;
pub mod forms;
mod hint;
mod keys;
mod letters;
pub mod melody;
pub mod moves;
mod notes;
mod now;
pub mod own;
mod place;
pub mod practice;
pub mod record;
mod requests;
pub mod scales;
pub mod signs;
#[cfg(test)]
mod tests;
pub mod ways;

pub use hint::{UNHEARD, hint};
pub use keys::{is_black, keyboard, keyboard_alone};
pub use letters::{Letters, letters};
pub use notes::{MarkedNote, NoteKind, marks, on_show};
pub use now::{Now, now};
pub use place::{extent, place};
pub use signs::{key_name, note_name, symbol, with_signs, words};
