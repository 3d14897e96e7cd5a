//! What a plugin says about itself: its description, ports, layouts, pages. Imports nothing of the
//! crate but its instance.

use super::{Instance, given, plugins};
use crate::library::Library;
use clap_sys::ext::audio_ports::{CLAP_EXT_AUDIO_PORTS, clap_plugin_audio_ports};
use clap_sys::ext::audio_ports_config::{
    CLAP_EXT_AUDIO_PORTS_CONFIG, clap_plugin_audio_ports_config,
};
use clap_sys::ext::note_ports::{CLAP_EXT_NOTE_PORTS, clap_plugin_note_ports};
use clap_sys::ext::remote_controls::{CLAP_EXT_REMOTE_CONTROLS, clap_plugin_remote_controls};
use clap_sys::plugin::clap_plugin_descriptor;
use clap_sys::version::clap_version;
use std::ffi::{CStr, c_char};
use std::mem::zeroed;

/// A plugin's description of itself. Texts that are missing are `None`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Description {
    /// The version of CLAP that it was built for.
    pub clap: clap_version,
    /// The texts by name: id, name, vendor, url, manual, support, version, description.
    pub texts: Vec<(&'static str, Option<String>)>,
    /// Keywords.
    pub features: Vec<String>,
}

impl Description {
    /// One of the texts; empty if it is missing.
    #[must_use]
    pub fn text(&self, name: &str) -> &str {
        let found = self.texts.iter().find(|(text, _)| *text == name);
        found.and_then(|(_, text)| text.as_deref()).unwrap_or("")
    }
}

/// How many plugins a library offers.
#[must_use]
pub fn plugin_count(library: &Library) -> u32 {
    let factory = plugins(library);
    // SAFETY: a factory may be used at any time.
    unsafe { given(factory.get_plugin_count)(factory) }
}

/// How a library describes one of its plugins; none beyond the last.
#[must_use]
pub fn described_by_library(library: &Library, index: u32) -> Option<Description> {
    let factory = plugins(library);
    // SAFETY: a factory may be used at any time.
    let found = unsafe { given(factory.get_plugin_descriptor)(factory, index) };
    // SAFETY: a description lives as long as its library.
    unsafe { found.as_ref() }.map(describe)
}

/// How a plugin describes itself; none if it does not.
#[must_use]
pub fn described_by_plugin(instance: &Instance) -> Option<Description> {
    // SAFETY: a description lives as long as its plugin.
    unsafe { instance.vtable().desc.as_ref() }.map(describe)
}

fn describe(found: &clap_plugin_descriptor) -> Description {
    let texts = [
        ("id", found.id),
        ("name", found.name),
        ("vendor", found.vendor),
        ("url", found.url),
        ("manual", found.manual_url),
        ("support", found.support_url),
        ("version", found.version),
        ("description", found.description),
    ];
    let texts = texts.map(|(name, text)| (name, words(text)));
    let mut features = Vec::new();
    let mut next = found.features;
    // SAFETY: the list ends with a null, and is not read beyond it.
    while let Some(feature) = unsafe { next.as_ref() }.and_then(|feature| words(*feature)) {
        features.push(feature);
        // SAFETY: that one was not the last.
        next = unsafe { next.add(1) };
    }
    Description {
        clap: found.clap_version,
        texts: texts.to_vec(),
        features,
    }
}

/// A text of the plugin's, which is UTF-8 to CLAP.
///
/// # Panics
/// If it is not.
fn words(text: *const c_char) -> Option<String> {
    // SAFETY: texts end with a null.
    let text = (!text.is_null()).then(|| unsafe { CStr::from_ptr(text) })?;
    Some(text.to_str().expect("texts are UTF-8").to_owned())
}

/// A text in an array.
///
/// # Panics
/// If no null ends it, or it is no UTF-8.
#[must_use]
pub fn within(array: &[c_char]) -> String {
    let bytes: Vec<u8> = array.iter().map(|c| c.to_ne_bytes()[0]).collect();
    let text = CStr::from_bytes_until_nul(&bytes).expect("a null ends a text in an array");
    text.to_str().expect("texts are UTF-8").to_owned()
}

/// An audio port.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AudioPort {
    /// Its stable id.
    pub id: u32,
    /// Its name.
    pub name: String,
    /// See [`clap_sys::ext::audio_ports`].
    pub flags: u32,
    /// The number of channels, from 1.
    pub channels: u32,
    /// `mono`, `stereo`, or none.
    pub kind: Option<String>,
    /// The port of the other direction that may share its buffer, if there is one.
    pub pair: u32,
}

/// An audio port by its place; none beyond the last.
#[must_use]
pub fn audio_port(instance: &Instance, is_input: bool, index: u32) -> Option<AudioPort> {
    let ports = instance.interface::<clap_plugin_audio_ports>(CLAP_EXT_AUDIO_PORTS);
    // SAFETY: plain data, for which zeros are a valid value.
    let mut info = unsafe { zeroed() };
    // SAFETY: this is the main thread, and there is room for one.
    let found = unsafe { given(ports.get)(instance.plugin(), index, is_input, &raw mut info) };
    found.then(|| AudioPort {
        id: info.id,
        name: within(&info.name),
        flags: info.flags,
        channels: info.channel_count,
        kind: words(info.port_type),
        pair: info.in_place_pair,
    })
}

/// All audio ports of a direction.
///
/// # Panics
/// If the plugin counts more than it describes.
#[must_use]
pub fn audio_ports(instance: &Instance, is_input: bool) -> Vec<AudioPort> {
    let ports = instance.interface::<clap_plugin_audio_ports>(CLAP_EXT_AUDIO_PORTS);
    // SAFETY: this is the main thread.
    let count = unsafe { given(ports.count)(instance.plugin(), is_input) };
    let port = |index| audio_port(instance, is_input, index).expect("a port that was counted");
    (0..count).map(port).collect()
}

/// A note port.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotePort {
    /// Its stable id.
    pub id: u32,
    /// Its name.
    pub name: String,
    /// The dialects that it speaks, see [`clap_sys::ext::note_ports`].
    pub dialects: u32,
    /// The dialect that it prefers.
    pub preferred: u32,
}

/// A note port by its place; none beyond the last.
#[must_use]
pub fn note_port(instance: &Instance, is_input: bool, index: u32) -> Option<NotePort> {
    let ports = instance.interface::<clap_plugin_note_ports>(CLAP_EXT_NOTE_PORTS);
    // SAFETY: plain data, for which zeros are a valid value.
    let mut info = unsafe { zeroed() };
    // SAFETY: this is the main thread, and there is room for one.
    let found = unsafe { given(ports.get)(instance.plugin(), index, is_input, &raw mut info) };
    found.then(|| NotePort {
        id: info.id,
        name: within(&info.name),
        dialects: info.supported_dialects,
        preferred: info.preferred_dialect,
    })
}

/// All note ports of a direction.
///
/// # Panics
/// If the plugin counts more than it describes.
#[must_use]
pub fn note_ports(instance: &Instance, is_input: bool) -> Vec<NotePort> {
    let ports = instance.interface::<clap_plugin_note_ports>(CLAP_EXT_NOTE_PORTS);
    // SAFETY: this is the main thread.
    let count = unsafe { given(ports.count)(instance.plugin(), is_input) };
    let port = |index| note_port(instance, is_input, index).expect("a port that was counted");
    (0..count).map(port).collect()
}

/// A layout of audio ports.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layout {
    /// Its id.
    pub id: u32,
    /// Its name.
    pub name: String,
    /// How many ports go in and out.
    pub ports: (u32, u32),
    /// Channels and kind of the main input, if it has one.
    pub main_input: Option<(u32, Option<String>)>,
    /// The same of the main output.
    pub main_output: Option<(u32, Option<String>)>,
}

/// How many layouts there are.
#[must_use]
pub fn layout_count(instance: &Instance) -> u32 {
    let layouts = instance.interface::<clap_plugin_audio_ports_config>(CLAP_EXT_AUDIO_PORTS_CONFIG);
    // SAFETY: this is the main thread.
    unsafe { given(layouts.count)(instance.plugin()) }
}

/// A layout by its place; none beyond the last.
#[must_use]
pub fn layout(instance: &Instance, index: u32) -> Option<Layout> {
    let layouts = instance.interface::<clap_plugin_audio_ports_config>(CLAP_EXT_AUDIO_PORTS_CONFIG);
    // SAFETY: plain data, for which zeros are a valid value.
    let mut info = unsafe { zeroed() };
    // SAFETY: this is the main thread, and there is room for one.
    let found = unsafe { given(layouts.get)(instance.plugin(), index, &raw mut info) };
    let main = |has, channels, kind| {
        if has {
            Some((channels, words(kind)))
        } else {
            None
        }
    };
    found.then(|| Layout {
        id: info.id,
        name: within(&info.name),
        ports: (info.input_port_count, info.output_port_count),
        main_input: main(
            info.has_main_input,
            info.main_input_channel_count,
            info.main_input_port_type,
        ),
        main_output: main(
            info.has_main_output,
            info.main_output_channel_count,
            info.main_output_port_type,
        ),
    })
}

/// Selects a layout by its id. Returns false if the plugin refuses.
///
/// # Panics
/// If the plugin is active: no host may do so.
#[must_use]
pub fn select_layout(instance: &Instance, id: u32) -> bool {
    assert!(!instance.is_active(), "the plugin is active");
    let layouts = instance.interface::<clap_plugin_audio_ports_config>(CLAP_EXT_AUDIO_PORTS_CONFIG);
    // SAFETY: this is the main thread, and the plugin is not active.
    unsafe { given(layouts.select)(instance.plugin(), id) }
}

/// A page of parameters for the eight knobs of a controller.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ControlPage {
    /// Its stable id.
    pub id: u32,
    /// The heading that it stands under.
    pub section: String,
    /// Its name.
    pub name: String,
    /// The parameters' ids; [`clap_sys::id::CLAP_INVALID_ID`] for none.
    pub params: [u32; 8],
    /// Whether it belongs to a preset only.
    pub is_for_preset: bool,
}

/// How many pages there are.
#[must_use]
pub fn page_count(instance: &Instance) -> u32 {
    let pages = instance.interface::<clap_plugin_remote_controls>(CLAP_EXT_REMOTE_CONTROLS);
    // SAFETY: this is the main thread.
    unsafe { given(pages.count)(instance.plugin()) }
}

/// A page by its place; none beyond the last.
#[must_use]
pub fn page(instance: &Instance, index: u32) -> Option<ControlPage> {
    let pages = instance.interface::<clap_plugin_remote_controls>(CLAP_EXT_REMOTE_CONTROLS);
    // SAFETY: plain data, for which zeros are a valid value.
    let mut info = unsafe { zeroed() };
    // SAFETY: this is the main thread, and there is room for one.
    let found = unsafe { given(pages.get)(instance.plugin(), index, &raw mut info) };
    found.then(|| ControlPage {
        id: info.page_id,
        section: within(&info.section_name),
        name: within(&info.page_name),
        params: info.param_ids,
        is_for_preset: info.is_for_preset,
    })
}
