//! The audio thread: what comes in, what sounds, and when. Nothing in here allocates, waits or knows
//! the framework, the panel or the threads around it.

pub mod clock;
pub mod comping;
pub mod ear;
pub mod hand;
pub mod ledger;
pub mod listener;
pub mod performer;
pub mod planned;
pub mod rhythm;
pub mod settings;
pub mod snapshot;
pub mod timeline;
pub mod tone;
