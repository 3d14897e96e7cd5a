//! The plugin's editor in an X11 window of ours: shown, played in, pointed at and
//! pictured, as in a host with a screen. Imports the host and sessions. Linux
//! only; the display comes from the environment, see [`Screen`].
//!
//! [`Screen`]: crate::screen::Screen

use crate::error::HostError;
use crate::host::Host;
use crate::session::Player;
use clack_extensions::gui::{
    GuiApiType, GuiConfiguration, GuiSize, PluginGui, Window as ParentWindow,
};
use clack_host::prelude::PluginMainThreadHandle;
use std::error::Error;
use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};
use x11rb::connection::Connection;
use x11rb::protocol::Event;
use x11rb::protocol::damage::{ConnectionExt as _, ReportLevel};
use x11rb::protocol::xproto::{
    AtomEnum, BUTTON_PRESS_EVENT, BUTTON_RELEASE_EVENT, ConfigureWindowAux, ConnectionExt as _,
    CreateWindowAux, ImageFormat, KEY_PRESS_EVENT, KEY_RELEASE_EVENT, MOTION_NOTIFY_EVENT,
    PropMode, WindowClass,
};
use x11rb::protocol::xtest::ConnectionExt as _;
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;
use x11rb::{COPY_DEPTH_FROM_PARENT, CURRENT_TIME};

/// Between two looks at the plugin's requests while nothing plays.
const PUMP: Duration = Duration::from_millis(5);

/// Between the end of an editor and whatever comes next.
const AFTER_CLOSING: Duration = Duration::from_millis(300);

const SHIFT: u32 = 0xffe1;
const RETURN: u32 = 0xff0d;
const CONTROL: u32 = 0xffe3;

/// What goes wrong here is for a person to read.
type WindowError = Box<dyn Error + Send + Sync>;

/// An open editor. It must be closed before its host is dropped.
pub struct Window {
    connection: RustConnection,
    root: u32,
    parent: u32,
    /// Where it lies on the screen, in pixels.
    place: (i16, i16),
    size: GuiSize,
    keys: Vec<KeyStroke>,
    /// How often the editor was drawn on since it is watched.
    drawings: usize,
}

/// A key of the keyboard and what it writes.
#[derive(Clone, Copy)]
struct KeyStroke {
    code: u8,
    symbol: u32,
    shifted: bool,
}

/// What was on the screen: rows from the top, three bytes for each pixel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// In pixels.
    pub width: u16,
    /// In pixels.
    pub height: u16,
    /// Red, green and blue.
    pub pixels: Vec<[u8; 3]>,
}

/// Pointer buttons by their X11 numbers.
const LEFT_BUTTON: u8 = 1;

impl Window {
    /// Opens the editor at its own size. The host takes its time: `wait` before it
    /// shows the editor in its window, and again before it shows the window.
    ///
    /// # Errors
    /// If there is no display, the plugin has no editor, or refuses to open it.
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

    /// Shows the editor in its window, where it shows already once it is open.
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

    /// Gives the editor another size, as a host does whose window is dragged.
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

    /// Counts from now on how often the editor is drawn on.
    ///
    /// # Errors
    /// If the display cannot tell, or has no editor in the window.
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

    /// How often the editor was drawn on since [`Window::watch`]; one frame is at
    /// least one drawing.
    #[must_use]
    pub const fn drawings(&self) -> usize {
        self.drawings
    }

    /// How long it takes until the editor is drawn on again, `most` at most.
    ///
    /// # Errors
    /// As [`Host::idle`].
    pub fn wait_for_drawing(
        &mut self,
        host: &mut Host,
        most: Duration,
    ) -> Result<Option<Duration>, WindowError> {
        let (start, before) = (Instant::now(), self.drawings);
        while start.elapsed() < most {
            self.wait(host, Duration::from_millis(1))?;
            if self.drawings > before {
                return Ok(Some(start.elapsed()));
            }
        }
        Ok(None)
    }

    /// Plays a session on up to a sample, at its own speed.
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

    /// Moves the pointer to a place in the editor, in pixels from its left top.
    ///
    /// # Errors
    /// If the display is gone.
    pub fn point(&mut self, x: i16, y: i16) -> Result<(), WindowError> {
        self.fake(MOTION_NOTIFY_EVENT, 0, x, y)
    }

    /// Clicks at a place.
    ///
    /// # Errors
    /// As [`Host::idle`], or if the display is gone.
    pub fn click(&mut self, host: &mut Host, x: i16, y: i16) -> Result<(), WindowError> {
        self.drag(host, (x, y), (x, y))
    }

    /// Presses at one place and lets go at another.
    ///
    /// # Errors
    /// As [`Host::idle`], or if the display is gone.
    pub fn drag(
        &mut self,
        host: &mut Host,
        from: (i16, i16),
        to: (i16, i16),
    ) -> Result<(), WindowError> {
        const STEPS: i16 = 8;
        // An editor reads its input once a frame, and may be at rest.
        let frame = Duration::from_millis(120);
        self.point(from.0, from.1)?;
        self.wait(host, frame)?;
        self.fake(BUTTON_PRESS_EVENT, LEFT_BUTTON, from.0, from.1)?;
        self.wait(host, frame)?;
        if from != to {
            for step in 1..=STEPS {
                let part = |a: i16, b: i16| a + (b - a) / STEPS * step;
                self.point(part(from.0, to.0), part(from.1, to.1))?;
                self.wait(host, Duration::from_millis(40))?;
            }
            self.point(to.0, to.1)?;
            self.wait(host, frame)?;
        }
        self.fake(BUTTON_RELEASE_EVENT, LEFT_BUTTON, to.0, to.1)?;
        self.wait(host, frame)
    }

    /// Types a text, as on a keyboard with the layout of the server.
    ///
    /// # Errors
    /// If a character is on no key, as [`Host::idle`], or if the display is gone.
    pub fn type_text(&mut self, host: &mut Host, text: &str) -> Result<(), WindowError> {
        for character in text.chars() {
            let symbol = if character == '\n' {
                RETURN
            } else {
                u32::from(character)
            };
            let key = self.key(symbol)?;
            let shift = self.key(SHIFT)?;
            if key.shifted {
                self.fake(KEY_PRESS_EVENT, shift.code, 0, 0)?;
            }
            self.fake(KEY_PRESS_EVENT, key.code, 0, 0)?;
            self.fake(KEY_RELEASE_EVENT, key.code, 0, 0)?;
            if key.shifted {
                self.fake(KEY_RELEASE_EVENT, shift.code, 0, 0)?;
            }
            self.wait(host, Duration::from_millis(20))?;
        }
        self.wait(host, Duration::from_millis(120))
    }

    /// Marks all that stands in the text that is edited.
    ///
    /// # Errors
    /// As [`Window::type_text`].
    pub fn select_all(&mut self, host: &mut Host) -> Result<(), WindowError> {
        let (control, a) = (self.key(CONTROL)?, self.key(u32::from('a'))?);
        self.fake(KEY_PRESS_EVENT, control.code, 0, 0)?;
        self.fake(KEY_PRESS_EVENT, a.code, 0, 0)?;
        self.fake(KEY_RELEASE_EVENT, a.code, 0, 0)?;
        self.fake(KEY_RELEASE_EVENT, control.code, 0, 0)?;
        self.wait(host, Duration::from_millis(120))
    }

    fn key(&self, symbol: u32) -> Result<KeyStroke, WindowError> {
        let key = self.keys.iter().find(|key| key.symbol == symbol);
        key.copied()
            .ok_or_else(|| format!("no key writes {symbol:#x}").into())
    }

    fn fake(&self, kind: u8, detail: u8, x: i16, y: i16) -> Result<(), WindowError> {
        self.connection.xtest_fake_input(
            kind,
            detail,
            CURRENT_TIME,
            self.root,
            x + self.place.0,
            y + self.place.1,
            0,
        )?;
        self.connection.sync()?;
        Ok(())
    }

    /// What is on the screen where the editor is.
    ///
    /// # Errors
    /// If the display is gone, or has another depth of colour than 24.
    pub fn picture(&self) -> Result<Picture, WindowError> {
        let (width, height) = (self.size.width.try_into()?, self.size.height.try_into()?);
        let format = ImageFormat::Z_PIXMAP;
        let image = self
            .connection
            .get_image(format, self.parent, 0, 0, width, height, u32::MAX)?
            .reply()?;
        if image.depth != 24 {
            return Err(format!("a screen of depth {}, expected 24", image.depth).into());
        }
        let pixels = image.data.chunks_exact(4).filter_map(|pixel| match pixel {
            [blue, green, red, _] => Some([*red, *green, *blue]),
            _ => None,
        });
        Ok(Picture {
            width,
            height,
            pixels: pixels.collect(),
        })
    }

    /// Closes the editor.
    ///
    /// # Errors
    /// If the plugin has no editor, or the display is gone.
    pub fn close(self, host: &mut Host) -> Result<(), WindowError> {
        self.close_and_wait(host, AFTER_CLOSING)
    }

    /// Closes the editor and waits as long; see [`Window::close`].
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

impl KeyStroke {
    /// What each key of the server writes, alone and with shift.
    fn all(connection: &RustConnection) -> Result<Vec<KeyStroke>, WindowError> {
        let (first, last) = {
            let setup = connection.setup();
            (setup.min_keycode, setup.max_keycode)
        };
        let mapping = connection
            .get_keyboard_mapping(first, last - first + 1)?
            .reply()?;
        let rows = mapping
            .keysyms
            .chunks_exact(mapping.keysyms_per_keycode.into());
        let keys = (first..=last).zip(rows).flat_map(|(code, symbols)| {
            let both = symbols.iter().take(2).zip([false, true]);
            both.map(move |(symbol, shifted)| KeyStroke {
                code,
                symbol: *symbol,
                shifted,
            })
        });
        Ok(keys.collect())
    }
}

impl Picture {
    /// Writes a PNG file.
    ///
    /// # Errors
    /// If the file cannot be written.
    pub fn save(&self, path: &Path) -> Result<(), WindowError> {
        let file = BufWriter::new(File::create(path)?);
        let mut encoder = png::Encoder::new(file, self.width.into(), self.height.into());
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        let mut writer = encoder.write_header()?;
        writer.write_image_data(&self.pixels.concat())?;
        Ok(())
    }

    /// Reads a PNG file without transparency.
    ///
    /// # Errors
    /// If the file cannot be read, or is no such picture.
    pub fn load(path: &Path) -> Result<Self, WindowError> {
        let file = BufReader::new(File::open(path)?);
        let mut reader = png::Decoder::new(file).read_info()?;
        let bytes = reader.output_buffer_size().ok_or("a picture without end")?;
        let mut data = vec![0; bytes];
        let frame = reader.next_frame(&mut data)?;
        if (frame.color_type, frame.bit_depth) != (png::ColorType::Rgb, png::BitDepth::Eight) {
            return Err(format!("{}: not 24 bits of colour", path.display()).into());
        }
        let pixels = data.chunks_exact(3).filter_map(|p| p.try_into().ok());
        Ok(Picture {
            width: frame.width.try_into()?,
            height: frame.height.try_into()?,
            pixels: pixels.collect(),
        })
    }

    /// The share of pixels that differ from another picture by more than a step of
    /// `step` in one of their colours; all of them where the sizes differ.
    #[must_use]
    pub fn difference(&self, other: &Self, step: u8) -> f64 {
        if (self.width, self.height) != (other.width, other.height) {
            return 1.0;
        }
        let differ = |(a, b): &(&[u8; 3], &[u8; 3])| {
            a.iter().zip(b.iter()).any(|(a, b)| a.abs_diff(*b) > step)
        };
        let pairs = || self.pixels.iter().zip(&other.pixels);
        #[expect(clippy::cast_precision_loss, reason = "pixels of a screen")]
        let share = pairs().filter(differ).count() as f64 / pairs().count().max(1) as f64;
        share
    }

    /// How many different colours there are: 1 in a blank window.
    #[must_use]
    pub fn colours(&self) -> usize {
        let mut seen = self.pixels.clone();
        seen.sort_unstable();
        seen.dedup();
        seen.len()
    }
}
