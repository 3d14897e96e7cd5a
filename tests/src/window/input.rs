//! The pointer and the keyboard in an editor's window. Imports the window and the keys.

use super::Window;
use super::keyboard::KeyStroke;
use crate::error::WindowError;
use crate::host::Host;
use std::time::Duration;
use x11rb::protocol::xproto::{
    BUTTON_PRESS_EVENT, BUTTON_RELEASE_EVENT, KEY_PRESS_EVENT, KEY_RELEASE_EVENT,
    MOTION_NOTIFY_EVENT,
};

/// The X11 codes of keys that write no character.
const SHIFT: u32 = 0xffe1;
const RETURN: u32 = 0xff0d;
const CONTROL: u32 = 0xffe3;

/// A key that leads about or does something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NamedKey {
    /// The tabulator.
    Tab,
    /// The space bar.
    Space,
    /// The arrow to the right.
    Right,
}

impl NamedKey {
    /// Its X11 code.
    const fn symbol(self) -> u32 {
        match self {
            NamedKey::Tab => 0xff09,
            NamedKey::Space => 0x20,
            NamedKey::Right => 0xff53,
        }
    }
}

/// Pointer buttons by their X11 numbers.
const LEFT_BUTTON: u8 = 1;

impl Window {
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
        const MOST_ROUNDS: u32 = 1_000;
        // An editor reads its input once a frame, and may be at rest.
        let frame = Duration::from_millis(120);
        self.point(from.0, from.1)?;
        self.wait(host, frame)?;
        self.fake(BUTTON_PRESS_EVENT, LEFT_BUTTON, from.0, from.1)?;
        self.wait(host, frame)?;
        if from != to {
            // On a busy machine a frame takes long, and a press with its release in the same
            // frame would be a click.
            self.point(from.0 + 1, from.1)?;
            self.rounds_to_a_drawing(host, MOST_ROUNDS)?;
            for step in 1..=STEPS {
                let part = |a: i16, b: i16| a + (b - a) / STEPS * step;
                self.point(part(from.0, to.0), part(from.1, to.1))?;
                self.wait(host, Duration::from_millis(40))?;
            }
            self.point(to.0, to.1)?;
            self.rounds_to_a_drawing(host, MOST_ROUNDS)?;
            self.wait(host, frame)?;
        }
        self.fake(BUTTON_RELEASE_EVENT, LEFT_BUTTON, to.0, to.1)?;
        self.wait(host, frame)
    }

    /// Gives the editor the keyboard, as a host does whose window is chosen without the pointer.
    ///
    /// # Errors
    /// If there is no editor in the window, or the display is gone.
    pub fn focus(&self) -> Result<(), WindowError> {
        self.parent.focus_editor()
    }

    /// Presses a key, alone or with shift.
    ///
    /// # Errors
    /// If the keyboard has no such key, as [`Host::idle`], or if the display is gone.
    pub fn press(
        &mut self,
        host: &mut Host,
        key: NamedKey,
        with_shift: bool,
    ) -> Result<(), WindowError> {
        let (key, shift) = (self.key(key.symbol())?, self.key(SHIFT)?);
        if with_shift {
            self.fake(KEY_PRESS_EVENT, shift.code, 0, 0)?;
        }
        self.fake(KEY_PRESS_EVENT, key.code, 0, 0)?;
        self.fake(KEY_RELEASE_EVENT, key.code, 0, 0)?;
        if with_shift {
            self.fake(KEY_RELEASE_EVENT, shift.code, 0, 0)?;
        }
        self.wait(host, Duration::from_millis(20))
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

    /// Selects the whole text that is edited.
    ///
    /// # Errors
    /// As [`Window::type_text`].
    pub fn select_all(&mut self, host: &mut Host) -> Result<(), WindowError> {
        self.press_with_control(host, 'a')
    }

    /// Copies what is selected.
    ///
    /// # Errors
    /// As [`Window::type_text`].
    pub fn copy(&mut self, host: &mut Host) -> Result<(), WindowError> {
        self.press_with_control(host, 'c')
    }

    /// Pastes what was copied last.
    ///
    /// # Errors
    /// As [`Window::type_text`].
    pub fn paste(&mut self, host: &mut Host) -> Result<(), WindowError> {
        self.press_with_control(host, 'v')
    }

    fn press_with_control(&mut self, host: &mut Host, letter: char) -> Result<(), WindowError> {
        let (control, key) = (self.key(CONTROL)?, self.key(u32::from(letter))?);
        self.fake(KEY_PRESS_EVENT, control.code, 0, 0)?;
        self.fake(KEY_PRESS_EVENT, key.code, 0, 0)?;
        self.fake(KEY_RELEASE_EVENT, key.code, 0, 0)?;
        self.fake(KEY_RELEASE_EVENT, control.code, 0, 0)?;
        self.wait(host, Duration::from_millis(120))
    }

    fn key(&self, symbol: u32) -> Result<KeyStroke, WindowError> {
        let key = self.keys.iter().find(|key| key.symbol == symbol);
        key.copied()
            .ok_or_else(|| format!("no key writes {symbol:#x}").into())
    }

    fn fake(&self, kind: u8, detail: u8, x: i16, y: i16) -> Result<(), WindowError> {
        self.parent.fake(kind, detail, x, y)
    }
}
