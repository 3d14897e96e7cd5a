//! A host's window around an editor, on X11. It is no kinder than the windows of real hosts: it
//! keeps its size until the host gives it another one, what does not fit is not seen, and the
//! editor cannot resize itself in it. A socket of `XEmbed` is such a window (GTK 2's `GtkSocket`
//! selects `SubstructureRedirect`, and Xlib's manual, section 10.10, tells what this does). Imports
//! errors and the screen's pictures; every host with a window imports it. Linux only; the
//! display comes from the environment, see [`Screen`].
//!
//! [`Screen`]: crate::screen::Screen

use crate::error::WindowError;
use crate::picture::Picture;
use crate::resizing::Size;
use std::thread;
use std::time::{Duration, Instant};
use x11rb::connection::Connection;
use x11rb::protocol::Event;
use x11rb::protocol::damage::{ConnectionExt as _, ReportLevel};
use x11rb::protocol::xproto::{
    AtomEnum, BUTTON_PRESS_EVENT, BUTTON_RELEASE_EVENT, CONFIGURE_NOTIFY_EVENT,
    ChangeWindowAttributesAux, ConfigureNotifyEvent, ConfigureWindowAux, ConnectionExt as _,
    CreateWindowAux, EventMask, ImageFormat, InputFocus, MOTION_NOTIFY_EVENT, PropMode,
    WindowClass,
};
use x11rb::protocol::xtest::ConnectionExt as _;
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;
use x11rb::{COPY_DEPTH_FROM_PARENT, CURRENT_TIME};

/// The time between two checks of the plugin's requests.
const PUMP: Duration = Duration::from_millis(5);
/// The time of a frame and a half.
const FRAME: Duration = Duration::from_millis(60);
/// The pointer's left button by its X11 number.
const LEFT_BUTTON: u8 = 1;

/// A window of a host.
pub struct Parent {
    pub(crate) connection: RustConnection,
    root: u32,
    window: u32,
    /// Its place on the screen, in pixels.
    place: (i16, i16),
    /// How often the editor was drawn since [`Parent::watch`].
    drawings: usize,
}

impl Parent {
    /// A window that is not shown yet.
    ///
    /// # Errors
    /// If there is no display.
    pub fn new((width, height): Size, place: (i16, i16)) -> Result<Self, WindowError> {
        let (connection, screen) = x11rb::connect(None)?;
        let root = connection.setup().roots[screen].root;
        let parent = Self {
            window: connection.generate_id()?,
            connection,
            root,
            place,
            drawings: 0,
        };
        let connection = &parent.connection;
        let redirects = EventMask::SUBSTRUCTURE_REDIRECT;
        let aux = CreateWindowAux::new()
            .background_pixel(0x00ff_00ff)
            .event_mask(redirects);
        connection.create_window(
            COPY_DEPTH_FROM_PARENT,
            parent.window,
            root,
            place.0,
            place.1,
            width.try_into()?,
            height.try_into()?,
            0,
            WindowClass::INPUT_OUTPUT,
            0,
            &aux,
        )?;
        let (name, kind) = (AtomEnum::WM_NAME, AtomEnum::STRING);
        connection.change_property8(PropMode::REPLACE, parent.window, name, kind, b"Guidehand")?;
        connection.sync()?;
        Ok(parent)
    }

    /// Its number on the server.
    #[must_use]
    pub const fn id(&self) -> u32 {
        self.window
    }

    /// Shows it.
    ///
    /// # Errors
    /// If the display is gone.
    pub fn show(&self) -> Result<(), WindowError> {
        self.connection.map_window(self.window)?;
        Ok(self.connection.sync()?)
    }

    /// The editor's window within it.
    fn child(&self) -> Result<Option<u32>, WindowError> {
        let tree = self.connection.query_tree(self.window)?.reply()?;
        Ok(tree.children.first().copied())
    }

    fn size_of(&self, window: u32) -> Result<Size, WindowError> {
        let size = self.connection.get_geometry(window)?.reply()?;
        Ok((size.width.into(), size.height.into()))
    }

    /// The size that it has on the server.
    ///
    /// # Errors
    /// If the display is gone.
    pub fn size(&self) -> Result<Size, WindowError> {
        self.size_of(self.window)
    }

    /// The size that the editor's window has on the server.
    ///
    /// # Errors
    /// If the display is gone, or there is no editor.
    pub fn editor_size(&self) -> Result<Size, WindowError> {
        let child = self.child()?.ok_or("no editor in the window")?;
        self.size_of(child)
    }

    /// Gives the window a size, and the editor's window in it too where `with_editor` says so.
    ///
    /// # Errors
    /// If the display is gone.
    pub fn resize(&self, (width, height): Size, with_editor: bool) -> Result<(), WindowError> {
        let aux = ConfigureWindowAux::new().width(width).height(height);
        self.connection.configure_window(self.window, &aux)?;
        if with_editor && let Some(child) = self.child()? {
            self.connection.configure_window(child, &aux)?;
        }
        Ok(self.connection.sync()?)
    }

    /// Lets the editor resize itself from now on.
    ///
    /// # Errors
    /// If the display is gone.
    pub fn let_go(&self) -> Result<(), WindowError> {
        let aux = ChangeWindowAttributesAux::new().event_mask(EventMask::NO_EVENT);
        self.connection
            .change_window_attributes(self.window, &aux)?;
        Ok(self.connection.sync()?)
    }

    /// Does what the editor's window asks of the host's.
    ///
    /// # Errors
    /// If the display is gone.
    pub fn pump(&mut self) -> Result<(), WindowError> {
        while let Some(event) = self.connection.poll_for_event()? {
            match event {
                Event::MapRequest(event) => {
                    self.connection.map_window(event.window)?;
                    self.connection.sync()?;
                }
                Event::ConfigureRequest(event) => self.keep_size(event.window)?,
                Event::DamageNotify(_) => self.drawings += 1,
                _ => {}
            }
        }
        Ok(())
    }

    /// Tells an editor that wants another size that it has the same as before (ICCCM, section
    /// 4.1.5).
    fn keep_size(&self, window: u32) -> Result<(), WindowError> {
        let Ok(size) = self.connection.get_geometry(window)?.reply() else {
            // It has gone meanwhile.
            return Ok(());
        };
        let same = ConfigureNotifyEvent {
            response_type: CONFIGURE_NOTIFY_EVENT,
            sequence: 0,
            event: window,
            window,
            above_sibling: x11rb::NONE,
            x: size.x,
            y: size.y,
            width: size.width,
            height: size.height,
            border_width: 0,
            override_redirect: false,
        };
        let mask = EventMask::STRUCTURE_NOTIFY;
        self.connection.send_event(false, window, mask, same)?;
        Ok(self.connection.sync()?)
    }

    /// Counts from now on how often the editor is drawn.
    ///
    /// # Errors
    /// If the display cannot count, or there is no editor.
    pub fn watch(&self) -> Result<(), WindowError> {
        self.connection.damage_query_version(1, 1)?.reply()?;
        let editor = self.child()?.ok_or("no editor in the window")?;
        let damage = self.connection.generate_id()?;
        let every = ReportLevel::RAW_RECTANGLES;
        self.connection.damage_create(damage, editor, every)?;
        self.connection.sync()?;
        Ok(())
    }

    /// How often the editor was drawn since [`Parent::watch`]. One frame is at least one drawing.
    #[must_use]
    pub const fn drawings(&self) -> usize {
        self.drawings
    }

    /// Gives the editor the keyboard.
    ///
    /// # Errors
    /// If the display is gone, or there is no editor.
    pub fn focus_editor(&self) -> Result<(), WindowError> {
        let editor = self.child()?.ok_or("no editor in the window")?;
        let back = InputFocus::POINTER_ROOT;
        self.connection
            .set_input_focus(back, editor, CURRENT_TIME)?
            .check()?;
        Ok(())
    }

    /// Sends an event of the pointer or the keyboard, at a place of the window.
    ///
    /// # Errors
    /// If the display is gone.
    pub fn fake(&self, kind: u8, detail: u8, x: i16, y: i16) -> Result<(), WindowError> {
        let (x, y) = (x + self.place.0, y + self.place.1);
        self.connection
            .xtest_fake_input(kind, detail, CURRENT_TIME, self.root, x, y, 0)?;
        self.connection.sync()?;
        Ok(())
    }

    /// What is seen of the window.
    ///
    /// # Errors
    /// If the display is gone, or its colour depth is not 24.
    pub fn picture(&self) -> Result<Picture, WindowError> {
        let (width, height) = self.size()?;
        let (width, height) = (width.try_into()?, height.try_into()?);
        let format = ImageFormat::Z_PIXMAP;
        let image = self
            .connection
            .get_image(format, self.window, 0, 0, width, height, u32::MAX)?
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

    /// Destroys it, and the editor's window if there is one.
    ///
    /// # Errors
    /// If the display is gone.
    pub fn destroy(self) -> Result<(), WindowError> {
        self.connection.destroy_window(self.window)?;
        self.connection.sync()?;
        Ok(())
    }
}

/// A host with an editor on the screen.
pub trait OnScreen {
    /// Its window.
    fn parent(&mut self) -> &mut Parent;

    /// Does what a host does when it has nothing else to do.
    ///
    /// # Errors
    /// If the display is gone, or the plugin breaks a rule.
    fn idle(&mut self) -> Result<(), WindowError>;

    /// Closes the editor, and opens it again at the size that it tells.
    ///
    /// # Errors
    /// As opening.
    fn open_again(&mut self) -> Result<(), WindowError>;

    /// Closes the editor.
    ///
    /// # Errors
    /// If the display is gone, or the plugin refuses.
    fn close(&mut self) -> Result<(), WindowError>;

    /// The size that the plugin tells.
    ///
    /// # Errors
    /// If it tells none.
    fn told_size(&mut self) -> Result<Size, WindowError>;

    /// The plugin's saved state, of whatever format, as text.
    ///
    /// # Errors
    /// If the plugin refuses.
    fn state(&mut self) -> Result<String, WindowError>;

    /// Is idle for a while.
    ///
    /// # Errors
    /// As [`OnScreen::idle`].
    fn wait(&mut self, time: Duration) -> Result<(), WindowError> {
        let end = Instant::now() + time;
        loop {
            self.idle()?;
            self.parent().pump()?;
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return Ok(());
            }
            thread::sleep(left.min(PUMP));
        }
    }

    /// Sends an event of the pointer at a place, and waits until the editor has drawn a frame for
    /// it, however long that takes.
    ///
    /// # Errors
    /// As [`OnScreen::idle`], or if there is no frame.
    fn pointer(&mut self, kind: u8, (x, y): (i16, i16)) -> Result<(), WindowError> {
        const MOST_ROUNDS: u32 = 2_000;
        let button = match kind {
            MOTION_NOTIFY_EVENT => 0,
            _ => LEFT_BUTTON,
        };
        let before = self.parent().drawings();
        self.parent().fake(kind, button, x, y)?;
        for _ in 0..MOST_ROUNDS {
            self.wait(PUMP)?;
            if self.parent().drawings() > before {
                // A frame of its own for whatever the first one has set off.
                return self.wait(FRAME);
            }
        }
        Err("the editor does not follow the pointer".into())
    }

    /// Clicks at a place.
    ///
    /// # Errors
    /// As [`OnScreen::pointer`].
    fn click(&mut self, at: (i16, i16)) -> Result<(), WindowError> {
        self.drag(at, at)
    }

    /// Presses at one place and lets go at another.
    ///
    /// # Errors
    /// As [`OnScreen::pointer`].
    fn drag(&mut self, from: (i16, i16), to: (i16, i16)) -> Result<(), WindowError> {
        const STEPS: i16 = 8;
        // A pointer that is there already would set off no frame.
        self.pointer(MOTION_NOTIFY_EVENT, (from.0 - 1, from.1))?;
        self.pointer(MOTION_NOTIFY_EVENT, from)?;
        self.pointer(BUTTON_PRESS_EVENT, from)?;
        if from != to {
            for step in 1..=STEPS {
                let part = |a: i16, b: i16| a + (b - a) / STEPS * step;
                self.pointer(
                    MOTION_NOTIFY_EVENT,
                    (part(from.0, to.0), part(from.1, to.1)),
                )?;
            }
            self.pointer(MOTION_NOTIFY_EVENT, (to.0 - 1, to.1))?;
            self.pointer(MOTION_NOTIFY_EVENT, to)?;
        }
        self.pointer(BUTTON_RELEASE_EVENT, to)
    }
}
