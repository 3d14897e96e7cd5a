//! Other harmonies for the chart: what is asked about, what is tried, and the melody
//! that they must bear; and what becomes of it when the player acts. The panel's
//! thread; `apply` and the region import it.
//!
//! `place` finds the chords, `offers` puts proposals into words, `dressing` dresses
//! bars, and `melody` sees the document's melody chord by chord; `state` joins them.

mod action;
mod apply;
mod dressing;
pub mod melody;
pub mod offers;
pub mod place;
mod state;

pub use action::HarmoniesAction;
pub use state::{Harmonies, Tried};
