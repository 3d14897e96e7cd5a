//! The ports that a plugin declares. May be imported by the host only; imports
//! no other module.

use clack_extensions::audio_ports::{AudioPortFlags, AudioPortInfoBuffer, PluginAudioPorts};
use clack_extensions::note_ports::{NoteDialects, NotePortInfoBuffer, PluginNotePorts};
use clack_host::plugin::PluginMainThreadHandle;

/// An audio port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AudioPort {
    /// The stable id.
    pub id: u32,
    /// The display name.
    pub name: String,
    /// Channels, from 1.
    pub channels: u32,
    /// Whether it is the main port of its direction.
    pub is_main: bool,
}

/// A note port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotePort {
    /// The stable id.
    pub id: u32,
    /// The display name.
    pub name: String,
    /// The dialects that the port speaks.
    pub dialects: NoteDialects,
}

/// All ports of a plugin, in its own order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ports {
    /// Audio into the plugin.
    pub audio_inputs: Vec<AudioPort>,
    /// Audio out of the plugin.
    pub audio_outputs: Vec<AudioPort>,
    /// Notes into the plugin.
    pub note_inputs: Vec<NotePort>,
    /// Notes out of the plugin.
    pub note_outputs: Vec<NotePort>,
}

impl Ports {
    /// `None` if the plugin counts a port that it cannot describe.
    pub(crate) fn of(plugin: &PluginMainThreadHandle<'_>) -> Option<Self> {
        let mut ports = Self::default();
        if let Some(extension) = plugin.get_extension::<PluginAudioPorts>() {
            ports.audio_inputs = audio(extension, plugin, true)?;
            ports.audio_outputs = audio(extension, plugin, false)?;
        }
        if let Some(extension) = plugin.get_extension::<PluginNotePorts>() {
            ports.note_inputs = notes(extension, plugin, true)?;
            ports.note_outputs = notes(extension, plugin, false)?;
        }
        Some(ports)
    }
}

fn audio(
    extension: PluginAudioPorts,
    plugin: &PluginMainThreadHandle<'_>,
    is_input: bool,
) -> Option<Vec<AudioPort>> {
    let mut buffer = AudioPortInfoBuffer::new();
    (0..extension.count(plugin, is_input))
        .map(|index| {
            let port = extension.get(plugin, index, is_input, &mut buffer)?;
            Some(AudioPort {
                id: port.id.get(),
                name: text(port.name),
                channels: port.channel_count,
                is_main: port.flags.contains(AudioPortFlags::IS_MAIN),
            })
        })
        .collect()
}

fn notes(
    extension: PluginNotePorts,
    plugin: &PluginMainThreadHandle<'_>,
    is_input: bool,
) -> Option<Vec<NotePort>> {
    let mut buffer = NotePortInfoBuffer::new();
    (0..extension.count(plugin, is_input))
        .map(|index| {
            let port = extension.get(plugin, index, is_input, &mut buffer)?;
            Some(NotePort {
                id: port.id.get(),
                name: text(port.name),
                dialects: port.supported_dialects,
            })
        })
        .collect()
}

/// A name that a plugin wrote into a fixed array.
pub(crate) fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}
