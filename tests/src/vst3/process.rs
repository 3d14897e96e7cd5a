//! The process calls of an instance: the input and the output of a block. Imports the instance, the
//! lists of events and changes, and the transport.

use super::changes::Changes;
use super::events::{self, Events};
use super::instance::Instance;
use super::{accepted, number};
use crate::call::check_times;
use crate::error::HostError;
use crate::event::{Event, TimedEvent};
use crate::transport::Transport;
use vst3::Steinberg::Vst::{
    IAudioProcessorTrait, ProcessContext, ProcessContext_::StatesAndFlags_, ProcessData,
    ProcessModes_,
};
use vst3::{ComWrapper, Interface};

/// The result of one process call.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// The events in the order in which the plugin wrote them; times count from the
    /// start of the block.
    pub events: Vec<TimedEvent>,
    /// The first channel of the first audio output; empty without one.
    pub left: Vec<f32>,
    /// The second channel; a copy of the first if the bus is mono.
    pub right: Vec<f32>,
    /// The channel that the plugin has no place for.
    pub spare: Vec<f32>,
    /// Events that did not fit into the host's list.
    pub refused_events: u32,
    /// Parameters that the plugin changed: id, sample and value.
    pub changes: Vec<(u32, i32, f64)>,
}

impl Instance {
    /// Processes one block. Event times count from the start of the block and ascend; without a
    /// transport the host runs free. Parameters and controllers come before the notes at their
    /// sample, as in the interface.
    ///
    /// A block of no frames only hands parameters over.
    ///
    /// # Errors
    /// [`HostError::Misuse`] if the plugin is not active or the block is too long,
    /// [`HostError::NotSendable`] for an event that the interface cannot express,
    /// [`HostError::Refused`] if the plugin fails, [`HostError::Protocol`] if one of its events
    /// lies outside of the block or out of order.
    pub fn process(
        &mut self,
        frames: u32,
        events: &[TimedEvent],
        transport: Option<Transport>,
    ) -> Result<Block, HostError> {
        let (notes, changes) = self.sort(events)?;
        let notes = Events::holding(notes);
        self.process_lists(number(frames), Some(notes), Some(changes), transport)
    }

    /// Processes one block with lists as they are, or null for them. Their times may lie anywhere.
    ///
    /// # Errors
    /// As [`Instance::process`].
    pub fn process_lists(
        &mut self,
        frames: i32,
        notes: Option<Events>,
        changes: Option<Changes>,
        transport: Option<Transport>,
    ) -> Result<Block, HostError> {
        let notes = notes.map(ComWrapper::new);
        let changes = changes.map(ComWrapper::new);
        let notes_out = ComWrapper::new(Events::with_limit(self.output_limit));
        let changes_out = ComWrapper::new(Changes::default());
        let rate_hz = self.sample_rate_hz;
        let mut context = transport.map(|transport| context(transport, rate_hz));
        let sample_size = self.sample_size();
        let samples = if self.has_long_samples { 2 } else { 1 } * frames.max(0);
        let misuse = || HostError::Misuse(format!("a block of {frames} frames"));
        let fits = samples <= number(self.max_frames);
        let buffers = self.buffers.as_mut().filter(|_| fits);
        let [inputs, outputs] = buffers.ok_or_else(misuse)?;
        // The value is no sound, so that it shows if the plugin does not write.
        outputs.fill(f32::NAN);
        let (input_count, input_buses) = inputs.lend(&self.inputs, self.inputs_passed);
        let (output_count, output_buses) = outputs.lend(&self.outputs, self.outputs_passed);
        let mut data = ProcessData {
            processMode: number(ProcessModes_::kRealtime),
            symbolicSampleSize: sample_size,
            numSamples: frames,
            numInputs: input_count,
            numOutputs: output_count,
            inputs: input_buses,
            outputs: output_buses,
            inputParameterChanges: changes.as_ref().map_or(std::ptr::null_mut(), lent),
            outputParameterChanges: lent(&changes_out),
            inputEvents: notes.as_ref().map_or(std::ptr::null_mut(), lent),
            outputEvents: lent(&notes_out),
            processContext: context.as_mut().map_or(std::ptr::null_mut(), |c| c),
        };
        // SAFETY: everything that `data` points to outlives the call, and the buffers have room for
        // at least the frames of the block.
        let result = unsafe { self.processor.process(&mut data) };
        accepted(result, "process a block")?;
        let events = notes_out.all();
        check_times(&events, number(frames.max(0)))?;
        let outputs = self.buffers.as_ref().map(|[_, outputs]| outputs);
        let channel =
            |index| outputs.map_or_else(Vec::new, |buses| buses.channel(index, number(samples)));
        let spare = outputs.map(|buses| buses.spare(number(samples)).to_vec());
        Ok(Block {
            events,
            left: channel(0),
            right: channel(1),
            spare: spare.unwrap_or_default(),
            refused_events: notes_out.refused(),
            changes: changes_out.all(),
        })
    }

    /// Divides the input between the lists that take it.
    fn sort(
        &self,
        events: &[TimedEvent],
    ) -> Result<(Vec<vst3::Steinberg::Vst::Event>, Changes), HostError> {
        let mut notes = Vec::new();
        let changes = Changes::default();
        for TimedEvent { at_samples, event } in events {
            let at = number(*at_samples);
            match self.change(*event)? {
                Some((id, value)) => changes.add(id, at, value),
                None => {
                    let note = events::write(*event, at);
                    notes.push(note.ok_or(HostError::NotSendable(*event))?);
                }
            }
        }
        Ok((notes, changes))
    }

    /// The parameter and value that stand for an event that does not belong in the event list.
    fn change(&self, event: Event) -> Result<Option<(u32, f64)>, HostError> {
        let (channel, controller, value) = match event {
            Event::Param { id, value } => {
                let value = self.param(id)?.normalized(value);
                return Ok(Some((id, value)));
            }
            Event::Controller {
                channel,
                number,
                value,
            } => (channel, number, f64::from(value) / 127.0),
            Event::ChannelPressure { channel, value } => (channel, 128, f64::from(value) / 127.0),
            Event::PitchBend { channel, value } => (channel, 129, f64::from(value) / 16_383.0),
            _ => return Ok(None),
        };
        let id = self.controller_id(channel, controller);
        let id = id.ok_or(HostError::NotSendable(event))?;
        Ok(Some((id, value)))
    }
}

/// An interface of one of our objects, for the duration of a call.
fn lent<C: vst3::Class, I: Interface>(object: &ComWrapper<C>) -> *mut I {
    object
        .as_com_ref()
        .map_or(std::ptr::null_mut(), |object| object.as_ptr())
}

/// What a plugin learns about the transport at the first sample of a block.
fn context(transport: Transport, rate_hz: f64) -> ProcessContext {
    let quarters = 4.0 * f64::from(transport.signature.numerator)
        / f64::from(transport.signature.denominator.max(1));
    let bar = (transport.position_beats / quarters).floor() * quarters;
    let valid = if transport.keeps_time {
        StatesAndFlags_::kTempoValid
            | StatesAndFlags_::kTimeSigValid
            | StatesAndFlags_::kProjectTimeMusicValid
            | StatesAndFlags_::kBarPositionValid
    } else {
        0
    };
    // ivstprocesscontext.h: the cycle's places count if it is active and valid.
    let looping = match transport.loop_beats {
        Some(_) => StatesAndFlags_::kCycleActive | StatesAndFlags_::kCycleValid,
        None => 0,
    };
    let playing = if transport.playing {
        StatesAndFlags_::kPlaying
    } else {
        0
    };
    // SAFETY: zeros are a valid value of plain numbers, and no flag says that one of them counts.
    let mut context: ProcessContext = unsafe { std::mem::zeroed() };
    context.state = number(valid | playing | looping);
    context.sampleRate = rate_hz;
    #[expect(
        clippy::cast_possible_truncation,
        reason = "saturates, and a song is not that long"
    )]
    let samples = (transport.position_seconds * rate_hz).round() as i64;
    context.projectTimeSamples = samples;
    context.projectTimeMusic = transport.position_beats;
    context.barPositionMusic = if bar.is_finite() { bar } else { 0.0 };
    (context.cycleStartMusic, context.cycleEndMusic) = transport.loop_beats.unwrap_or_default();
    context.tempo = transport.tempo_bpm;
    context.timeSigNumerator = transport.signature.numerator.into();
    context.timeSigDenominator = transport.signature.denominator.into();
    context
}
