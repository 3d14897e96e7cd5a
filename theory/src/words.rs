//! Everything that the theory says, in English: the names of keys, functions and
//! substitutions, and every reason. All sentences are written here and nowhere else,
//! so that a translation touches one folder. Any thread may run it, but text
//! allocates where it is collected. Imports everything above it; nothing of the
//! theory imports it.

mod chart;
mod harmony;
mod out;
mod reading;
mod reharm;
mod scale;
mod symbol;
mod tension;
mod voicing;

pub use out::{InWords, Out, Words};
