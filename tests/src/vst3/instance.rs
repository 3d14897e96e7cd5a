//! One instance of a VST3 plugin: its life and its state. How it is made, its buses, its parameters
//! and its process calls have files of their own, which import this one. Imports the host's sides
//! of the interfaces.

use super::buffers::Buffers;
use super::bus::Bus;
use super::handler::{Handler, HandlerCall};
use super::module::Module;
use super::param::Param;
use super::passing::Passing;
use super::stream::Stream;
use super::{accepted, number};
use crate::error::HostError;
use vst3::Steinberg::Vst::{
    IAudioProcessor, IAudioProcessorTrait, IComponent, IComponentTrait, IEditController,
    IEditControllerTrait, IMidiMapping, ProcessModes_, ProcessSetup, SymbolicSampleSizes_,
};
use vst3::Steinberg::{IPluginBaseTrait, tresult};
use vst3::{ComPtr, ComWrapper, Interface};

/// A plugin in a host without a window. Dropping it ends everything in order.
pub struct Instance {
    pub(super) controller: ComPtr<IEditController>,
    pub(super) processor: ComPtr<IAudioProcessor>,
    pub(super) mapping: Option<ComPtr<IMidiMapping>>,
    pub(super) component: ComPtr<IComponent>,
    pub(super) handler: ComWrapper<Handler>,
    pub(super) params: Vec<Param>,
    pub(super) inputs: Vec<Bus>,
    pub(super) outputs: Vec<Bus>,
    pub(super) buffers: Option<[Buffers; 2]>,
    pub(super) max_frames: u32,
    pub(super) sample_rate_hz: f64,
    pub(super) is_processing: bool,
    /// How many events the host takes in a block; all if there is no number.
    pub output_limit: Option<usize>,
    /// How the host passes its audio inputs.
    pub inputs_passed: Passing,
    /// How the host passes its audio outputs.
    pub outputs_passed: Passing,
    /// Whether blocks have samples of 64 bits, whatever the plugin says. A block of them is half as long at
    /// most.
    pub has_long_samples: bool,
    /// The module must outlive all of the above, which are dropped before it.
    pub(super) _module: Module,
}

impl Instance {
    /// The plugin as one of the interfaces that it may have.
    #[must_use]
    pub fn cast<I: Interface>(&self) -> Option<ComPtr<I>> {
        self.component.cast()
    }

    /// The controller of the parameters.
    #[must_use]
    pub fn controller(&self) -> &ComPtr<IEditController> {
        &self.controller
    }

    pub(super) fn mapping(&self) -> Option<&ComPtr<IMidiMapping>> {
        self.mapping.as_ref()
    }

    /// All parameters in the plugin's order, including those that stand for controllers.
    #[must_use]
    pub fn params(&self) -> &[Param] {
        &self.params
    }

    /// The plugin's calls to the host.
    #[must_use]
    pub fn told(&self) -> Vec<HandlerCall> {
        self.handler.told()
    }

    /// Whether the plugin processes samples of 32 bits, and of 64.
    #[must_use]
    pub fn sample_sizes(&self) -> [bool; 2] {
        let sizes = [
            SymbolicSampleSizes_::kSample32,
            SymbolicSampleSizes_::kSample64,
        ];
        sizes.map(|size| {
            // SAFETY: the processor is valid.
            let result = unsafe { self.processor.canProcessSampleSize(number(size)) };
            accepted(result, "process samples").is_ok()
        })
    }

    /// The latency in samples.
    #[must_use]
    pub fn latency_samples(&self) -> u32 {
        // SAFETY: the processor is valid.
        unsafe { self.processor.getLatencySamples() }
    }

    /// Gives the plugin the sample rate and the longest block, while it is inactive.
    ///
    /// # Errors
    /// [`HostError::Refused`].
    pub fn set_up(&mut self, sample_rate_hz: f64, max_frames: u32) -> Result<(), HostError> {
        let mut setup = ProcessSetup {
            processMode: number(ProcessModes_::kRealtime),
            symbolicSampleSize: self.sample_size(),
            maxSamplesPerBlock: number(max_frames),
            sampleRate: sample_rate_hz,
        };
        // SAFETY: `setup` is valid.
        let result = unsafe { self.processor.setupProcessing(&mut setup) };
        accepted(result, "be set up")?;
        (self.sample_rate_hz, self.max_frames) = (sample_rate_hz, max_frames);
        Ok(())
    }

    pub(super) fn sample_size(&self) -> i32 {
        number(if self.has_long_samples {
            SymbolicSampleSizes_::kSample64
        } else {
            SymbolicSampleSizes_::kSample32
        })
    }

    /// The component's half of starting and stopping.
    ///
    /// # Errors
    /// [`HostError::Refused`].
    pub fn set_active(&mut self, is_active: bool) -> Result<(), HostError> {
        // SAFETY: the component is valid.
        let result = unsafe { self.component.setActive(is_active.into()) };
        accepted(result, "be activated or deactivated")?;
        let max_frames = number(self.max_frames);
        let new = |buses: &[Bus]| Buffers::new(buses, max_frames);
        self.buffers = is_active.then(|| [new(&self.inputs), new(&self.outputs)]);
        Ok(())
    }

    /// The processor's half of starting and stopping.
    ///
    /// # Errors
    /// [`HostError::Refused`].
    pub fn set_processing(&mut self, is_processing: bool) -> Result<(), HostError> {
        // SAFETY: the processor is valid.
        let result = unsafe { self.processor.setProcessing(is_processing.into()) };
        accepted(result, "start or stop")?;
        self.is_processing = is_processing;
        Ok(())
    }

    /// All three steps in the order that the interface requires.
    ///
    /// # Errors
    /// [`HostError::Refused`].
    pub fn start(&mut self, sample_rate_hz: f64, max_frames: u32) -> Result<(), HostError> {
        self.stop()?;
        self.set_up(sample_rate_hz, max_frames)?;
        self.set_active(true)?;
        self.set_processing(true)
    }

    /// Stops and deactivates what is started and active.
    ///
    /// # Errors
    /// [`HostError::Refused`].
    pub fn stop(&mut self) -> Result<(), HostError> {
        if self.is_processing {
            self.set_processing(false)?;
        }
        if self.buffers.is_some() {
            self.set_active(false)?;
        }
        Ok(())
    }

    /// The plugin's state, as a host would save it with a song.
    ///
    /// # Errors
    /// [`HostError::Refused`].
    pub fn save_state(&self) -> Result<Vec<u8>, HostError> {
        let stream = Stream::empty();
        self.with_stream(&stream, |stream| {
            // SAFETY: the stream outlives the call.
            unsafe { self.component.getState(stream) }
        })?;
        Ok(stream.bytes())
    }

    /// Gives the plugin a saved state, as a host does: first to the component, then to the
    /// controller.
    ///
    /// # Errors
    /// [`HostError::Refused`].
    pub fn load_state(&mut self, state: &[u8]) -> Result<(), HostError> {
        self.load_stream(&Stream::holding(state, 0))?;
        let stream = Stream::holding(state, 0);
        self.with_stream(&stream, |stream| {
            // SAFETY: the stream outlives the call.
            unsafe { self.controller.setComponentState(stream) }
        })
    }

    /// Gives the component the contents of a stream.
    ///
    /// # Errors
    /// [`HostError::Refused`].
    pub fn load_stream(&mut self, stream: &ComWrapper<Stream>) -> Result<(), HostError> {
        self.with_stream(stream, |stream| {
            // SAFETY: the stream outlives the call.
            unsafe { self.component.setState(stream) }
        })
    }

    fn with_stream(
        &self,
        stream: &ComWrapper<Stream>,
        call: impl FnOnce(*mut vst3::Steinberg::IBStream) -> tresult,
    ) -> Result<(), HostError> {
        let lent = stream.as_com_ref();
        let lent = lent.map_or(std::ptr::null_mut(), |stream| stream.as_ptr());
        accepted(call(lent), "move its state")
    }
}

impl Drop for Instance {
    fn drop(&mut self) {
        let _ended_anyway = self.stop();
        // SAFETY: both are valid, and neither is used afterwards.
        unsafe {
            self.controller.setComponentHandler(std::ptr::null_mut());
            self.component.terminate();
        }
    }
}
