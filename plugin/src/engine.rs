//! The audio thread: what comes in, what sounds, and when. Nothing in here allocates or waits, and
//! nothing knows the framework, the panel or the threads around it.

mod audition;
pub mod bass_input;
pub mod block;
mod block_chords;
pub mod clock;
pub mod comping;
mod elapsed;
pub mod events;
pub mod hand;
mod held_keys;
mod intent;
mod ledger;
pub mod listener;
mod loops;
mod notes;
pub mod own_transport;
mod parts;
pub mod performer;
mod pieces;
pub mod planned;
pub mod practising;
mod recording;
pub mod rhythm;
mod right_hand;
mod running;
pub mod settings;
mod show;
pub mod snapshot;
pub mod sources;
pub mod taken;
mod ticks;
pub mod timekeeper;
pub mod timeline;
pub mod tone;
pub mod trial;
