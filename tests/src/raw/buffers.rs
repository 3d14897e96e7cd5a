//! The audio buffers of every port that a plugin declares, and of what a careless host makes of them.
//! Imports `info`.

use super::info::AudioPort;
use clap_sys::audio_buffer::clap_audio_buffer;
use std::ptr;

/// How a host hands over the ports of one direction.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Given {
    /// Every port with every channel.
    #[default]
    Whole,
    /// No ports, and no list of them.
    NoPorts,
    /// As many ports as declared, but no list of them.
    NoList,
    /// Every port, with no channels.
    NoChannels,
    /// Every port, with no list of channels.
    NoChannelList,
    /// Every port with a list of as many channels as declared, none of which is there.
    NullChannels,
    /// Every port with channels of 64 bits alone.
    Doubles,
    /// Every port with its first channel alone.
    Mono,
    /// Every port with its second channel alone: the first is null.
    SecondAlone,
    /// Every port with [`MORE`] channels more than declared, and a port more.
    More,
}

impl Given {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::Whole,
        Self::NoPorts,
        Self::NoList,
        Self::NoChannels,
        Self::NoChannelList,
        Self::NullChannels,
        Self::Doubles,
        Self::Mono,
        Self::SecondAlone,
        Self::More,
    ];
}

/// The number of channels that [`Given::More`] adds to a port.
pub const MORE: usize = 3;

/// The buffers of all ports of one direction.
pub struct Buffers {
    /// By port, then by channel, with [`MORE`] channels and a port more than declared.
    samples: Vec<Vec<Vec<f32>>>,
    /// The same in 64 bits.
    doubles: Vec<Vec<Vec<f64>>>,
    /// By port: pointers to its channels, made anew for each block.
    pointers: Vec<Vec<*mut f32>>,
    double_pointers: Vec<Vec<*mut f64>>,
    clap: Vec<clap_audio_buffer>,
}

impl Buffers {
    /// Room for blocks of `frames` at most.
    #[must_use]
    pub fn new(ports: &[AudioPort], frames: u32) -> Self {
        let channels = ports.iter().map(|port| port.channels as usize + MORE);
        let channels: Vec<usize> = channels.chain([MORE]).collect();
        let port = |channels: &usize| vec![vec![0.0; frames as usize]; *channels];
        let double = |channels: &usize| vec![vec![0.0; frames as usize]; *channels];
        Self {
            samples: channels.iter().map(port).collect(),
            doubles: channels.iter().map(double).collect(),
            pointers: Vec::new(),
            double_pointers: Vec::new(),
            clap: Vec::new(),
        }
    }

    /// Fills every channel with a value.
    pub fn fill(&mut self, value: f32) {
        for channel in self.samples.iter_mut().flatten() {
            channel.fill(value);
        }
        for channel in self.doubles.iter_mut().flatten() {
            channel.fill(value.into());
        }
    }

    /// Writes samples to the beginning of a channel of a port.
    ///
    /// # Panics
    /// If there is no such channel, or it is too short.
    pub fn write(&mut self, port: usize, channel: usize, samples: &[f32]) {
        self.samples[port][channel][..samples.len()].copy_from_slice(samples);
    }

    /// The first samples of a channel of the first port; none without it.
    #[must_use]
    pub fn channel(&self, index: usize, frames: u32) -> &[f32] {
        let channel = self.samples.first().and_then(|port| port.get(index));
        channel
            .and_then(|samples| samples.get(..frames as usize))
            .unwrap_or_default()
    }

    /// The first samples of every channel that a host hands over in 32 bits, and of those that it
    /// hands over in 64.
    #[must_use]
    pub fn handed_over(&self, frames: u32) -> (Vec<&[f32]>, Vec<&[f64]>) {
        let frames = frames as usize;
        let (mut singles, mut doubles) = (Vec::new(), Vec::new());
        for (port, buffer) in self.clap.iter().enumerate() {
            for channel in 0..buffer.channel_count as usize {
                if !buffer.data32.is_null() && !self.pointers[port][channel].is_null() {
                    singles.push(&self.samples[port][channel][..frames]);
                }
                if !buffer.data64.is_null() {
                    doubles.push(&self.doubles[port][channel][..frames]);
                }
            }
        }
        (singles, doubles)
    }

    /// The list of buffers for the plugin and their count, valid until `self` is used again.
    pub(super) fn clap(&mut self, given: Given) -> (*mut clap_audio_buffer, u32) {
        let of_port = |port: &mut Vec<Vec<f32>>| port.iter_mut().map(|c| c.as_mut_ptr()).collect();
        self.pointers = self.samples.iter_mut().map(of_port).collect();
        let of_port = |port: &mut Vec<Vec<f64>>| port.iter_mut().map(|c| c.as_mut_ptr()).collect();
        self.double_pointers = self.doubles.iter_mut().map(of_port).collect();
        let ports = self.pointers.len() - 1;
        self.clap.clear();
        let all = self.pointers.iter_mut().zip(&mut self.double_pointers);
        for (number, (singles, doubles)) in all.enumerate() {
            let declared = singles.len() - MORE;
            let channels = match given {
                Given::NoChannels => 0,
                Given::Mono => declared.min(1),
                Given::More => singles.len(),
                _ => declared,
            };
            match given {
                Given::NullChannels => singles.fill(ptr::null_mut()),
                Given::SecondAlone => singles[0] = ptr::null_mut(),
                _ => {}
            }
            if number < ports || given == Given::More {
                self.clap.push(clap_audio_buffer {
                    data32: match given {
                        Given::NoChannelList | Given::Doubles => ptr::null_mut(),
                        _ => singles.as_mut_ptr(),
                    },
                    data64: match given {
                        Given::Doubles => doubles.as_mut_ptr(),
                        _ => ptr::null_mut(),
                    },
                    channel_count: count(channels),
                    latency: 0,
                    constant_mask: 0,
                });
            }
        }
        let ports = count(self.clap.len());
        match given {
            Given::NoPorts => self.clap.clear(),
            Given::NoList => {
                self.clap.clear();
                return (ptr::null_mut(), ports);
            }
            _ => {}
        }
        match self.clap.as_mut_slice() {
            [] => (ptr::null_mut(), 0),
            some => (some.as_mut_ptr(), ports),
        }
    }
}

fn count(of: usize) -> u32 {
    u32::try_from(of).unwrap_or(u32::MAX)
}
