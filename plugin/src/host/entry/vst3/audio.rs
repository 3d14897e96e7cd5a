//! The audio of a block as the framework can read it: two channels for every bus that the plugin
//! declares. Where a host passes no channel, an input is silent, and an output goes nowhere. Runs on
//! the audio thread; imports `scratch`.

use crate::host::entry::scratch::Scratch;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::{
    AudioBusBuffers, ProcessData, SymbolicSampleSizes_,
};

/// The channels of every bus, see `Guidehand::AUDIO_IO_LAYOUTS`.
pub const CHANNELS: usize = 2;
/// The most inputs that the plugin declares. It has one output.
pub const INPUTS: usize = 2;

/// `kSample32` of `ivstaudioprocessor.h`, whose type in the bindings differs from platform to platform.
pub const SAMPLES_OF_32_BITS: i32 = 0;
const _: () = assert!(SymbolicSampleSizes_::kSample32 == 0);

/// The addresses of the channels of a bus.
pub type Channels = [*mut f32; CHANNELS];

/// The channels of all inputs and of the output for one block, with what is missing filled up from the
/// scratch memory; nothing if the block is longer than that is.
///
/// # Safety
/// What the host passes is valid for the block.
pub unsafe fn fill_up(
    scratch: &mut Scratch,
    data: &ProcessData,
    frames: usize,
) -> Option<([Channels; INPUTS], Channels)> {
    if frames > scratch.frames() {
        return None;
    }
    let silence = scratch.silence(frames);
    // SAFETY: the caller promises that they are valid.
    let (inputs, outputs) = unsafe { (inputs(data), outputs(data)) };
    let readable = data.symbolicSampleSize == SAMPLES_OF_32_BITS;
    let channel = |bus: Option<&AudioBusBuffers>, index: usize| {
        // SAFETY: the caller promises that its list is valid.
        bus.filter(|_| readable)
            .and_then(|bus| unsafe { channel(bus, index) })
    };
    let inputs = std::array::from_fn(|bus| {
        std::array::from_fn(|index| channel(inputs.get(bus), index).unwrap_or(silence))
    });
    let mut output = [silence; CHANNELS];
    for (index, (place, bin)) in output.iter_mut().zip(scratch.bins()).enumerate() {
        *place = channel(outputs.first(), index).unwrap_or(bin);
    }
    Some((inputs, output))
}

/// The buses in a list of the host's; none if there is no list.
///
/// # Safety
/// The list is null or has that many buses.
unsafe fn buses<'a>(list: *mut AudioBusBuffers, count: i32) -> &'a [AudioBusBuffers] {
    match usize::try_from(count) {
        // SAFETY: it is not null, so the caller promises that.
        Ok(count) if !list.is_null() => unsafe { std::slice::from_raw_parts(list, count) },
        _ => &[],
    }
}

unsafe fn inputs(data: &ProcessData) -> &[AudioBusBuffers] {
    // SAFETY: the caller promises that the lists are valid.
    unsafe { buses(data.inputs, data.numInputs) }
}

unsafe fn outputs(data: &ProcessData) -> &[AudioBusBuffers] {
    // SAFETY: the caller promises that the lists are valid.
    unsafe { buses(data.outputs, data.numOutputs) }
}

/// A channel that the host passes.
///
/// # Safety
/// The bus has a list of its channels or null.
unsafe fn channel(bus: &AudioBusBuffers, index: usize) -> Option<*mut f32> {
    let count = usize::try_from(bus.numChannels).unwrap_or(0);
    // SAFETY: both members of the union are pointers.
    let list = unsafe { bus.__field0.channelBuffers32 };
    if index >= count || list.is_null() {
        return None;
    }
    // SAFETY: the list has at least that many channels.
    let channel = unsafe { *list.add(index) };
    (!channel.is_null()).then_some(channel)
}

/// Whether the framework can read a bus as it is.
///
/// # Safety
/// The bus has a list of its channels or null.
unsafe fn is_whole(bus: &AudioBusBuffers) -> bool {
    // SAFETY: the caller promises that.
    let [left, right] = [0, 1].map(|index| unsafe { channel(bus, index) });
    usize::try_from(bus.numChannels) == Ok(CHANNELS) && left.is_some() && right.is_some()
}

/// Whether the framework can read the audio of a block as it is, where so many inputs are declared. A
/// side-chain that is all the inputs may be missing, together with its bus or not.
///
/// # Safety
/// What the host passes is valid.
pub unsafe fn is_complete(data: &ProcessData, declared_inputs: i32) -> bool {
    // SAFETY: the caller promises that they are valid.
    unsafe {
        let is_readable = data.symbolicSampleSize == SAMPLES_OF_32_BITS;
        let output = if let [output] = outputs(data) {
            is_whole(output)
        } else {
            false
        };
        let inputs = match (declared_inputs, inputs(data)) {
            (1, []) => data.inputs.is_null(),
            (1, [side_chain, ..]) if side_chain.__field0.channelBuffers32.is_null() => true,
            (declared, inputs) => {
                let declared = usize::try_from(declared).unwrap_or(0);
                let declared = inputs.get(..declared);
                declared.is_some_and(|inputs| inputs.iter().all(|bus| is_whole(bus)))
            }
        };
        is_readable && output && inputs
    }
}

/// Whether the host passes any channel of an output, though its address may be null.
///
/// # Safety
/// What the host passes is valid.
pub unsafe fn has_output(data: &ProcessData) -> bool {
    // SAFETY: the caller promises that.
    let outputs = unsafe { outputs(data) };
    outputs.iter().any(|bus| bus.numChannels > 0)
}

/// Writes silence into every channel of the host's that the plugin has no bus or channel for, and into
/// all of them if their samples are of another size.
///
/// # Safety
/// What the host passes is valid for the block.
pub unsafe fn silence_the_rest(data: &ProcessData, frames: usize) {
    let readable = data.symbolicSampleSize == SAMPLES_OF_32_BITS;
    let sample_bytes = if readable { 4 } else { 8 };
    // SAFETY: the caller promises that they are valid.
    for (index, bus) in unsafe { outputs(data) }.iter().enumerate() {
        let filled = if readable && index == 0 { CHANNELS } else { 0 };
        for index in filled..usize::try_from(bus.numChannels).unwrap_or(0) {
            // SAFETY: the caller promises that, and zero bytes are silence in both sizes.
            unsafe {
                if let Some(channel) = channel(bus, index) {
                    channel.cast::<u8>().write_bytes(0, frames * sample_bytes);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::host::plugin::Guidehand;
    use nice_plug::prelude::Plugin;

    #[test]
    fn every_bus_has_the_channels_that_are_filled_up() {
        for layout in Guidehand::AUDIO_IO_LAYOUTS {
            let main_input = layout.main_input_channels;
            let inputs: Vec<_> = main_input.iter().chain(layout.aux_input_ports).collect();
            assert!(inputs.len() <= INPUTS);
            assert!(layout.aux_output_ports.is_empty());
            for channels in inputs.into_iter().chain(&layout.main_output_channels) {
                assert_eq!(usize::try_from(channels.get()), Ok(CHANNELS));
            }
            assert!(layout.main_output_channels.is_some());
        }
    }
}
