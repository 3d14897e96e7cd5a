//! The ways into the plugin, before those of the framework. A host may leave out audio channels and
//! send events that cannot be, and the framework ends the process on some of them. The entries hand on
//! what is in order, and mend the rest. Only `lib` imports them.
//!
//! This is about what a host hands over; `guard`, at the top of the crate, catches our own panics.

pub mod clap;
mod scratch;
pub mod vst3;
