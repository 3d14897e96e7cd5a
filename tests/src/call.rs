//! Everything that one process call needs, allocated when the plugin is
//! activated: buffers for every declared audio port, and the event queues. Only
//! the host may import it.

use crate::error::HostError;
use crate::event::{Event, TimedEvent};
use crate::handlers::Handlers;
use crate::ports::{AudioPort, Ports};
use crate::translate;
use clack_host::events::UnknownEvent;
use clack_host::events::event_types::TransportEvent;
use clack_host::events::io::{
    EventBuffer, InputEvents, OutputEventBuffer, OutputEvents, TryPushError,
};
use clack_host::process::audio_buffers::{
    AudioPortBuffer, AudioPortBufferType, AudioPorts, InputChannel,
};
use clack_host::process::{ProcessStatus, StartedPluginAudioProcessor};

/// Events that a queue holds before it grows.
const QUEUE_EVENTS: usize = 256;

pub(crate) struct ProcessCall {
    max_frames: usize,
    frames: usize,
    /// The number of samples in the blocks before.
    passed: usize,
    transport: Option<TransportEvent>,
    events_in: EventBuffer,
    pub(crate) events_out: OutputQueue,
    inputs: PortBuffers,
    outputs: PortBuffers,
}

/// The host's end of a plugin's output queue, which may be short.
pub(crate) struct OutputQueue {
    events: EventBuffer,
    limit: usize,
    pub(crate) refused: u32,
}

impl OutputQueue {
    pub(crate) fn new(limit: Option<usize>) -> Self {
        Self {
            events: EventBuffer::with_capacity(QUEUE_EVENTS),
            limit: limit.unwrap_or(usize::MAX),
            refused: 0,
        }
    }

    pub(crate) fn set_limit(&mut self, limit: Option<usize>) {
        self.limit = limit.unwrap_or(usize::MAX);
    }

    pub(crate) fn clear(&mut self) {
        self.events.clear();
        self.refused = 0;
    }

    /// The events in the order in which they were written.
    pub(crate) fn read(&self) -> impl Iterator<Item = TimedEvent> {
        self.events
            .iter()
            .map(|event| TimedEvent::new(u64::from(event.header().time()), translate::read(event)))
    }
}

impl OutputEventBuffer for OutputQueue {
    fn try_push(&mut self, event: &UnknownEvent) -> Result<(), TryPushError> {
        if (self.events.len() as usize) < self.limit {
            self.events.push(event);
            Ok(())
        } else {
            self.refused += 1;
            Err(TryPushError::new())
        }
    }
}

/// Buffers for all ports of one direction.
struct PortBuffers {
    ports: AudioPorts,
    /// By port, then by channel.
    channels: Vec<Vec<Vec<f32>>>,
}

impl PortBuffers {
    fn new(ports: &[AudioPort], max_frames: usize) -> Self {
        let channels: Vec<Vec<Vec<f32>>> = ports
            .iter()
            .map(|port| (0..port.channels).map(|_| vec![0.0; max_frames]).collect())
            .collect();
        let channel_count = channels.iter().map(Vec::len).sum();
        Self {
            ports: AudioPorts::with_capacity(channel_count, ports.len()),
            channels,
        }
    }

    /// Fills `frames` with the sound from a sample on, by port and by channel. The last channel is
    /// repeated for channels that are missing. Where there is no sound there is silence.
    fn sound(&mut self, sounds: &[Vec<Vec<f32>>], from: usize, frames: usize) {
        for (number, port) in self.channels.iter_mut().enumerate() {
            for (index, channel) in port.iter_mut().enumerate() {
                let sound = sounds.get(number).and_then(|s| s.get(index).or(s.last()));
                let rest = sound.and_then(|s| s.get(from..)).unwrap_or_default();
                let count = rest.len().min(frames);
                channel[..count].copy_from_slice(&rest[..count]);
                channel[count..frames].fill(0.0);
            }
        }
    }
}

impl ProcessCall {
    pub(crate) fn new(ports: &Ports, max_frames: usize, limit: Option<usize>) -> Self {
        Self {
            max_frames,
            frames: 0,
            passed: 0,
            transport: None,
            events_in: EventBuffer::with_capacity(QUEUE_EVENTS),
            events_out: OutputQueue::new(limit),
            inputs: PortBuffers::new(&ports.audio_inputs, max_frames),
            outputs: PortBuffers::new(&ports.audio_outputs, max_frames),
        }
    }

    pub(crate) const fn frames(&self) -> usize {
        self.frames
    }

    /// Prepares a block. Events count from the start of the block and ascend.
    ///
    /// The outputs are filled with a value that is no sound, so that it shows if the plugin does
    /// not write them. `sounds` is the sound at the inputs from the first block on.
    pub(crate) fn load(
        &mut self,
        frames: usize,
        events: impl Iterator<Item = TimedEvent>,
        transport: Option<TransportEvent>,
        sounds: &[Vec<Vec<f32>>],
    ) -> Result<(), HostError> {
        if frames == 0 || frames > self.max_frames {
            let most = self.max_frames;
            let fault = format!("a block of {frames} frames, activated for 1 to {most}");
            return Err(HostError::Misuse(fault));
        }
        self.frames = frames;
        self.transport = transport;
        self.events_in.clear();
        let mut earliest = 0;
        for TimedEvent { at_samples, event } in events {
            let time = u32::try_from(at_samples).unwrap_or(u32::MAX);
            if time < earliest || time as usize >= frames {
                let fault = format!("an event at {at_samples} after {earliest}, of {frames}");
                return Err(HostError::Misuse(fault));
            }
            earliest = time;
            translate::push(event, time, &mut self.events_in)
                .ok_or(HostError::NotSendable(event))?;
        }
        self.inputs.sound(sounds, self.passed, frames);
        self.passed += frames;
        for channel in self.outputs.channels.iter_mut().flatten() {
            channel.fill(f32::NAN);
        }
        Ok(())
    }

    /// Processes the prepared block. It may be called again, because the inputs stay the same.
    pub(crate) fn run(
        &mut self,
        processor: &mut StartedPluginAudioProcessor<Handlers>,
        steady_samples: u64,
    ) -> Result<ProcessStatus, HostError> {
        let frames = self.frames;
        let inputs = &mut self.inputs;
        let inputs = inputs
            .ports
            .with_input_buffers(inputs.channels.iter_mut().map(|port| {
                AudioPortBuffer {
                    latency: 0,
                    channels: AudioPortBufferType::f32_input_only(
                        port.iter_mut()
                            .map(|channel| InputChannel::variable(&mut channel[..frames])),
                    ),
                }
            }));
        let outputs = &mut self.outputs;
        let mut outputs = outputs
            .ports
            .with_output_buffers(outputs.channels.iter_mut().map(|port| AudioPortBuffer {
                latency: 0,
                channels: AudioPortBufferType::f32_output_only(
                    port.iter_mut().map(|channel| &mut channel[..frames]),
                ),
            }));
        self.events_out.clear();
        let status = processor.process(
            &inputs,
            &mut outputs,
            &InputEvents::from_buffer(&self.events_in),
            &mut OutputEvents::from_buffer(&mut self.events_out),
            Some(steady_samples),
            self.transport.as_ref(),
        )?;
        Ok(status)
    }

    /// A channel of the first audio output. The last channel is returned for channels that are
    /// missing. `None` without an audio output.
    pub(crate) fn output(&self, channel: usize) -> Option<&[f32]> {
        let port = self.outputs.channels.first()?;
        let samples = port.get(channel).or(port.last())?;
        Some(&samples[..self.frames])
    }
}

/// All events must lie in the block, and notes and controllers must ascend. The framework decides
/// the order of parameter events: it writes them last, with the time of the block's start.
pub(crate) fn check_times(events: &[TimedEvent], frames: u64) -> Result<(), HostError> {
    let mut latest = 0;
    for TimedEvent { at_samples, event } in events {
        let ordered = !matches!(
            event,
            Event::Param { .. } | Event::GestureBegin { .. } | Event::GestureEnd { .. }
        );
        if *at_samples >= frames || (ordered && *at_samples < latest) {
            let fault = format!("{event:?} at {at_samples} of {frames}, after {latest}");
            return Err(HostError::Protocol(fault));
        }
        latest = latest.max(*at_samples);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(at_samples: u64, event: Event) -> TimedEvent {
        TimedEvent::new(at_samples, event)
    }

    const NOTE: Event = Event::note_off(0, 60);
    const PARAM: Event = Event::Param { id: 1, value: 0.0 };

    #[test]
    fn ascending_events_in_the_block_pass() {
        let events = [at(0, NOTE), at(3, NOTE), at(3, NOTE), at(0, PARAM)];
        assert!(check_times(&events, 4).is_ok());
    }

    #[test]
    fn an_event_past_the_block_is_a_fault() {
        assert!(check_times(&[at(4, NOTE)], 4).is_err());
        assert!(check_times(&[at(4, PARAM)], 4).is_err());
    }

    #[test]
    fn a_note_out_of_order_is_a_fault() {
        assert!(check_times(&[at(2, NOTE), at(1, NOTE)], 4).is_err());
        assert!(check_times(&[at(2, NOTE), at(0, PARAM), at(1, NOTE)], 4).is_err());
    }
}
