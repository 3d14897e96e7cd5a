//! Judges what a hand holds against a chord that was asked for, by degree, one slot at a time. `Copy`
//! and of bounded work, so that the audio thread can do it: nothing here allocates. Imports
//! `pipeline`, `pin` and what is above them.

mod answer;
mod finding;
mod motion;
mod pairing;
mod question;
mod standard;
mod tell;

pub use finding::{Finding, Judgement, MOST_FINDINGS, Told};
pub use motion::{Motion, least_motion, motion};
pub use question::{Accepts, Question};
pub use tell::judge;
