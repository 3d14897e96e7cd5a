//! The plugin's editor in an X11 window of this host, as in a host with a screen. Imports the host
//! and sessions. The pointer and the keyboard, and the pictures, have files of their own, which
//! import this one. Linux only; the display comes from the environment, see [`Screen`].
//!
//! [`Screen`]: crate::screen::Screen

mod input;
mod keyboard;
mod picture;

pub use picture::Picture;

use crate::error::{HostError, WindowError};
use crate::host::Host;
use crate::session::Player;
use clack_extensions::gui::{
    GuiApiType, GuiConfiguration, GuiSize, PluginGui, Window as ParentWindow,
};
use clack_host::prelude::PluginMainThreadHandle;
use keyboard::KeyStroke;
use std::thread;
use std::time::{Duration, Instant};
use x11rb::COPY_DEPTH_FROM_PARENT;
use x11rb::connection::Connection;
use x11rb::protocol::Event;
use x11rb::protocol::damage::{ConnectionExt as _, ReportLevel};
use x11rb::protocol::xproto::{
    AtomEnum, ConfigureWindowAux, ConnectionExt as _, CreateWindowAux, PropMode, WindowClass,
};
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;

/// The time between two checks of the plugin's requests while nothing plays.
const PUMP: Duration = Duration::from_millis(5);

/// The time after the end of an editor before anything else happens.
const AFTER_CLOSING: Duration = Duration::from_millis(300);

/// An open editor. It must be closed before its host is dropped.
pub struct Window {
    connection: RustConnection,
    root: u32,
    parent: u32,
    /// Its place on the screen, in pixels.
    place: (i16, i16),
    size: GuiSize,
    keys: Vec<KeyStroke>,
    /// How often the editor was drawn since [`Window::watch`].
    drawings: usize,
}

impl Window {
    /// Opens the editor at its own size. The host waits for `wait` before it shows the editor in
    /// its window, and again before it shows the window.
    ///
    /// # Errors
    /// If there is no display, or the plugin has no editor or refuses to open it.
    pub fn open(host: &mut Host, wait: Duration) -> Result<Self, WindowError> {
        Self::open_at(host, wait, (0, 0))
    }

    /// Opens the editor at a place of the screen, in pixels; see [`Window::open`].
    ///
    /// # Errors
    /// As [`Window::open`].
    pub fn open_at(
        host: &mut Host,
        wait: Duration,
        place: (i16, i16),
    ) -> Result<Self, WindowError> {
        let (connection, screen) = x11rb::connect(None)?;
        let root = connection.setup().roots[screen].root;
        let plugin = host.instance.plugin_handle();
        let gui = gui_of(&plugin)?;
        let configuration = GuiConfiguration {
            api_type: GuiApiType::X11,
            is_floating: false,
        };
        gui.create(&plugin, configuration)?;
        let size = gui
            .get_size(&plugin)
            .ok_or(HostError::Refused("tell its editor's size"))?;
        let mut window = Self {
            parent: connection.generate_id()?,
            keys: KeyStroke::all(&connection)?,
            connection,
            root,
            place,
            size,
            drawings: 0,
        };
        window.make_parent()?;
        // SAFETY: the window lives until the connection is dropped, after `close`.
        unsafe { gui.set_parent(&plugin, ParentWindow::from_x11_handle(window.parent.into()))? };
        window.wait(host, wait)?;
        window.show(host)?;
        window.wait(host, wait)?;
        window.connection.map_window(window.parent)?;
        window.connection.sync()?;
        Ok(window)
    }

    /// Shows the editor in its window. It is already shown when it has been opened.
    ///
    /// # Errors
    /// If the plugin refuses.
    pub fn show(&mut self, host: &mut Host) -> Result<(), WindowError> {
        let plugin = host.instance.plugin_handle();
        Ok(gui_of(&plugin)?.show(&plugin)?)
    }

    /// Hides the editor; the window itself stays.
    ///
    /// # Errors
    /// If the plugin refuses.
    pub fn hide(&mut self, host: &mut Host) -> Result<(), WindowError> {
        let plugin = host.instance.plugin_handle();
        Ok(gui_of(&plugin)?.hide(&plugin)?)
    }

    fn make_parent(&mut self) -> Result<(), WindowError> {
        let (width, height) = (self.size.width.try_into()?, self.size.height.try_into()?);
        let connection = &self.connection;
        connection.create_window(
            COPY_DEPTH_FROM_PARENT,
            self.parent,
            self.root,
            self.place.0,
            self.place.1,
            width,
            height,
            0,
            WindowClass::INPUT_OUTPUT,
            0,
            &CreateWindowAux::new().background_pixel(0x00ff_00ff),
        )?;
        let (name, kind) = (AtomEnum::WM_NAME, AtomEnum::STRING);
        connection.change_property8(PropMode::REPLACE, self.parent, name, kind, b"Guidehand")?;
        connection.sync()?;
        Ok(())
    }

    /// The editor's size, in pixels.
    #[must_use]
    pub const fn size(&self) -> (u32, u32) {
        (self.size.width, self.size.height)
    }

    /// Gives the editor another size, as a host does when its window is dragged.
    ///
    /// # Errors
    /// If the plugin refuses.
    pub fn resize(&mut self, host: &mut Host, width: u32, height: u32) -> Result<(), WindowError> {
        let plugin = host.instance.plugin_handle();
        let gui = gui_of(&plugin)?;
        let wanted = GuiSize { width, height };
        let size = gui.adjust_size(&plugin, wanted).unwrap_or(wanted);
        self.take_size(size)?;
        gui.set_size(&plugin, size)?;
        Ok(())
    }

    /// Gives the window around the editor its size.
    fn take_size(&mut self, size: GuiSize) -> Result<(), WindowError> {
        let aux = ConfigureWindowAux::new()
            .width(size.width)
            .height(size.height);
        self.connection.configure_window(self.parent, &aux)?;
        self.connection.sync()?;
        self.size = size;
        Ok(())
    }

    /// Does what a host does between blocks, for a while.
    ///
    /// # Errors
    /// As [`Host::idle`].
    pub fn wait(&mut self, host: &mut Host, time: Duration) -> Result<(), WindowError> {
        let end = Instant::now() + time;
        loop {
            host.idle()?;
            if let Some(size) = host.signals.take_size() {
                self.take_size(size)?;
            }
            while let Some(event) = self.connection.poll_for_event()? {
                self.drawings += usize::from(matches!(event, Event::DamageNotify(_)));
            }
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return Ok(());
            }
            thread::sleep(left.min(PUMP));
        }
    }

    /// Counts from now on how often the editor is drawn.
    ///
    /// # Errors
    /// If the display cannot count, or there is no editor in the window.
    pub fn watch(&mut self) -> Result<(), WindowError> {
        self.connection.damage_query_version(1, 1)?.reply()?;
        let tree = self.connection.query_tree(self.parent)?.reply()?;
        let editor = *tree.children.first().ok_or("no editor in the window")?;
        let damage = self.connection.generate_id()?;
        let every = ReportLevel::RAW_RECTANGLES;
        self.connection.damage_create(damage, editor, every)?;
        self.connection.sync()?;
        Ok(())
    }

    /// How often the editor was drawn since [`Window::watch`]. One frame is at least one drawing.
    #[must_use]
    pub const fn drawings(&self) -> usize {
        self.drawings
    }

    /// How many rounds of a host, a millisecond or more each, go by until the editor is
    /// drawn on again; nothing after `most` of them. On a busy machine rounds take
    /// longer, too.
    ///
    /// # Errors
    /// As [`Host::idle`].
    pub fn rounds_to_a_drawing(
        &mut self,
        host: &mut Host,
        most: u32,
    ) -> Result<Option<u32>, WindowError> {
        let before = self.drawings;
        for round in 1..=most {
            self.wait(host, Duration::from_millis(1))?;
            if self.drawings > before {
                return Ok(Some(round));
            }
        }
        Ok(None)
    }

    /// Plays a session up to a sample, at its own speed.
    ///
    /// # Errors
    /// As [`Player::run_until`].
    pub fn play(
        &mut self,
        player: &mut Player,
        until_samples: u64,
        sample_rate_hz: f64,
    ) -> Result<(), WindowError> {
        const STEP_SAMPLES: u64 = 512;
        let step = Duration::from_secs_f64(512.0 / sample_rate_hz);
        let mut due = Instant::now();
        while player.position_samples() < until_samples {
            let next = player.position_samples() + STEP_SAMPLES;
            player.run_until(next.min(until_samples))?;
            due += step;
            self.wait(player.host(), due.saturating_duration_since(Instant::now()))?;
        }
        Ok(())
    }

    /// Closes the editor.
    ///
    /// # Errors
    /// If the plugin has no editor, or the display is gone.
    pub fn close(self, host: &mut Host) -> Result<(), WindowError> {
        self.close_and_wait(host, AFTER_CLOSING)
    }

    /// Closes the editor and waits for this long; see [`Window::close`].
    ///
    /// # Errors
    /// As [`Window::close`].
    pub fn close_and_wait(mut self, host: &mut Host, wait: Duration) -> Result<(), WindowError> {
        let plugin = host.instance.plugin_handle();
        let gui = gui_of(&plugin)?;
        gui.destroy(&plugin);
        // The window toolkit (baseview 0.4.2) may return before its thread has
        // ended, and a process that ends meanwhile crashes in the graphics
        // library. Hosts live longer than that; so does this one.
        self.wait(host, wait)?;
        self.connection.destroy_window(self.parent)?;
        self.connection.sync()?;
        Ok(())
    }
}

fn gui_of(plugin: &PluginMainThreadHandle) -> Result<PluginGui, HostError> {
    plugin.get_extension().ok_or(HostError::NoExtension("gui"))
}
