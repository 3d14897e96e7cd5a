//! The panel: `model` is edited, `view` says it in words, `panel` and `widgets` draw it, and `window`
//! is where the host meets it. `host` imports it.

#[cfg(test)]
mod bench;
#[cfg(feature = "frame_bench")]
mod frames;
mod model;
mod palette;
mod panel;
mod theme;
mod view;
mod widgets;
mod window;

#[cfg(feature = "frame_bench")]
pub use frames::{Frames, Keystroke, Typing};
pub(crate) use window::{PanelEditor, create};
