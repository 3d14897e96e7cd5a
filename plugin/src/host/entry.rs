//! The ways into the plugin, before those of the framework. A host may leave out audio channels and
//! send events that cannot be, and the framework ends the process on some of them. The entry hands on
//! what is in order as it is, and mends the rest. Only `lib` imports it.
//!
//! This is about what a host hands over; `guard`, at the top of the crate, catches our own panics.

pub mod clap;
mod scratch;
