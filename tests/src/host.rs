//! The host: one plugin instance, its life cycle and its state. The process calls and the
//! parameters' values have files of their own, which import this one.

mod block;
mod values;

pub use block::Block;

use crate::call::{OutputQueue, ProcessCall};
use crate::error::{HostError, misuse};
use crate::event::{Event, TimedEvent};
use crate::handlers::{AudioThread, Handlers, MainThread, Requests, Shared, Signals};
use crate::library::Library;
use crate::params::Param;
use crate::ports::Ports;
use crate::translate;
use clack_extensions::audio_ports_config::{AudioPortsConfigBuffer, PluginAudioPortsConfig};
use clack_extensions::latency::PluginLatency;
use clack_extensions::log::LogSeverity;
use clack_extensions::params::PluginParams;
use clack_extensions::state::PluginState;
use clack_extensions::tail::{PluginTail, TailLength};
use clack_host::events::io::{EventBuffer, OutputEvents};
use clack_host::host::HostInfo;
use clack_host::plugin::{PluginInstance, PluginInstanceError};
use clack_host::process::{PluginAudioConfiguration, PluginAudioProcessor};
use std::ffi::CString;
use std::path::Path;
use std::sync::Arc;

/// How often [`Host::idle`] answers a plugin that requests another callback in each one.
const MOST_CALLBACKS: u32 = 100;

/// A plugin instance in a host without a window.
///
/// Life cycle: loaded, then activated, then processing, and back. One thread
/// stands for both of CLAP's, see [`Requests`]. Dropping the host ends
/// everything in order.
pub struct Host {
    pub(crate) instance: PluginInstance<Handlers>,
    pub(crate) processor: Option<PluginAudioProcessor<Handlers>>,
    pub(crate) signals: Arc<Signals>,
    pub(crate) params: Vec<Param>,
    /// Parameter values that wait for the next block, oldest first.
    pub(crate) pending: Vec<TimedEvent>,
    ports: Ports,
    flushed: Vec<Event>,
    call: Option<ProcessCall>,
    output_limit: Option<usize>,
    steady_samples: u64,
    /// The sound at the audio inputs, by port and channel.
    sounds: Vec<Vec<Vec<f32>>>,
}

impl Host {
    /// Creates an instance of a plugin.
    ///
    /// # Errors
    /// [`HostError::NoPlugin`] for an unknown id, [`HostError::Instance`] if the
    /// plugin fails to start.
    pub fn load(library: &Library, plugin_id: &str) -> Result<Self, HostError> {
        library.plugin(plugin_id)?;
        let id = CString::new(plugin_id).map_err(|_| PluginInstanceError::PluginNotFound)?;
        let info = HostInfo::new(
            "Guidehand tests",
            "Guidehand",
            "",
            env!("CARGO_PKG_VERSION"),
        )
        .map_err(|_| PluginInstanceError::InstantiationFailed)?;
        let signals = Signals::new();
        let mut instance = PluginInstance::new(
            |_| Shared(Arc::clone(&signals)),
            |_| MainThread(Arc::clone(&signals)),
            &library.entry,
            &id,
            &info,
        )?;
        let plugin = instance.plugin_handle();
        let (Some(ports), Some(params)) = (Ports::of(&plugin), Param::all_of(&plugin)) else {
            let fault = "counts ports or parameters that it cannot describe".to_owned();
            return Err(HostError::Protocol(fault));
        };
        let mut host = Self {
            instance,
            processor: None,
            signals,
            params,
            pending: Vec::new(),
            ports,
            flushed: Vec::new(),
            call: None,
            output_limit: None,
            steady_samples: 0,
            sounds: Vec::new(),
        };
        host.idle()?;
        Ok(host)
    }

    /// Opens a library and creates an instance of one of its plugins.
    ///
    /// # Errors
    /// As [`Library::open`] and [`Host::load`].
    pub fn open(path: &Path, plugin_id: &str) -> Result<Self, HostError> {
        Self::load(&Library::open(path)?, plugin_id)
    }

    /// The ports that the plugin declared when it was loaded.
    #[must_use]
    pub const fn ports(&self) -> &Ports {
        &self.ports
    }

    /// Selects one of the port layouts that the plugin offers, by its place in the list.
    ///
    /// # Errors
    /// [`HostError::Misuse`] if the plugin is active, [`HostError::NoExtension`],
    /// [`HostError::Refused`] for a layout that it does not have,
    /// [`HostError::Protocol`] if it counts ports that it cannot describe.
    pub fn select_layout(&mut self, index: u32) -> Result<(), HostError> {
        if self.is_active() {
            return Err(misuse("change the ports of an active plugin"));
        }
        let plugin = self.instance.plugin_handle();
        let extension = plugin
            .get_extension::<PluginAudioPortsConfig>()
            .ok_or(HostError::NoExtension("audio-ports-config"))?;
        let mut buffer = AudioPortsConfigBuffer::new();
        let id = Some(index)
            .filter(|index| *index < extension.count(&plugin))
            .and_then(|index| extension.get(&plugin, index, &mut buffer))
            .map(|layout| layout.id)
            .ok_or(HostError::Refused("name that layout"))?;
        extension
            .select(&plugin, id)
            .map_err(|_| HostError::Refused("take that layout"))?;
        self.ports = Ports::of(&self.instance.plugin_handle())
            .ok_or_else(|| HostError::Protocol("counts ports that it cannot describe".into()))?;
        Ok(())
    }

    /// Sets the sound at the audio inputs, by port and by channel, from the first block of an
    /// activation on. The last channel is repeated for channels that are missing. Where there is no
    /// sound there is silence.
    pub fn hear(&mut self, sounds: Vec<Vec<Vec<f32>>>) {
        self.sounds = sounds;
    }

    /// How often the plugin has called its host.
    #[must_use]
    pub fn requests(&self) -> Requests {
        self.signals.requests()
    }

    /// What the plugin has logged through its host.
    #[must_use]
    pub fn log(&self) -> Vec<(LogSeverity, String)> {
        self.signals.log()
    }

    /// The latency in samples; 0 without the extension.
    pub fn latency_samples(&mut self) -> u32 {
        let plugin = self.instance.plugin_handle();
        plugin
            .get_extension::<PluginLatency>()
            .map_or(0, |latency| latency.get(&plugin))
    }

    /// The tail after the last input. `None` if the plugin is not active or has
    /// no such extension.
    pub fn tail(&mut self) -> Option<TailLength> {
        let plugin = self.processor.as_mut()?.plugin_handle();
        let extension = plugin.get_extension::<PluginTail>()?;
        Some(self.signals.as_audio_thread(|| extension.get(&plugin)))
    }

    /// The plugin's state, as a host would save it with a song.
    ///
    /// # Errors
    /// [`HostError::NoExtension`], or [`HostError::Refused`].
    pub fn save_state(&mut self) -> Result<Vec<u8>, HostError> {
        let plugin = self.instance.plugin_handle();
        let extension = plugin
            .get_extension::<PluginState>()
            .ok_or(HostError::NoExtension("state"))?;
        let mut bytes = Vec::new();
        extension
            .save(&plugin, &mut bytes)
            .map_err(|_| HostError::Refused("save its state"))?;
        Ok(bytes)
    }

    /// Gives the plugin a saved state, whether it is active or not.
    ///
    /// # Errors
    /// [`HostError::NoExtension`], or [`HostError::Refused`].
    pub fn load_state(&mut self, mut state: &[u8]) -> Result<(), HostError> {
        let plugin = self.instance.plugin_handle();
        let extension = plugin
            .get_extension::<PluginState>()
            .ok_or(HostError::NoExtension("state"))?;
        extension
            .load(&plugin, &mut state)
            .map_err(|_| HostError::Refused("load a state"))?;
        self.idle()
    }

    /// Whether the plugin is activated.
    #[must_use]
    pub const fn is_active(&self) -> bool {
        self.processor.is_some()
    }

    /// Whether blocks can be processed.
    #[must_use]
    pub fn is_processing(&self) -> bool {
        self.processor
            .as_ref()
            .is_some_and(PluginAudioProcessor::is_started)
    }

    /// Activates the plugin for blocks of 1 to `max_frames` frames.
    ///
    /// # Errors
    /// [`HostError::Misuse`] if it is active or `max_frames` is 0,
    /// [`HostError::Instance`] if the plugin fails.
    pub fn activate(&mut self, sample_rate_hz: f64, max_frames: u32) -> Result<(), HostError> {
        if self.is_active() || max_frames == 0 {
            return Err(misuse("activate an active plugin, or for no frames"));
        }
        let configuration = PluginAudioConfiguration {
            sample_rate: sample_rate_hz,
            min_frames_count: 1,
            max_frames_count: max_frames,
        };
        let signals = Arc::clone(&self.signals);
        let processor = self
            .instance
            .activate(|_, _| AudioThread(signals), configuration)?;
        self.processor = Some(processor.into());
        let max_frames = max_frames as usize;
        self.call = Some(ProcessCall::new(&self.ports, max_frames, self.output_limit));
        self.idle()
    }

    /// Stops processing if need be and deactivates the plugin. Nothing happens
    /// to an inactive one.
    pub fn deactivate(&mut self) {
        if let Some(processor) = self.processor.take() {
            let stopped = self.signals.as_audio_thread(|| processor.into_stopped());
            self.instance.deactivate(stopped);
        }
        self.call = None;
    }

    /// Tells the plugin that blocks follow.
    ///
    /// # Errors
    /// [`HostError::Misuse`] if it is not active, [`HostError::Instance`] if it
    /// was started already or fails.
    pub fn start_processing(&mut self) -> Result<(), HostError> {
        let processor = self
            .processor
            .as_mut()
            .ok_or_else(|| misuse("start an inactive plugin"))?;
        self.signals
            .as_audio_thread(|| processor.start_processing().map(|_| ()))?;
        Ok(())
    }

    /// Tells the plugin that no more blocks follow.
    ///
    /// # Errors
    /// [`HostError::Misuse`] if it is not active, [`HostError::Instance`] if it
    /// was not started.
    pub fn stop_processing(&mut self) -> Result<(), HostError> {
        let processor = self
            .processor
            .as_mut()
            .ok_or_else(|| misuse("stop an inactive plugin"))?;
        self.signals
            .as_audio_thread(|| processor.stop_processing().map(|_| ()))?;
        Ok(())
    }

    /// Makes the plugin forget what sounds.
    ///
    /// # Errors
    /// [`HostError::Misuse`] if it is not active.
    pub fn reset(&mut self) -> Result<(), HostError> {
        let processor = self
            .processor
            .as_mut()
            .ok_or_else(|| misuse("reset an inactive plugin"))?;
        self.signals.as_audio_thread(|| processor.reset());
        Ok(())
    }

    /// What a host does between blocks: calls the plugin back if it asked, and
    /// flushes parameters if it asked and no block is due.
    ///
    /// # Errors
    /// [`HostError::Protocol`] if the plugin asks again and again.
    pub fn idle(&mut self) -> Result<(), HostError> {
        for _ in 0..MOST_CALLBACKS {
            if self.signals.take_callback() {
                self.instance.call_on_main_thread_callback();
                self.signals.answered_callback();
            } else if !self.is_processing() && self.signals.take_flush() {
                self.flush();
            } else {
                return Ok(());
            }
        }
        let fault = format!("asked for a callback in {MOST_CALLBACKS} callbacks in a row");
        Err(HostError::Protocol(fault))
    }

    /// Hands the waiting parameter values over without a block.
    pub(crate) fn flush(&mut self) {
        let mut values = EventBuffer::new();
        for TimedEvent { event, .. } in self.pending.drain(..) {
            // Only known ids wait here, and those have a CLAP form.
            let _ = translate::push(event, 0, &mut values);
        }
        let mut answers = OutputQueue::new(None);
        self.flush_events(&values, &mut answers);
        self.flushed.extend(answers.read().map(|timed| timed.event));
    }

    fn flush_events(&mut self, values: &EventBuffer, answers: &mut OutputQueue) {
        let Some(extension) = self
            .instance
            .plugin_handle()
            .get_extension::<PluginParams>()
        else {
            return;
        };
        let values = values.as_input();
        let mut answers = OutputEvents::from_buffer(answers);
        if let Some(processor) = &mut self.processor {
            let mut plugin = processor.plugin_handle();
            self.signals
                .as_audio_thread(|| extension.flush_active(&mut plugin, &values, &mut answers));
        } else if let Some(mut plugin) = self.instance.inactive_plugin_handle() {
            extension.flush(&mut plugin, &values, &mut answers);
        }
    }

    /// The events that the plugin wrote outside of blocks, when parameters were flushed. The call
    /// removes them.
    pub fn take_flushed(&mut self) -> Vec<Event> {
        std::mem::take(&mut self.flushed)
    }
}

impl Drop for Host {
    fn drop(&mut self) {
        // An instance that is dropped while active leaks.
        self.deactivate();
    }
}
