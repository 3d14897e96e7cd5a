//! The parameters of an instance and their values. Imports the instance.

use super::instance::Instance;
use super::param::Param;
use super::{accepted, wide_text};
use crate::error::HostError;
use std::mem::MaybeUninit;
use vst3::Steinberg::Vst::{IEditControllerTrait, IMidiMappingTrait, ParameterInfo, String128};

impl Instance {
    pub(super) fn read_params(&self) -> Result<Vec<Param>, HostError> {
        // SAFETY: the controller is valid.
        let count = unsafe { self.controller().getParameterCount() };
        (0..count)
            .map(|index| self.describe_param(index))
            .collect::<Result<_, _>>()
    }

    /// What the plugin says about the parameter at a place in its list.
    ///
    /// # Errors
    /// [`HostError::Refused`].
    pub fn describe_param(&self, index: i32) -> Result<Param, HostError> {
        let mut info = MaybeUninit::<ParameterInfo>::zeroed();
        // SAFETY: `info` is a valid place, and zeros are a valid value of it.
        let (result, info) = unsafe {
            let result = self.controller().getParameterInfo(index, info.as_mut_ptr());
            (result, info.assume_init())
        };
        accepted(result, "describe a parameter")?;
        Ok(Param::read(&info))
    }

    /// The plugin's own parameters, without those that stand for controllers.
    pub fn own_params(&self) -> impl Iterator<Item = &Param> {
        let controllers = self.controller_ids();
        self.params()
            .iter()
            .filter(move |param| !controllers.contains(&param.id))
    }

    /// A parameter by its name.
    ///
    /// # Errors
    /// [`HostError::NoParam`] for an unknown name.
    pub fn param_by_name(&self, name: &str) -> Result<&Param, HostError> {
        let found = self.params().iter().find(|param| param.name == name);
        found.ok_or_else(|| HostError::NoParam(format!("named {name}")))
    }

    /// A parameter by its id.
    ///
    /// # Errors
    /// [`HostError::NoParam`] for an unknown id.
    pub fn param(&self, id: u32) -> Result<&Param, HostError> {
        let found = self.params().iter().find(|param| param.id == id);
        found.ok_or_else(|| HostError::NoParam(format!("with id {id}")))
    }

    /// The value of a parameter, from 0 to 1.
    #[must_use]
    pub fn param_value(&self, id: u32) -> f64 {
        // SAFETY: the controller is valid.
        unsafe { self.controller().getParamNormalized(id) }
    }

    /// Sets a parameter from outside of blocks, from 0 to 1.
    ///
    /// # Errors
    /// [`HostError::NoParam`] for an unknown id, [`HostError::Refused`].
    pub fn set_param(&mut self, id: u32, value: f64) -> Result<(), HostError> {
        self.param(id)?;
        // SAFETY: the controller is valid.
        let result = unsafe { self.controller().setParamNormalized(id, value) };
        accepted(result, "take a parameter's value")
    }

    /// A value from 0 to 1 in the plugin's words, without its unit.
    ///
    /// # Errors
    /// [`HostError::Refused`] if it has no words for it.
    pub fn value_to_text(&self, id: u32, value: f64) -> Result<String, HostError> {
        let mut words: String128 = [0; 128];
        // SAFETY: `words` is a valid place.
        let result = unsafe {
            self.controller()
                .getParamStringByValue(id, value, &mut words)
        };
        accepted(result, "put a value into words")?;
        Ok(wide_text(&words))
    }

    /// The value, from 0 to 1, that a user means by some words.
    ///
    /// # Errors
    /// [`HostError::Refused`] if the plugin does not understand them.
    pub fn text_to_value(&self, id: u32, words: &str) -> Result<f64, HostError> {
        let mut wide: Vec<u16> = words.encode_utf16().chain([0]).collect();
        let mut value = 0.0;
        // SAFETY: the text ends with a zero, and `value` is a valid place.
        let result = unsafe {
            self.controller()
                .getParamValueByString(id, wide.as_mut_ptr(), &mut value)
        };
        accepted(result, "read a value from words")?;
        Ok(value)
    }

    /// A value from 0 to 1 in the parameter's own range, and that value converted back.
    #[must_use]
    pub fn plain_and_back(&self, id: u32, value: f64) -> (f64, f64) {
        // SAFETY: the controller is valid.
        unsafe {
            let plain = self.controller().normalizedParamToPlain(id, value);
            (plain, self.controller().plainParamToNormalized(id, plain))
        }
    }

    /// The parameter that stands for a MIDI controller: 0 to 127, 128 for the
    /// pressure of a channel, 129 for pitch bend.
    #[must_use]
    pub fn controller_id(&self, channel: u8, controller: u8) -> Option<u32> {
        let mapping = self.mapping()?;
        let mut id = 0;
        // SAFETY: `id` is a valid place.
        let result = unsafe {
            mapping.getMidiControllerAssignment(0, channel.into(), controller.into(), &mut id)
        };
        accepted(result, "assign a controller").ok().map(|()| id)
    }

    /// The parameters that stand for controllers of any channel.
    fn controller_ids(&self) -> std::collections::HashSet<u32> {
        let all = (0..16).flat_map(|channel| (0..=129).map(move |number| (channel, number)));
        all.filter_map(|(channel, number)| self.controller_id(channel, number))
            .collect()
    }
}
