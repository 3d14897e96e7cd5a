//! Chords under a melody: four-way close, drop 2 and double lead. A block chord has the melody on
//! top and says which rule chose its notes. [`step`] finds it for a note that is played now, and
//! [`plan`] finds the cheapest path under a whole melody. The audio thread runs `step`: it is
//! bounded, and nothing in it allocates. Imports `pipeline`, `melody`, the grid of `reharm`
//! and what is above them.

mod block;
mod cost;
mod fill;
mod lay;
mod line;
mod offers;
mod passing;
mod path;
mod rule;
mod step;
mod style;
mod weights;

pub use block::Block;
pub use cost::between;
pub use line::Line;
pub use offers::{Harmony, Offer, offers};
pub use passing::{approach, diminished};
pub use path::{Candidate, TimedBlock, candidates, cheapest, plan, price};
pub use rule::{Dominant, Low, Replacement, Rule, Side, Why};
pub use step::{Struck, step};
pub use style::{Style, Taste};
pub use weights::Weights;
