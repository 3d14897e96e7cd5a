//! The audio buffers of one process call, for every bus that a plugin declares.
//! Imports the buses; the instance imports it.

use super::bus::Bus;
use super::number;
use vst3::Steinberg::Vst::{AudioBusBuffers, AudioBusBuffers__type0};

/// Buffers for all buses of one direction.
pub(crate) struct Buffers {
    /// By bus, then by channel.
    channels: Vec<Vec<Vec<f32>>>,
    /// The pointers by bus and the buses that the plugin reads.
    pointers: Vec<Vec<*mut f32>>,
    lent: Vec<AudioBusBuffers>,
}

impl Buffers {
    pub(crate) fn new(buses: &[Bus], max_frames: usize) -> Self {
        let channels = buses.iter().map(|bus| {
            let count = number::<usize>(bus.channels);
            vec![vec![0.0; max_frames]; count]
        });
        Self {
            channels: channels.collect(),
            pointers: Vec::new(),
            lent: Vec::new(),
        }
    }

    /// Fills every channel with one value.
    pub(crate) fn fill(&mut self, value: f32) {
        for channel in self.channels.iter_mut().flatten() {
            channel.fill(value);
        }
    }

    /// The number of buses and a pointer to them, null without any. An inactive bus has its place,
    /// but no channels. The pointer is valid until the next call.
    pub(crate) fn lend(&mut self, buses: &[Bus]) -> (i32, *mut AudioBusBuffers) {
        let channels = self.channels.iter_mut().zip(buses);
        self.pointers = channels
            .map(|(bus, described)| {
                let active = bus.iter_mut().filter(|_| described.is_active);
                active.map(Vec::as_mut_ptr).collect()
            })
            .collect();
        let buses = self.pointers.iter_mut().map(|bus| AudioBusBuffers {
            numChannels: number(bus.len()),
            silenceFlags: 0,
            __field0: AudioBusBuffers__type0 {
                channelBuffers32: if bus.is_empty() {
                    std::ptr::null_mut()
                } else {
                    bus.as_mut_ptr()
                },
            },
        });
        self.lent = buses.collect();
        if self.lent.is_empty() {
            (0, std::ptr::null_mut())
        } else {
            (number(self.lent.len()), self.lent.as_mut_ptr())
        }
    }

    /// A channel of the first bus. The last channel is returned for a channel that is missing;
    /// without a bus the result is empty.
    pub(crate) fn channel(&self, index: usize, frames: usize) -> Vec<f32> {
        let channel = self
            .channels
            .first()
            .and_then(|bus| bus.get(index).or(bus.last()));
        let samples = channel.and_then(|samples| samples.get(..frames));
        samples.unwrap_or_default().to_vec()
    }
}
