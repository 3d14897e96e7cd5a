//! The audio buffers that a CLAP host hands over, against the ports that the plugin declares. Used on
//! the audio thread, and at activation on the main thread; imports `scratch`.
//!
//! `clap/process.h`: there are as many buffers as ports, in their order. `clap/audio-buffer.h`: either
//! `data32` or `data64` is set; `clap/ext/audio-ports.h` leaves the second to ports that declare 64 bits.
//! A host that has nothing for a port passes null pointers instead (common practice, no published
//! source).

use crate::host::entry::scratch::Scratch;
use clap_sys::audio_buffer::clap_audio_buffer;
use clap_sys::ext::audio_ports::{
    CLAP_EXT_AUDIO_PORTS, clap_audio_port_info, clap_plugin_audio_ports,
};
use clap_sys::plugin::clap_plugin;
use std::mem::MaybeUninit;
use std::ptr;

/// The most ports of one direction, and the most channels of a port.
const MOST_PORTS: usize = 4;
const MOST_CHANNELS: usize = 8;

/// The channels of each port of one direction. 0 for a port that there is not.
type Channels = [u8; MOST_PORTS];

/// The ports that a plugin declares.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Declared {
    inputs: Channels,
    outputs: Channels,
}

impl Declared {
    /// What a plugin declares; none if it declares more than there is room for.
    ///
    /// # Safety
    /// The plugin lives, and this is its main thread.
    pub unsafe fn by(plugin: *const clap_plugin) -> Option<Self> {
        // SAFETY: the caller's promise.
        let get_extension = unsafe { (*plugin).get_extension }?;
        // SAFETY: as before. What this id names has this type.
        let ports = unsafe {
            get_extension(plugin, CLAP_EXT_AUDIO_PORTS.as_ptr())
                .cast::<clap_plugin_audio_ports>()
                .as_ref()
        }?;
        let (count, get) = ports.count.zip(ports.get)?;
        let channels = |is_input: bool| {
            let mut channels = Channels::default();
            // SAFETY: as before.
            for index in 0..unsafe { count(plugin, is_input) } {
                let mut info = MaybeUninit::<clap_audio_port_info>::zeroed();
                // SAFETY: there is room for the answer, which is valid with zeros too.
                let info = unsafe {
                    get(plugin, index, is_input, info.as_mut_ptr()).then(|| info.assume_init())
                }?;
                let count = u8::try_from(info.channel_count).ok()?;
                let place = channels.get_mut(usize::try_from(index).ok()?)?;
                *place = Some(count).filter(|count| usize::from(*count) <= MOST_CHANNELS)?;
            }
            Some(channels)
        };
        Some(Self {
            inputs: channels(true)?,
            outputs: channels(false)?,
        })
    }

    /// As a number that is not 0.
    pub fn bits(self) -> u64 {
        let [a, b, c, d] = self.inputs;
        let [e, f, g, h] = self.outputs;
        // Every byte is below 255.
        !u64::from_ne_bytes([a, b, c, d, e, f, g, h])
    }

    /// From a number of [`Declared::bits`]; none from 0.
    #[inline]
    pub fn from_bits(bits: u64) -> Option<Self> {
        let [a, b, c, d, e, f, g, h] = (!bits).to_ne_bytes();
        (bits != 0).then_some(Self {
            inputs: [a, b, c, d],
            outputs: [e, f, g, h],
        })
    }

    /// The number of channels of all outputs.
    pub fn output_channels(self) -> usize {
        self.outputs.iter().copied().map(usize::from).sum()
    }

    /// Whether a host hands over these ports and every channel of them.
    ///
    /// # Safety
    /// Each list is null or holds as many buffers as counted, and each of them is null or holds as
    /// many channels as it tells.
    #[inline]
    pub unsafe fn are_all_in(self, inputs: Ports, outputs: Ports) -> bool {
        // SAFETY: the caller's promise.
        unsafe { are_all_in(self.inputs, inputs) && are_all_in(self.outputs, outputs) }
    }
}

/// The buffers of one direction, as a host hands them over.
#[derive(Clone, Copy)]
pub struct Ports {
    buffers: *const clap_audio_buffer,
    count: u32,
}

impl Ports {
    /// A list of buffers. It is empty if it is null.
    #[inline]
    pub fn new(buffers: *const clap_audio_buffer, count: u32) -> Self {
        let count = if buffers.is_null() { 0 } else { count };
        Self { buffers, count }
    }

    /// A buffer; none past the last.
    ///
    /// # Safety
    /// The list holds as many buffers as counted.
    #[inline]
    unsafe fn get<'b>(self, index: usize) -> Option<&'b clap_audio_buffer> {
        let is_there = u32::try_from(index).is_ok_and(|index| index < self.count);
        // SAFETY: there are as many as counted.
        is_there.then(|| unsafe { &*self.buffers.add(index) })
    }
}

/// A channel of a buffer; null if the host has left it out.
///
/// # Safety
/// The buffer's list of channels is null or holds as many as it tells.
#[inline]
unsafe fn channel(buffer: &clap_audio_buffer, index: usize) -> *mut f32 {
    let is_there = u32::try_from(index).is_ok_and(|index| index < buffer.channel_count);
    if !is_there || buffer.data32.is_null() {
        return ptr::null_mut();
    }
    // SAFETY: there are as many as the buffer tells.
    unsafe { *buffer.data32.add(index) }
}

/// # Safety
/// As for [`Declared::are_all_in`].
#[inline]
unsafe fn are_all_in(declared: Channels, ports: Ports) -> bool {
    let mut count = 0;
    let mut next = ports.buffers;
    // The ports that there are come first.
    for channels in declared.into_iter().take_while(|channels| *channels > 0) {
        if count == ports.count {
            return false;
        }
        // SAFETY: there are more than have been counted so far.
        let buffer = unsafe { &*next };
        if buffer.channel_count != u32::from(channels) || buffer.data32.is_null() {
            return false;
        }
        for at in 0..usize::from(channels) {
            // SAFETY: the buffer has as many channels as it tells.
            if unsafe { *buffer.data32.add(at) }.is_null() {
                return false;
            }
        }
        // SAFETY: one past a buffer of the list.
        next = unsafe { next.add(1) };
        count += 1;
    }
    count == ports.count
}

/// Buffers of one direction with all that is declared: the host's channels where it has any, and
/// scratch memory where it has none.
pub struct Completed {
    buffers: [clap_audio_buffer; MOST_PORTS],
    channels: [[*mut f32; MOST_CHANNELS]; MOST_PORTS],
    count: u32,
}

impl Completed {
    /// Room for buffers. It must not move once they are in it.
    pub fn empty() -> Self {
        let buffer = clap_audio_buffer {
            data32: ptr::null_mut(),
            data64: ptr::null_mut(),
            channel_count: 0,
            latency: 0,
            constant_mask: 0,
        };
        Self {
            buffers: [buffer; MOST_PORTS],
            channels: [[ptr::null_mut(); MOST_CHANNELS]; MOST_PORTS],
            count: 0,
        }
    }

    /// The inputs, with silence for what is missing.
    ///
    /// # Safety
    /// As for [`Declared::are_all_in`].
    pub unsafe fn inputs(
        &mut self,
        declared: Declared,
        host: Ports,
        scratch: &mut Scratch,
        frames: usize,
    ) -> (*const clap_audio_buffer, u32) {
        let silence = scratch.silence(frames);
        // SAFETY: the caller's promise.
        unsafe { self.complete(declared.inputs, host, std::iter::repeat(silence)) };
        (self.buffers.as_ptr(), self.count)
    }

    /// The outputs, with a bin for what is missing.
    ///
    /// # Safety
    /// As for [`Declared::are_all_in`].
    pub unsafe fn outputs(
        &mut self,
        declared: Declared,
        host: Ports,
        scratch: &mut Scratch,
    ) -> (*mut clap_audio_buffer, u32) {
        // SAFETY: the caller's promise.
        unsafe { self.complete(declared.outputs, host, scratch.bins()) };
        (self.buffers.as_mut_ptr(), self.count)
    }

    /// # Safety
    /// As for [`Declared::are_all_in`].
    unsafe fn complete(
        &mut self,
        declared: Channels,
        host: Ports,
        mut scratch: impl Iterator<Item = *mut f32>,
    ) {
        let ports = self.buffers.iter_mut().zip(&mut self.channels);
        for ((index, declared), (buffer, channels)) in declared.iter().enumerate().zip(ports) {
            if *declared == 0 {
                continue;
            }
            // SAFETY: the caller's promise.
            let given = unsafe { host.get(index) };
            for (at, place) in channels.iter_mut().enumerate().take((*declared).into()) {
                // SAFETY: as before.
                *place = given.map_or(ptr::null_mut(), |given| unsafe { channel(given, at) });
                if place.is_null() {
                    *place = scratch.next().unwrap_or(ptr::null_mut());
                }
            }
            *buffer = clap_audio_buffer {
                data32: channels.as_mut_ptr(),
                data64: ptr::null_mut(),
                channel_count: (*declared).into(),
                latency: given.map_or(0, |given| given.latency),
                constant_mask: given.map_or(0, |given| given.constant_mask),
            };
            self.count += 1;
        }
    }
}

/// Fills with silence what a host has handed over and nobody fills: channels and ports that the plugin
/// does not declare, channels of 64 bits, and whatever comes after the frames that are played.
///
/// # Safety
/// As for [`Declared::are_all_in`], and each channel of the host has room for all its frames.
pub unsafe fn silence_the_rest(declared: Declared, host: Ports, frames: usize, played: usize) {
    for index in 0..usize::try_from(host.count).unwrap_or(0) {
        let declared = declared.outputs.get(index).copied().unwrap_or(0);
        // SAFETY: the caller's promise.
        let Some(buffer) = (unsafe { host.get(index) }) else {
            return;
        };
        for at in 0..usize::try_from(buffer.channel_count).unwrap_or(0) {
            let filled = if at < declared.into() { played } else { 0 };
            // SAFETY: the caller's promise.
            let channel = unsafe { channel(buffer, at) };
            if !channel.is_null() {
                // SAFETY: the caller's promise; zeros are a number.
                unsafe {
                    channel
                        .add(filled)
                        .write_bytes(0, frames.saturating_sub(filled))
                };
            } else if buffer.data32.is_null() && !buffer.data64.is_null() {
                // SAFETY: the caller's promise.
                let channel = unsafe { *buffer.data64.add(at) };
                if !channel.is_null() {
                    // SAFETY: as before.
                    unsafe { channel.write_bytes(0, frames) };
                }
            }
        }
    }
}

#[cfg(test)]
mod tests;
