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

use nice_plug::prelude::nice_export_vst3;

nice_export_vst3!(Guidehand);
