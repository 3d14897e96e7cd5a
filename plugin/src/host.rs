//! All that names the framework, on the host's main thread and in its audio calls. It decides nothing
//! musical. Only `lib` imports it.

mod controls;
mod midi;
pub mod plugin;
mod port;
