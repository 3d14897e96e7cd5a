//! A small VST3 host next to the CLAP host, for the same sessions. It knows the plugin only through
//! the interfaces of the `vst3` crate.
//!
//! [`bundle`] lays the built library out as hosts expect it, [`Module`] loads the bundle and lists
//! its classes, an [`Instance`] runs one plugin, and [`render`] plays a [`Session`](crate::Session)
//! on it. [`stream`], [`changes`], [`events`] and [`handler`] are the host's sides of the
//! interfaces. Imports events, sessions and errors; tests import it.

mod buffers;
pub mod bundle;
pub mod bus;
mod buses;
pub mod changes;
pub mod events;
pub mod handler;
pub mod instance;
mod load;
pub mod module;
pub mod param;
mod params;
pub mod passing;
pub mod play;
pub mod process;
pub mod rude;
pub mod stream;
#[cfg(target_os = "linux")]
pub mod window;

pub use bus::{Bus, Direction, Media};
pub use instance::Instance;
pub use module::{Class, Module};
pub use param::Param;
pub use passing::Passing;
pub use play::render;
pub use process::Block;
pub use stream::Stream;

use crate::error::HostError;
use std::ffi::c_char;
use vst3::Steinberg::{kResultOk, tresult};

/// A number of the interface in the type of one of its fields. The constants' types differ from the
/// fields' types on some platforms.
///
/// # Panics
/// If the number does not fit, which is a fault of this host.
pub(crate) fn number<T>(value: impl TryInto<T>) -> T {
    let number = value.try_into().ok();
    number.expect("a number that fits into its field")
}

/// Text of the interface in wide characters, up to the first zero.
#[must_use]
pub fn wide_text(characters: &[u16]) -> String {
    let text = characters.split(|c| *c == 0).next().unwrap_or_default();
    String::from_utf16_lossy(text)
}

/// Text of the interface in bytes, up to the first zero.
#[must_use]
pub fn text(characters: &[c_char]) -> String {
    let bytes = characters.iter().map(|c| c.to_ne_bytes()[0]);
    let bytes: Vec<u8> = bytes.take_while(|byte| *byte != 0).collect();
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Any result but success counts as the plugin's refusal.
pub(crate) fn accepted(result: tresult, what: &'static str) -> Result<(), HostError> {
    if result == kResultOk {
        Ok(())
    } else {
        Err(HostError::Refused(what))
    }
}
