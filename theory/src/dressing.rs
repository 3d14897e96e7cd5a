//! Ways to dress one chord in its place, from the voicing that sounds: what each one is called,
//! which fingers move, what it writes, and how usual it is where the chord goes. Whole charts are
//! dressed in `reharm`. Everything here may allocate, so it is for the threads that show and
//! print. Imports `pipeline` and what is above it.
//!
//! ```
//! use guidehand_theory::dressing::{Around, Place, dressings};
//! use guidehand_theory::{pipeline::Taste, symbol, voicing::Form};
//!
//! let chord = |text| symbol::parse(text).unwrap();
//! let around = Around {
//!     after: Some(chord("Cmaj7")),
//!     ..Around::default()
//! };
//! let place = Place::among(chord("G7"), &around, Some(Form::A), &Taste::default()).unwrap();
//! let all = dressings(&place);
//! let second = &all[1];
//! assert_eq!(second.name.to_string(), "b9 13");
//! let [finger] = second.steps[0].fingers[..] else {
//!     panic!("one finger moves")
//! };
//! assert_eq!((finger.voice, finger.half_steps()), (2, Some(-1)));
//! ```

mod judge;
mod lay;
mod lines;
mod moves;
mod name;
mod offer;
mod place;
mod reason;
mod step;
mod stock;
mod table;
mod tones;

pub use moves::{Finger, fingers};
pub use name::Name;
pub use offer::dressings;
pub use place::{Around, Place};
pub use reason::{Fit, Reason};
pub use step::{Dressing, Step, Taken};
pub use stock::{StockDressing, stock_dressings};
