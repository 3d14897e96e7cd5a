//! The process calls of the host, a block at a time. Imports the host.

use super::Host;
use crate::call;
use crate::error::{HostError, misuse};
use crate::event::TimedEvent;
use crate::transport::Transport;
use clack_host::process::ProcessStatus;

/// The result of one process call.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// The events in the order in which the plugin wrote them; times count from
    /// the start of the block.
    pub events: Vec<TimedEvent>,
    /// The first channel of the first audio output; empty without one.
    pub left: Vec<f32>,
    /// The second channel; a copy of the first if the port is mono.
    pub right: Vec<f32>,
    /// Whether the plugin wants to go on.
    pub status: ProcessStatus,
    /// Events that did not fit into the host's queue.
    pub refused_events: u32,
}

impl Host {
    /// Sets how many events the host accepts in a block; `None` for all of them. A plugin learns of
    /// a full queue when it writes the next event.
    pub fn limit_output(&mut self, events: Option<usize>) {
        self.output_limit = events;
        if let Some(call) = &mut self.call {
            call.events_out.set_limit(events);
        }
    }

    /// Processes one block. Event times count from the start of the block and
    /// ascend; without a transport the host runs free.
    ///
    /// Parameter values that were set since the last block come first, at its
    /// first sample.
    ///
    /// # Errors
    /// As [`Host::load_block`], [`Host::run_block`] and [`Host::take_block`].
    pub fn process(
        &mut self,
        frames: u32,
        events: &[TimedEvent],
        transport: Option<Transport>,
    ) -> Result<Block, HostError> {
        self.load_block(frames, events, transport)?;
        let status = self.run_block()?;
        self.take_block(status)
    }

    /// The first third of [`Host::process`]: fills the buffers.
    ///
    /// # Errors
    /// [`HostError::Misuse`] if the plugin is not active, the block is empty or
    /// too large, or an event lies outside it or before the one in front of it;
    /// [`HostError::NotSendable`] for an event that CLAP cannot express.
    pub fn load_block(
        &mut self,
        frames: u32,
        events: &[TimedEvent],
        transport: Option<Transport>,
    ) -> Result<(), HostError> {
        let call = self
            .call
            .as_mut()
            .ok_or_else(|| misuse("load a block into an inactive plugin"))?;
        call.load(
            frames as usize,
            self.pending.drain(..).chain(events.iter().copied()),
            transport.map(|transport| transport.to_clap(0)),
            &self.sounds,
        )
    }

    /// The second third: the plugin's own work, and as little else as possible. It can be repeated,
    /// as benchmarks do, because the inputs stay the same.
    ///
    /// # Errors
    /// [`HostError::Misuse`] if the plugin is not active, [`HostError::Instance`]
    /// if it is not processing or fails.
    pub fn run_block(&mut self) -> Result<ProcessStatus, HostError> {
        let (Some(call), Some(processor)) = (&mut self.call, &mut self.processor) else {
            return Err(misuse("run a block in an inactive plugin"));
        };
        let started = processor.as_started_mut()?;
        let steady_samples = self.steady_samples;
        self.steady_samples += call.frames() as u64;
        self.signals
            .as_audio_thread(|| call.run(started, steady_samples))
    }

    /// The last third: reads what the plugin wrote.
    ///
    /// # Errors
    /// [`HostError::Misuse`] if the plugin is not active, [`HostError::Protocol`]
    /// if an event lies outside the block, or a note or controller before
    /// the event in front of it.
    pub fn take_block(&mut self, status: ProcessStatus) -> Result<Block, HostError> {
        let call = self
            .call
            .as_ref()
            .ok_or_else(|| misuse("take a block from an inactive plugin"))?;
        let events: Vec<TimedEvent> = call.events_out.read().collect();
        call::check_times(&events, call.frames() as u64)?;
        let channel = |index| call.output(index).unwrap_or_default().to_vec();
        Ok(Block {
            events,
            left: channel(0),
            right: channel(1),
            status,
            refused_events: call.events_out.refused,
        })
    }
}
