//! What the framework calls, on the host's main thread and on its audio thread: the plugin itself, its
//! ports and its events. It decides nothing musical. Only `lib` imports it.

mod controls;
pub mod entry;
mod midi;
pub mod options;
pub mod plugin;
mod port;
#[cfg(feature = "standalone")]
pub mod program;
mod shared;
mod standstill;
