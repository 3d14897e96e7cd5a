//! The crossings between threads, one file each; each has one constructor that returns both ends.

pub mod chart;
pub mod snapshot;
