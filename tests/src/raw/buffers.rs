//! The audio buffers of every port that a plugin declares. Imports `info`.

use super::info::AudioPort;
use clap_sys::audio_buffer::clap_audio_buffer;
use std::ptr;

/// The buffers of all ports of one direction.
pub struct Buffers {
    /// By port, then by channel.
    samples: Vec<Vec<Vec<f32>>>,
    /// By port: pointers to its channels, made anew for each block.
    pointers: Vec<Vec<*mut f32>>,
    clap: Vec<clap_audio_buffer>,
}

impl Buffers {
    /// Room for blocks of `frames` at most.
    #[must_use]
    pub fn new(ports: &[AudioPort], frames: u32) -> Self {
        let channel = || vec![0.0; frames as usize];
        let port = |port: &AudioPort| (0..port.channels).map(|_| channel()).collect();
        Self {
            samples: ports.iter().map(port).collect(),
            pointers: Vec::new(),
            clap: Vec::new(),
        }
    }

    /// Fills every channel with a value.
    pub fn fill(&mut self, value: f32) {
        for channel in self.samples.iter_mut().flatten() {
            channel.fill(value);
        }
    }

    /// The first samples of a channel of the first port; none without it.
    #[must_use]
    pub fn channel(&self, index: usize, frames: u32) -> &[f32] {
        let channel = self.samples.first().and_then(|port| port.get(index));
        channel
            .and_then(|samples| samples.get(..frames as usize))
            .unwrap_or_default()
    }

    /// The buffers for the plugin, valid until `self` is used again.
    pub(super) fn clap(&mut self) -> &mut [clap_audio_buffer] {
        let of_port = |port: &mut Vec<Vec<f32>>| port.iter_mut().map(|c| c.as_mut_ptr()).collect();
        self.pointers = self.samples.iter_mut().map(of_port).collect();
        let of_channels = |channels: &mut Vec<*mut f32>| clap_audio_buffer {
            data32: channels.as_mut_ptr(),
            data64: ptr::null_mut(),
            channel_count: u32::try_from(channels.len()).unwrap_or(u32::MAX),
            latency: 0,
            constant_mask: 0,
        };
        self.clap = self.pointers.iter_mut().map(of_channels).collect();
        &mut self.clap
    }
}
