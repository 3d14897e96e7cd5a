//! Everything that names the framework: what the host calls on its main thread and on its audio
//! thread. Nothing musical is decided here. Only `lib` imports it.

mod controls;
mod midi;
pub mod plugin;
mod port;
