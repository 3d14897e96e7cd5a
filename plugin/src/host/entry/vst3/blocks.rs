//! The blocks of one instance: what a host passes is mended and handed to the framework. Blocks run on
//! the audio thread, everything else on the host's main thread. Imports `audio`, `changes`, `events`,
//! `lent`, `waiting`, `scratch` and `plugin`.

use super::audio::{self, CHANNELS, Channels, INPUTS, SAMPLES_OF_32_BITS};
use super::changes::Changes;
use super::events::Events;
use super::lent::Lent;
use super::waiting::Waiting;
use crate::host::entry::scratch::Scratch;
use crate::host::plugin::Guidehand;
use nice_plug::wrapper::vst3::Wrapper;
use nice_plug::wrapper::vst3::vst3::ComRef;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::{
    AudioBusBuffers, AudioBusBuffers__type0, IAudioProcessorTrait, IParameterChangesTrait,
    ProcessData,
};
use nice_plug::wrapper::vst3::vst3::Steinberg::{
    int32, kInvalidArgument, kNotInitialized, kResultOk, tresult,
};
use std::ptr;
use std::sync::atomic::{AtomicBool, AtomicI32, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The framework's object.
pub type Framework = Wrapper<Guidehand>;

/// What an instance remembers from block to block. The audio thread only tries the locks, and only for
/// blocks that need what they hold; otherwise they are free, unless a host sets the plugin up while it
/// processes.
#[derive(Default)]
pub struct Blocks {
    is_set_up: AtomicBool,
    is_active: AtomicBool,
    /// The audio inputs of the layout in force.
    inputs: AtomicI32,
    /// The host has passed a channel of the output since it activated the plugin and its buses.
    passed_output: AtomicBool,
    scratch: Mutex<Scratch>,
    something_waits: AtomicBool,
    waiting: Mutex<Waiting>,
}

impl Blocks {
    /// Makes room for the longest block.
    pub fn make_room(&self, frames: usize) {
        let scratch = self.scratch.lock();
        *scratch.unwrap_or_else(PoisonError::into_inner) = Scratch::new(CHANNELS, frames);
        let waiting = self.waiting.lock();
        waiting.unwrap_or_else(PoisonError::into_inner).reserve();
    }

    /// The framework knows the rate and the longest block.
    pub fn set_up(&self) {
        self.is_set_up.store(true, Ordering::Relaxed);
    }

    /// The plugin has been activated or deactivated, and nothing waits any more.
    pub fn set_active(&self, is_active: bool) {
        self.forget_output();
        self.something_waits.store(false, Ordering::Relaxed);
        let waiting = self.waiting.lock();
        waiting.unwrap_or_else(PoisonError::into_inner).clear();
        self.is_active.store(is_active, Ordering::Relaxed);
    }

    /// The layout in force has so many inputs.
    pub fn set_inputs(&self, inputs: int32) {
        self.inputs.store(inputs, Ordering::Relaxed);
    }

    /// The host may pass no output from now on.
    pub fn forget_output(&self) {
        self.passed_output.store(false, Ordering::Relaxed);
    }

    /// Plays a block of the host's.
    ///
    /// # Safety
    /// The data is null or valid, and so is what it points to.
    pub unsafe fn process(&self, framework: &Framework, data: *mut ProcessData) -> tresult {
        // SAFETY: the caller promises that.
        let Some(host) = (unsafe { data.as_ref() }) else {
            return kInvalidArgument;
        };
        // SAFETY: the caller promises that.
        let is_flush = unsafe { self.is_flush(host) };
        // The framework ends the process where it does not know the rate yet.
        let is_ready = if is_flush {
            &self.is_set_up
        } else {
            &self.is_active
        };
        if !is_ready.load(Ordering::Relaxed) {
            return kNotInitialized;
        }
        // SAFETY: as above; a block that is no flush has samples.
        unsafe {
            if is_flush {
                self.flush(framework, host)
            } else {
                let inputs = self.inputs.load(Ordering::Relaxed);
                let waits = self.something_waits.load(Ordering::Relaxed);
                if !waits && audio::is_complete(host, inputs) && is_uneventful(host) {
                    return framework.process(data);
                }
                let frames = usize::try_from(host.numSamples).unwrap_or(0);
                self.play(framework, host, frames)
            }
        }
    }

    fn waiting(&self) -> Option<MutexGuard<'_, Waiting>> {
        let waits = self.something_waits.load(Ordering::Relaxed);
        waits.then(|| self.waiting.try_lock().ok()).flatten()
    }

    /// A call that hands over parameters while no audio is due. `ivstaudioprocessor.h` has no samples
    /// in it. A host that has passed an output before and passes none in a call without notes means
    /// the same (common practice, no published source; the framework tells of such a host).
    ///
    /// # Safety
    /// What the host passes is valid.
    unsafe fn is_flush(&self, host: &ProcessData) -> bool {
        if host.numSamples <= 0 {
            return true;
        }
        // SAFETY: the caller promises that.
        unsafe {
            if !audio::has_output(host) {
                let events = Events::new(host.inputEvents, &[], 0);
                return self.passed_output.load(Ordering::Relaxed) && events.is_empty();
            }
        }
        if !self.passed_output.load(Ordering::Relaxed) {
            self.passed_output.store(true, Ordering::Relaxed);
        }
        false
    }

    /// Hands parameters to the framework, and keeps notes and controllers for the next block.
    ///
    /// # Safety
    /// What the host passes is valid.
    unsafe fn flush(&self, framework: &Framework, host: &ProcessData) -> tresult {
        // SAFETY: the caller promises that.
        let (events, changes) = unsafe {
            let events = Events::new(host.inputEvents, &[], 0);
            let changes = Changes::new(host.inputParameterChanges, &[], 0);
            (events, Lent::new(changes))
        };
        if let Ok(mut waiting) = self.waiting.try_lock() {
            waiting.keep(&events, changes.object());
            let waits = !waiting.is_empty();
            self.something_waits.store(waits, Ordering::Relaxed);
        }
        let mut data = ProcessData {
            numSamples: 0,
            numInputs: 0,
            numOutputs: 0,
            inputs: ptr::null_mut(),
            outputs: ptr::null_mut(),
            inputParameterChanges: changes.interface(),
            inputEvents: ptr::null_mut(),
            ..*host
        };
        // SAFETY: everything in it is the host's or outlives the call.
        unsafe { framework.process(&mut data) }
    }

    /// Plays a block with what waited for it.
    ///
    /// # Safety
    /// What the host passes is valid, and it has samples.
    unsafe fn play(&self, framework: &Framework, host: &ProcessData, frames: usize) -> tresult {
        let mut waiting = self.waiting();
        let waits = waiting.as_deref();
        let (events, changes) = waits.map_or((&[][..], &[][..]), |waiting| {
            (waiting.events(), waiting.changes())
        });
        let last = host.numSamples - 1;
        // SAFETY: the caller promises that.
        let (events, changes) = unsafe {
            (
                Lent::new(Events::new(host.inputEvents, events, last)),
                Lent::new(Changes::new(host.inputParameterChanges, changes, last)),
            )
        };
        let mut data = ProcessData {
            symbolicSampleSize: SAMPLES_OF_32_BITS,
            inputParameterChanges: changes.interface(),
            inputEvents: events.interface(),
            ..*host
        };
        let inputs = self.inputs.load(Ordering::Relaxed);
        // SAFETY: everything in it is the host's or outlives the call.
        let result = unsafe {
            if audio::is_complete(host, inputs) {
                framework.process(&mut data)
            } else {
                self.play_filled_up(framework, host, &mut data, frames)
            }
        };
        if let Some(waiting) = &mut waiting
            && result == kResultOk
        {
            waiting.clear();
            self.something_waits.store(false, Ordering::Relaxed);
        }
        result
    }

    /// Plays a block whose audio the framework cannot read as it is.
    ///
    /// # Safety
    /// What the host passes is valid.
    unsafe fn play_filled_up(
        &self,
        framework: &Framework,
        host: &ProcessData,
        data: &mut ProcessData,
        frames: usize,
    ) -> tresult {
        let Ok(mut scratch) = self.scratch.try_lock() else {
            return kNotInitialized;
        };
        // SAFETY: the caller promises that.
        let filled_up = unsafe { audio::fill_up(&mut scratch, host, frames) };
        let Some((mut inputs, mut output)) = filled_up else {
            return kInvalidArgument;
        };
        let mut inputs: [AudioBusBuffers; INPUTS] = inputs.each_mut().map(bus);
        let mut output = bus(&mut output);
        data.numInputs = self.inputs.load(Ordering::Relaxed);
        data.inputs = inputs.as_mut_ptr();
        data.numOutputs = 1;
        data.outputs = &mut output;
        // SAFETY: the caller promises that of the host's; ours outlives the call.
        unsafe {
            audio::silence_the_rest(host, frames);
            framework.process(data)
        }
    }
}

/// Whether a host passes neither notes nor changes.
///
/// # Safety
/// What the host passes is valid.
unsafe fn is_uneventful(host: &ProcessData) -> bool {
    // SAFETY: the caller promises that.
    unsafe {
        Events::new(host.inputEvents, &[], 0).is_empty()
            && ComRef::from_raw(host.inputParameterChanges)
                .is_none_or(|changes| changes.getParameterCount() <= 0)
    }
}

/// A bus with these channels.
fn bus(channels: &mut Channels) -> AudioBusBuffers {
    AudioBusBuffers {
        numChannels: int32::try_from(channels.len()).unwrap_or(0),
        silenceFlags: 0,
        __field0: AudioBusBuffers__type0 {
            channelBuffers32: channels.as_mut_ptr(),
        },
    }
}
