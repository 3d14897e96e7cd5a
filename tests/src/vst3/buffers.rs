//! The audio buffers of one process call, for every bus that a plugin declares.
//! Imports the buses and how they are passed; the instance imports it.

use super::bus::Bus;
use super::number;
use super::passing::Passing;
use vst3::Steinberg::Vst::{AudioBusBuffers, AudioBusBuffers__type0};

/// Buffers for all buses of one direction.
pub(crate) struct Buffers {
    /// By bus, then by channel.
    channels: Vec<Vec<Vec<f32>>>,
    /// The pointers by bus and the buses that the plugin reads.
    pointers: Vec<Vec<*mut f32>>,
    lent: Vec<AudioBusBuffers>,
    /// A channel that the plugin has no place for.
    spare: Vec<f32>,
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
            spare: vec![0.0; max_frames],
        }
    }

    /// Fills every channel with one value.
    pub(crate) fn fill(&mut self, value: f32) {
        let channels = self.channels.iter_mut().flatten();
        for channel in channels.chain([&mut self.spare]) {
            channel.fill(value);
        }
    }

    /// The channel that the plugin has no place for.
    pub(crate) fn spare(&self, frames: usize) -> &[f32] {
        self.spare.get(..frames).unwrap_or_default()
    }

    /// The number of buses and a pointer to them, null without any. An inactive bus has its place,
    /// but no channels. The pointer is valid until the next call.
    pub(crate) fn lend(&mut self, buses: &[Bus], how: Passing) -> (i32, *mut AudioBusBuffers) {
        let spare = self.spare.as_mut_ptr();
        let channels = self.channels.iter_mut().zip(buses);
        self.pointers = channels
            .map(|(bus, described)| {
                let active = bus.iter_mut().filter(|_| described.is_active);
                let mut pointers: Vec<*mut f32> = active.map(Vec::as_mut_ptr).collect();
                match how {
                    Passing::NullChannels => pointers.fill(std::ptr::null_mut()),
                    Passing::NullSecondChannel => {
                        let rest = pointers.iter_mut().skip(1);
                        rest.for_each(|pointer| *pointer = std::ptr::null_mut());
                    }
                    Passing::FirstChannel => pointers.truncate(1),
                    Passing::TooMuch => pointers.push(spare),
                    Passing::NoChannels => pointers.clear(),
                    _ => {}
                }
                pointers
            })
            .collect();
        if how == Passing::TooMuch {
            self.pointers.push(vec![spare]);
        }
        let buses = self.pointers.iter_mut().map(|bus| AudioBusBuffers {
            numChannels: match how {
                Passing::NegativeChannels => -number::<i32>(bus.len()),
                _ => number(bus.len()),
            },
            silenceFlags: 0,
            __field0: AudioBusBuffers__type0 {
                channelBuffers32: if bus.is_empty() || how == Passing::NullLists {
                    std::ptr::null_mut()
                } else {
                    bus.as_mut_ptr()
                },
            },
        });
        self.lent = buses.collect();
        let count = number(self.lent.len());
        match (how, self.lent.last_mut()) {
            (Passing::NullBuses, _) => return (count, std::ptr::null_mut()),
            (Passing::Nothing, _) | (_, None) => return (0, std::ptr::null_mut()),
            (Passing::OneLess, Some(last)) => {
                last.numChannels = 2;
                // Nobody reads here who minds the number of buses.
                last.__field0.channelBuffers32 = std::ptr::dangling_mut();
                return (count - 1, self.lent.as_mut_ptr());
            }
            _ => {}
        }
        (count, self.lent.as_mut_ptr())
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
