//! Guidehand: rootless jazz voicings from roots and chord symbols, as a CLAP and
//! VST3 plugin. This file names the rooms and exports the plugin; `host::plugin` is
//! where a block comes in.

#![cfg_attr(
    not(test),
    deny(
        clippy::indexing_slicing,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic
    )
)]

mod bridge;
mod disk;
mod document;
mod editor;
mod engine;
mod guard;
mod host;
mod params;
mod worker;

/// For the benchmarks of the panel.
#[cfg(feature = "frame_bench")]
#[doc(hidden)]
pub use editor::{Frames, Keystroke, Typing};
pub use host::entry::clap::CLAP_ENTRY;
pub use host::plugin::Guidehand;
#[cfg(feature = "standalone")]
pub use host::program::run as run_program;

/// The entry of the VST3 build; the framework's lies behind it.
pub use host::entry::vst3;
