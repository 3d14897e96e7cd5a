//! The panel: `model` is edited, `view` says it in words, `panel` and `widgets` draw it,
//! and `window` is where the host meets it. What is drawn changes nothing: it tells
//! actions, and the model's `apply` carries them out. `host` imports it.

mod model;
mod palette;
mod panel;
mod theme;
mod view;
mod widgets;
mod window;

#[cfg(test)]
use window::bench;
#[cfg(feature = "frame_bench")]
pub use window::frames::{Frames, Keystroke, Typing};
#[cfg(test)]
pub(crate) use window::player;
pub(crate) use window::{PanelEditor, create};
