//! Ways to dress one chord in its place, from the voicing that sounds: what each one is called,
//! which fingers move, what it writes, and how usual it is where the chord goes. Whole charts are
//! dressed in `reharm`. Everything here may allocate, so it is for the threads that show and
//! print. Imports `pipeline` and what is above it.

mod judge;
mod lay;
mod lines;
mod moves;
mod name;
mod offer;
mod place;
mod reason;
mod step;
mod table;
mod tones;

pub use moves::{Finger, fingers};
pub use name::Name;
pub use offer::dressings;
pub use place::{Around, Place};
pub use reason::{Fit, Reason};
pub use step::{Dressing, Step, Taken};
