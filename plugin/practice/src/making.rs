//! From an exercise to its drill. Takes long and allocates, so it is not for the audio thread. Its folder
//! imports `cell`, `choice`, `drill`, `exercise`, `picker`, `progression`, `record`, `told` and the theory.

mod basis;
mod chart;
mod lay;
mod list;
mod origin;

pub use basis::{Made, Making};
pub use chart::ChartToAsk;

#[cfg(test)]
mod tests;
