//! What an audio thread does with a plugin. Imports the rest of the raw host.

use super::buffers::{Buffers, Given};
use super::events::{Events, Outbox, RawEvent};
use super::info;
use super::peer::as_audio_thread;
use super::{Instance, given};
use clap_sys::events::clap_event_transport;
use clap_sys::ext::params::{CLAP_EXT_PARAMS, clap_plugin_params};
use clap_sys::ext::tail::{CLAP_EXT_TAIL, clap_plugin_tail};
use clap_sys::plugin::clap_plugin;
use clap_sys::process::clap_process;
use std::ptr;

/// What came out of a block.
#[derive(Debug)]
pub struct ProcessedBlock {
    /// CLAP's process status.
    pub status: i32,
    /// In the order in which the plugin wrote them.
    pub events: Vec<RawEvent>,
    /// The number of pushed events that are of no known kind or not of full size.
    pub odd_events: u32,
    /// The first channel of the first output.
    pub left: Vec<f32>,
    /// The second channel.
    pub right: Vec<f32>,
}

/// How a host hands over a block.
#[derive(Clone, Copy, Debug, Default)]
pub struct Hands {
    /// The audio inputs.
    pub inputs: Given,
    /// The audio outputs.
    pub outputs: Given,
    /// Where the input events are.
    pub events: Lists,
    /// Where the output events go.
    pub answers: Lists,
}

/// How a host hands over a list of events.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Lists {
    /// As a list.
    #[default]
    Whole,
    /// As a null pointer.
    Null,
    /// As a list without functions.
    NoFunctions,
}

impl Lists {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Whole, Self::Null, Self::NoFunctions];
}

impl Instance {
    /// Activates the plugin for blocks of a length between the two numbers of `frames`. None if it
    /// refuses.
    ///
    /// # Panics
    /// If it is active already.
    #[must_use]
    pub fn activate(&self, rate_hz: f64, frames: (u32, u32)) -> Option<Processor<'_>> {
        assert!(!self.is_active(), "the plugin is active");
        let activate = given(self.vtable().activate);
        // SAFETY: the plugin is not active, and this is its main thread.
        let active = unsafe { activate(self.plugin(), rate_hz, frames.0, frames.1) };
        self.active.set(active);
        active.then(|| Processor::new(self, frames.1))
    }
}

/// An active plugin, as its audio thread sees it. When this is dropped, which must happen on the
/// main thread, the plugin is deactivated.
pub struct Processor<'i> {
    instance: &'i Instance,
    plugin: *const clap_plugin,
    inputs: Buffers,
    outputs: Buffers,
    max_frames: u32,
    started: bool,
    /// Samples since activation; a host may also leave it out.
    pub steady_samples: i64,
}

// SAFETY: its methods call only functions that CLAP allows on the audio thread while the main
// thread works. Only `drop` uses the instance again.
unsafe impl Send for Processor<'_> {}

impl<'i> Processor<'i> {
    fn new(instance: &'i Instance, max_frames: u32) -> Self {
        Self {
            plugin: instance.plugin(),
            inputs: Buffers::new(&info::audio_ports(instance, true), max_frames),
            outputs: Buffers::new(&info::audio_ports(instance, false), max_frames),
            instance,
            max_frames,
            started: false,
            steady_samples: 0,
        }
    }

    fn vtable(&self) -> &clap_plugin {
        // SAFETY: the plugin outlives the borrow of its instance.
        unsafe { &*self.plugin }
    }

    /// Begins to process. Returns false if the plugin refuses.
    ///
    /// # Panics
    /// If it has begun already.
    #[must_use]
    pub fn start(&mut self) -> bool {
        assert!(!self.started, "processing has begun already");
        let start = given(self.vtable().start_processing);
        // SAFETY: the plugin is active and not processing.
        self.started = as_audio_thread(|| unsafe { start(self.plugin) });
        self.started
    }

    /// Ends processing.
    ///
    /// # Panics
    /// If it has not begun.
    pub fn stop(&mut self) {
        assert!(self.started, "processing has not begun");
        let stop = given(self.vtable().stop_processing);
        // SAFETY: the plugin is processing.
        as_audio_thread(|| unsafe { stop(self.plugin) });
        self.started = false;
    }

    /// Makes the plugin forget what sounds.
    pub fn reset(&mut self) {
        let reset = given(self.vtable().reset);
        // SAFETY: the plugin is active.
        as_audio_thread(|| unsafe { reset(self.plugin) });
    }

    /// The tail in samples.
    #[must_use]
    pub fn tail_samples(&mut self) -> u32 {
        let tail = self.instance.interface::<clap_plugin_tail>(CLAP_EXT_TAIL);
        // SAFETY: may be called on both threads.
        as_audio_thread(|| unsafe { given(tail.get)(self.plugin) })
    }

    /// Processes one block. Outputs start as NaN, so that it shows if a sample is not written.
    /// Inputs are silent.
    ///
    /// # Panics
    /// If processing has not begun or the block is empty or too long: no host may do so.
    pub fn process(
        &mut self,
        frames: u32,
        events: &Events,
        transport: Option<&clap_event_transport>,
    ) -> ProcessedBlock {
        assert!(frames > 0, "an empty block");
        self.process_in(Hands::default(), frames, events, transport)
    }

    /// Processes one block as [`Processor::process`] does, with what a careless host leaves out or
    /// gets wrong. It may be empty.
    ///
    /// # Panics
    /// If processing has not begun or the block is too long.
    pub fn process_in(
        &mut self,
        hands: Hands,
        frames: u32,
        events: &Events,
        transport: Option<&clap_event_transport>,
    ) -> ProcessedBlock {
        assert!(self.started && frames <= self.max_frames);
        self.outputs.fill(f32::NAN);
        let mut outbox = Outbox::default();
        let (mut events_in, mut events_out) = (events.clap(), outbox.clap());
        if hands.events == Lists::NoFunctions {
            (events_in.size, events_in.get) = (None, None);
        }
        if hands.answers == Lists::NoFunctions {
            events_out.try_push = None;
        }
        let inputs = self.inputs.clap(hands.inputs);
        let outputs = self.outputs.clap(hands.outputs);
        let block = clap_process {
            steady_time: self.steady_samples,
            frames_count: frames,
            transport: transport.map_or(ptr::null(), ptr::from_ref),
            audio_inputs_count: inputs.1,
            audio_outputs_count: outputs.1,
            audio_inputs: inputs.0,
            audio_outputs: outputs.0,
            in_events: match hands.events {
                Lists::Null => ptr::null(),
                _ => &raw const events_in,
            },
            out_events: match hands.answers {
                Lists::Null => ptr::null(),
                _ => &raw const events_out,
            },
        };
        let status = self.process_raw(&raw const block);
        if self.steady_samples >= 0 {
            self.steady_samples += i64::from(frames);
        }
        ProcessedBlock {
            status,
            events: outbox.events,
            odd_events: outbox.odd,
            left: self.outputs.channel(0, frames).to_vec(),
            right: self.outputs.channel(1, frames).to_vec(),
        }
    }

    /// The audio inputs of the next block.
    pub fn inputs(&mut self) -> &mut Buffers {
        &mut self.inputs
    }

    /// The audio outputs of the last block.
    #[must_use]
    pub const fn outputs(&self) -> &Buffers {
        &self.outputs
    }

    /// Processes no block at all: the pointer to it is null. Returns CLAP's process status.
    pub fn process_nothing(&mut self) -> i32 {
        self.process_raw(ptr::null())
    }

    /// The block is null, or all that it points to outlives the call, and each channel has room for
    /// its frames.
    fn process_raw(&mut self, block: *const clap_process) -> i32 {
        // SAFETY: the plugin lives.
        let process = given(unsafe { (*self.plugin).process });
        // SAFETY: as the callers promise.
        as_audio_thread(|| unsafe { process(self.plugin, block) })
    }

    /// Hands parameter values over outside of a block, and returns the plugin's answers.
    pub fn flush(&mut self, events: &Events) -> Vec<RawEvent> {
        let params = self
            .instance
            .interface::<clap_plugin_params>(CLAP_EXT_PARAMS);
        let flush = given(params.flush);
        let mut outbox = Outbox::default();
        let (events_in, events_out) = (events.clap(), outbox.clap());
        // SAFETY: the plugin is active, this stands for its audio thread, and no
        // block is under way.
        as_audio_thread(|| unsafe {
            flush(self.plugin, &raw const events_in, &raw const events_out);
        });
        outbox.events
    }
}

impl Drop for Processor<'_> {
    fn drop(&mut self) {
        if self.started {
            self.stop();
        }
        self.instance.deactivate();
    }
}
