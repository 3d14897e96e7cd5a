//! The plugin's editor in an X11 window of this host, as in a host with a screen. Imports the host,
//! its window and sessions. The pointer and the keyboard have files of their own, which
//! import this one. Linux only; the display comes from the environment, see [`Screen`].
//!
//! [`Screen`]: crate::screen::Screen

mod input;
mod keyboard;

pub use crate::picture::Picture;
pub use input::NamedKey;

use crate::error::{HostError, WindowError};
use crate::host::Host;
use crate::parent::{OnScreen, Parent};
use crate::resizing::{Promise, Resizing, Size};
use crate::session::Player;
use clack_extensions::gui::{
    GuiApiType, GuiConfiguration, GuiSize, PluginGui, Window as ParentWindow,
};
use clack_host::prelude::PluginMainThreadHandle;
use keyboard::KeyStroke;
use std::thread;
use std::time::{Duration, Instant};

/// The time between two checks of the plugin's requests while nothing plays.
const PUMP: Duration = Duration::from_millis(5);

/// An open editor. It must be closed before its host is dropped.
pub struct Window {
    parent: Parent,
    size: Size,
    keys: Vec<KeyStroke>,
    promise: Option<Promise>,
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
        let size = (size.width, size.height);
        let parent = Parent::new(size, place)?;
        if host.signals.resizing().lets_go() {
            parent.let_go()?;
        }
        let mut window = Self {
            keys: KeyStroke::all(&parent.connection)?,
            parent,
            size,
            promise: None,
        };
        // SAFETY: the window lives until the connection is dropped, after `close`.
        unsafe {
            gui.set_parent(
                &plugin,
                ParentWindow::from_x11_handle(window.parent.id().into()),
            )?
        };
        window.wait(host, wait)?;
        window.show(host)?;
        window.wait(host, wait)?;
        window.parent.show()?;
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

    /// The editor's size, in pixels.
    #[must_use]
    pub const fn size(&self) -> (u32, u32) {
        self.size
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
        self.give(host, (size.width, size.height))
    }

    /// Gives the window around the editor a size, and the editor too.
    fn give(&mut self, host: &mut Host, size: Size) -> Result<(), WindowError> {
        let plugin = host.instance.plugin_handle();
        let gui = gui_of(&plugin)?;
        self.parent.resize(size, true)?;
        self.size = size;
        let (width, height) = size;
        Ok(gui.set_size(&plugin, GuiSize { width, height })?)
    }

    /// Answers an editor that has asked for a size, as the host's manner is.
    fn answer(&mut self, host: &mut Host) -> Result<(), WindowError> {
        if let Some(asked) = host.signals.take_size() {
            let size = (asked.width, asked.height);
            match host.signals.resizing() {
                Resizing::Within => self.give(host, size)?,
                Resizing::Late => self.promise = Some(Promise::new(size)),
                Resizing::Silent => {
                    self.parent.resize(size, false)?;
                    self.size = size;
                }
                Resizing::Refuses | Resizing::Cuts | Resizing::Deaf => {}
            }
        }
        if let Some(size) = self.promise.as_ref().and_then(Promise::due) {
            self.promise = None;
            self.give(host, size)?;
        }
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
            self.answer(host)?;
            self.parent.pump()?;
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return Ok(());
            }
            thread::sleep(left.min(PUMP));
        }
    }

    /// What is seen of the editor.
    ///
    /// # Errors
    /// As [`Parent::picture`].
    pub fn picture(&self) -> Result<Picture, WindowError> {
        self.parent.picture()
    }

    /// Counts from now on how often the editor is drawn.
    ///
    /// # Errors
    /// If the display cannot count, or there is no editor in the window.
    pub fn watch(&mut self) -> Result<(), WindowError> {
        self.parent.watch()
    }

    /// How often the editor was drawn since [`Window::watch`]. One frame is at least one drawing.
    #[must_use]
    pub const fn drawings(&self) -> usize {
        self.parent.drawings()
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
        let before = self.drawings();
        for round in 1..=most {
            self.wait(host, Duration::from_millis(1))?;
            if self.drawings() > before {
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
        self.close_and_wait(host, Duration::ZERO)
    }

    /// Closes the editor and waits for this long; see [`Window::close`].
    ///
    /// # Errors
    /// As [`Window::close`].
    pub fn close_and_wait(mut self, host: &mut Host, wait: Duration) -> Result<(), WindowError> {
        let plugin = host.instance.plugin_handle();
        let gui = gui_of(&plugin)?;
        gui.destroy(&plugin);
        self.wait(host, wait)?;
        self.parent.destroy()
    }
}

/// A host with its editor's window.
pub struct HostOnScreen {
    /// The host.
    pub host: Host,
    window: Option<Window>,
}

impl HostOnScreen {
    /// Opens the editor of a host that has this manner.
    ///
    /// # Errors
    /// As [`Window::open`].
    pub fn open(mut host: Host, resizing: Resizing) -> Result<Self, WindowError> {
        host.signals.set_resizing(resizing);
        let mut window = Window::open(&mut host, Duration::ZERO)?;
        window.watch()?;
        Ok(Self {
            host,
            window: Some(window),
        })
    }
}

impl OnScreen for HostOnScreen {
    fn parent(&mut self) -> &mut Parent {
        let window = self.window.as_mut();
        &mut window.expect("it is open until it is closed").parent
    }

    fn idle(&mut self) -> Result<(), WindowError> {
        self.host.idle()?;
        match &mut self.window {
            Some(window) => window.answer(&mut self.host),
            None => Ok(()),
        }
    }

    fn open_again(&mut self) -> Result<(), WindowError> {
        self.close()?;
        let mut window = Window::open(&mut self.host, Duration::ZERO)?;
        window.watch()?;
        self.window = Some(window);
        Ok(())
    }

    fn close(&mut self) -> Result<(), WindowError> {
        let window = self.window.take();
        window.map_or(Ok(()), |window| window.close(&mut self.host))
    }

    fn told_size(&mut self) -> Result<Size, WindowError> {
        let plugin = self.host.instance.plugin_handle();
        let size = gui_of(&plugin)?.get_size(&plugin);
        let size = size.ok_or(HostError::Refused("tell its editor's size"))?;
        Ok((size.width, size.height))
    }

    fn state(&mut self) -> Result<String, WindowError> {
        let state = self.host.save_state()?;
        Ok(String::from_utf8_lossy(&state).into_owned())
    }
}

fn gui_of(plugin: &PluginMainThreadHandle) -> Result<PluginGui, HostError> {
    plugin.get_extension().ok_or(HostError::NoExtension("gui"))
}
