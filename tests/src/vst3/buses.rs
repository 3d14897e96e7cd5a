//! The buses of an instance, and which of them are active. Imports the instance.

use super::bus::{Bus, Direction, Media};
use super::instance::Instance;
use super::{accepted, number, wide_text};
use crate::error::HostError;
use std::mem::MaybeUninit;
use vst3::Steinberg::Vst::{
    BusInfo, BusInfo_::BusFlags_, BusTypes_, IAudioProcessorTrait, IComponentTrait,
};

impl Instance {
    pub(super) fn read_audio_buses(&mut self) -> Result<(), HostError> {
        self.inputs = self.buses(Media::Audio, Direction::In)?;
        self.outputs = self.buses(Media::Audio, Direction::Out)?;
        self.activate_default_buses()
    }

    fn activate_default_buses(&mut self) -> Result<(), HostError> {
        for (media, way) in [
            (Media::Audio, Direction::In),
            (Media::Audio, Direction::Out),
            (Media::Events, Direction::In),
            (Media::Events, Direction::Out),
        ] {
            for (index, bus) in (0..).zip(self.buses(media, way)?) {
                self.set_bus_active(media, way, index, bus.is_active_by_default)?;
            }
        }
        Ok(())
    }

    /// The buses of a kind as the plugin describes them; none is active yet.
    ///
    /// # Errors
    /// [`HostError::Refused`] if it does not describe one that it counts.
    pub fn buses(&self, media: Media, way: Direction) -> Result<Vec<Bus>, HostError> {
        // SAFETY: the component is valid.
        let count = unsafe { self.component.getBusCount(media.number(), way.number()) };
        (0..count).map(|i| self.bus(media, way, i)).collect()
    }

    /// One bus as the plugin describes it.
    ///
    /// # Errors
    /// [`HostError::Refused`] for one that it does not have.
    pub fn bus(&self, media: Media, way: Direction, index: i32) -> Result<Bus, HostError> {
        let mut info = MaybeUninit::<BusInfo>::zeroed();
        let (media_type, direction) = (media.number(), way.number());
        // SAFETY: `info` is a valid place, and zeros are a valid value of it.
        let (result, info) = unsafe {
            let to = info.as_mut_ptr();
            let result = self.component.getBusInfo(media_type, direction, index, to);
            (result, info.assume_init())
        };
        accepted(result, "describe a bus")?;
        Ok(Bus {
            name: wide_text(&info.name),
            channels: info.channelCount,
            is_main: info.busType == number::<i32>(BusTypes_::kMain),
            is_active_by_default: info.flags & number::<u32>(BusFlags_::kDefaultActive) != 0,
            is_active: false,
        })
    }

    /// Makes a bus active or not. An inactive one has no channels in process calls.
    ///
    /// # Errors
    /// [`HostError::Refused`] for one that the plugin does not have.
    pub fn set_bus_active(
        &mut self,
        media: Media,
        way: Direction,
        index: i32,
        is_active: bool,
    ) -> Result<(), HostError> {
        let (media_type, direction) = (media.number(), way.number());
        // SAFETY: the component is valid.
        let result = unsafe {
            let state = is_active.into();
            self.component
                .activateBus(media_type, direction, index, state)
        };
        accepted(result, "activate a bus")?;
        let buses = match (media, way) {
            (Media::Audio, Direction::In) => &mut self.inputs,
            (Media::Audio, Direction::Out) => &mut self.outputs,
            (Media::Events, _) => return Ok(()),
        };
        if let Some(bus) = buses.get_mut(number::<usize>(index)) {
            bus.is_active = is_active;
        }
        Ok(())
    }

    /// Offers the plugin speakers for its buses, as sets of bits, while it is inactive. Returns
    /// whether it takes them. It may have other buses afterwards.
    ///
    /// # Errors
    /// [`HostError::Refused`] if it does not describe its buses afterwards.
    pub fn offer_speakers(&mut self, inputs: &[u64], outputs: &[u64]) -> Result<bool, HostError> {
        let (mut ins, mut outs) = (inputs.to_vec(), outputs.to_vec());
        // SAFETY: both have the length that is passed.
        let result = unsafe {
            let (inputs, outputs) = (number(inputs.len()), number(outputs.len()));
            self.processor
                .setBusArrangements(ins.as_mut_ptr(), inputs, outs.as_mut_ptr(), outputs)
        };
        let is_taken = accepted(result, "take speakers").is_ok();
        if is_taken {
            self.read_audio_buses()?;
        }
        Ok(is_taken)
    }

    /// The speakers of a bus, as a set of bits.
    ///
    /// # Errors
    /// [`HostError::Refused`] for a bus that the plugin does not have.
    pub fn speakers(&self, way: Direction, index: i32) -> Result<u64, HostError> {
        let mut speakers = 0;
        // SAFETY: `speakers` is a valid place.
        let result = unsafe {
            self.processor
                .getBusArrangement(way.number(), index, &mut speakers)
        };
        accepted(result, "tell the speakers of a bus")?;
        Ok(speakers)
    }
}
