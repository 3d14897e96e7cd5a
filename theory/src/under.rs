//! Chords under a melody: four-way close, drop 2 and double lead. A block chord has the melody on
//! top and says which rule chose its notes. [`step`] finds it for a note that is played now, and
//! [`plan`] finds the cheapest path under a whole melody. The audio thread runs `step`: it is
//! bounded, and nothing in it allocates. Imports `pipeline`, `melody`, the grid of `reharm` and
//! what is above them.
//!
//! A chord has four slots, as a rootless voicing has, and the melody takes one of them: that of the
//! root or ninth, of the third, of the fifth, eleventh or thirteenth, or of the seventh or sixth.
//! What the other slots hold depends on the chord and on its choice of tensions. No voice lies a
//! half step below the melody in any octave, so that no minor ninth arises in any style, and the
//! low interval limits of [`Voicing`](crate::voicing::Voicing) hold. A melody note that the chord
//! cannot bear takes a diminished seventh chord, or the chord of the next note a half step off.

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
