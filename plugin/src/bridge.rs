//! The crossings between threads, one file each. Each has one constructor, which returns both
//! ends. `ends` makes those of one instance, and a `job` is made when it is asked for. Any thread;
//! `worker`, `disk`, `params`, `editor` and `host` import it. It imports `guard`, the theory and
//! the engine's plain values, and knows nothing of those who call it.

pub mod audition;
pub mod bass;
pub mod chart;
pub mod drawn;
pub mod ending;
pub mod ends;
pub mod job;
pub mod meter;
pub mod moves;
pub mod practice;
pub mod snapshot;
pub mod take;
pub mod tempo;
pub mod transport;
pub mod wake;
