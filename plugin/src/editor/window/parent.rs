//! The host's window around the panel's, as the X server knows it: what the host says of its size
//! may not be so. On other systems nothing is known of it. The panel's thread; `size` and `drops`
//! import it.

use crate::editor::window::sizing::Pixels;
use nice_plug_egui::baseview::WindowContext;
use raw_window_handle::{HasWindowHandle, RawWindowHandle};
use x11rb::protocol::xproto::{ConnectionExt, MapState, Window};
use x11rb::rust_connection::RustConnection;

/// A connection to the server of the panel's window.
pub struct Parents {
    connection: RustConnection,
    window: Window,
}

/// The number of the panel's window on its server.
#[must_use]
pub fn number(window: &WindowContext) -> Option<Window> {
    match window.window_handle().ok()?.as_raw() {
        RawWindowHandle::Xlib(handle) => handle.window.try_into().ok(),
        RawWindowHandle::Xcb(handle) => Some(handle.window.get()),
        _ => None,
    }
}

impl Parents {
    /// Connects to the server; nothing if that fails.
    #[must_use]
    pub fn of(window: &WindowContext) -> Option<Parents> {
        let window = number(window)?;
        let (connection, _) = x11rb::connect(None).ok()?;
        Some(Parents { connection, window })
    }

    /// The size of the parent while it is on the screen.
    #[must_use]
    pub fn size(&self) -> Option<Pixels> {
        let parent = self.connection.query_tree(self.window).ok()?;
        let parent = parent.reply().ok()?.parent;
        let size = self.connection.get_geometry(parent).ok()?;
        let shown = self.connection.get_window_attributes(parent).ok()?;
        let (size, shown) = (size.reply().ok()?, shown.reply().ok()?);
        let pixels = [size.width.into(), size.height.into()];
        (shown.map_state == MapState::VIEWABLE).then_some(pixels)
    }
}
