//! A plugin's parameters, on its main thread. Imports events and `info`.

use super::events::{Events, Outbox, RawEvent};
use super::{Instance, given, info};
use clap_sys::ext::params::{CLAP_EXT_PARAMS, clap_param_info, clap_plugin_params};
use std::ffi::{CStr, c_char};
use std::mem::zeroed;
use std::ptr;

/// A parameter.
#[derive(Clone, Debug, PartialEq)]
pub struct ParamInfo {
    /// Its stable id.
    pub id: u32,
    /// See [`clap_sys::ext::params`].
    pub flags: u32,
    /// Whether the plugin wants a pointer back with its events.
    pub has_cookie: bool,
    /// Its name.
    pub name: String,
    /// The path of groups that contains it, with slashes.
    pub module: String,
    /// The least value.
    pub min: f64,
    /// The greatest value.
    pub max: f64,
    /// The value of a fresh instance.
    pub default: f64,
}

impl ParamInfo {
    /// Whether it has a flag.
    #[must_use]
    pub const fn has(&self, flag: u32) -> bool {
        self.flags & flag != 0
    }
}

fn params(instance: &Instance) -> &clap_plugin_params {
    instance.interface::<clap_plugin_params>(CLAP_EXT_PARAMS)
}

/// A parameter by its place; none beyond the last.
#[must_use]
pub fn param(instance: &Instance, index: u32) -> Option<ParamInfo> {
    // SAFETY: plain data, for which zeros are a valid value.
    let mut found: clap_param_info = unsafe { zeroed() };
    let get = given(params(instance).get_info);
    // SAFETY: this is the main thread, and there is room for one.
    let is_there = unsafe { get(instance.plugin(), index, &raw mut found) };
    is_there.then(|| ParamInfo {
        id: found.id,
        flags: found.flags,
        has_cookie: !found.cookie.is_null(),
        name: info::within(&found.name),
        module: info::within(&found.module),
        min: found.min_value,
        max: found.max_value,
        default: found.default_value,
    })
}

/// All parameters.
///
/// # Panics
/// If the plugin counts more than it describes.
#[must_use]
pub fn all(instance: &Instance) -> Vec<ParamInfo> {
    // SAFETY: this is the main thread.
    let count = unsafe { given(params(instance).count)(instance.plugin()) };
    let param = |index| param(instance, index).expect("a parameter that was counted");
    (0..count).map(param).collect()
}

/// A parameter by its name.
///
/// # Panics
/// If there is none.
#[must_use]
pub fn named(instance: &Instance, name: &str) -> ParamInfo {
    let found = all(instance).into_iter().find(|param| param.name == name);
    found.unwrap_or_else(|| panic!("no parameter {name}"))
}

/// The value of a parameter; none if there is no such.
#[must_use]
pub fn value(instance: &Instance, id: u32) -> Option<f64> {
    let mut value = f64::NAN;
    let get = given(params(instance).get_value);
    // SAFETY: this is the main thread, and there is room for one.
    unsafe { get(instance.plugin(), id, &raw mut value) }.then_some(value)
}

/// All values, in the plugin's order.
#[must_use]
pub fn values(instance: &Instance) -> Vec<f64> {
    let value = |param: ParamInfo| value(instance, param.id).unwrap_or(f64::NAN);
    all(instance).into_iter().map(value).collect()
}

/// A value in words, cut to a buffer of this many bytes, with a null at the end. None if the plugin
/// has no words.
///
/// # Panics
/// If it writes beyond the buffer, or does not end the words with a null.
#[must_use]
pub fn words(instance: &Instance, id: u32, value: f64, bytes: u32) -> Option<Vec<u8>> {
    const GUARD: c_char = 0x55;
    let mut buffer = vec![GUARD; bytes as usize + 16];
    let write = given(params(instance).value_to_text);
    // SAFETY: this is the main thread, and there are more bytes than are told.
    let written = unsafe { write(instance.plugin(), id, value, buffer.as_mut_ptr(), bytes) };
    let (inside, guard) = buffer.split_at(bytes as usize);
    assert!(guard.iter().all(|c| *c == GUARD), "written beyond the end");
    written.then(|| {
        let inside: Vec<u8> = inside.iter().map(|c| c.to_ne_bytes()[0]).collect();
        let text = CStr::from_bytes_until_nul(&inside).expect("a null ends the words");
        text.to_bytes().to_vec()
    })
}

/// The value that words mean; none if they mean nothing.
#[must_use]
pub fn from_words(instance: &Instance, id: u32, words: &CStr) -> Option<f64> {
    let mut value = f64::NAN;
    let read = given(params(instance).text_to_value);
    // SAFETY: this is the main thread, the words end with a null, and there is room
    // for a value.
    unsafe { read(instance.plugin(), id, words.as_ptr(), &raw mut value) }.then_some(value)
}

/// Hands parameter values to a plugin that is not active, and returns its answers.
///
/// # Panics
/// If it is active: its processor flushes then.
pub fn flush(instance: &Instance, events: &Events) -> Vec<RawEvent> {
    assert!(!instance.is_active(), "the plugin is active");
    let mut outbox = Outbox::default();
    let (events_in, events_out) = (events.clap(), outbox.clap());
    let flush = given(params(instance).flush);
    // SAFETY: the plugin is not active, and this is the main thread.
    unsafe {
        flush(
            instance.plugin(),
            ptr::from_ref(&events_in),
            ptr::from_ref(&events_out),
        )
    };
    outbox.events
}
