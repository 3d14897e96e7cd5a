//! The controls that the regions share. Each has a name and a value for screen
//! readers, a tooltip of one sentence, and goes back to its default on a double click.
//! They read what they show and tell what the player asks for. The panel's thread;
//! the regions import it.

mod at_the_right;
mod button;
mod cell;
mod checks;
mod choice;
mod chosen_row;
mod count;
mod focus;
pub mod gesture;
mod label;
pub mod letters;
mod level;
mod list;
pub mod mark;
mod number;
mod pick;
mod play;
pub mod sign;
pub mod steps;
mod toggle;
mod typed_text;

pub use at_the_right::at_the_right;
pub use button::{button, button_response};
pub use checks::{Checks, checks};
pub use choice::{Choices, choice, choices};
pub use chosen_row::chosen_row;
pub use count::{Count, count};
pub use focus::focus;
pub use label::{NAMES, name, remark, remark_width, row_name};
pub use level::level;
pub use list::list;
pub use number::{Number, number, percent};
pub use pick::{List, pick};
pub use play::play;
pub use toggle::{lamp, low_lamp, toggle};
pub use typed_text::typed_text;
