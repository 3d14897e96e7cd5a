//! The values of the plugin's parameters, as the host sets and reads them. Imports the host.

use super::Host;
use crate::error::HostError;
use crate::event::{Event, TimedEvent};
use crate::params::Param;
use crate::ports::text;
use clack_extensions::params::PluginParams;
use clack_host::plugin::PluginMainThreadHandle;
use clack_host::utils::ClapId;
use std::ffi::CString;

/// Room for a value as text, in bytes.
const TEXT_BYTES: usize = 256;

impl Host {
    /// The parameters that the plugin declared when it was loaded.
    #[must_use]
    pub fn params(&self) -> &[Param] {
        &self.params
    }

    /// A parameter by its CLAP id.
    ///
    /// # Errors
    /// [`HostError::NoParam`] for an unknown id.
    pub fn param(&self, id: u32) -> Result<&Param, HostError> {
        self.params
            .iter()
            .find(|param| param.id == id)
            .ok_or_else(|| HostError::NoParam(format!("with id {id}")))
    }

    /// A parameter by its name, or by module and name if the name alone is not
    /// enough.
    ///
    /// # Errors
    /// [`HostError::NoParam`] for an unknown name, [`HostError::Misuse`] for one
    /// that several modules have.
    pub fn param_by_name(&self, name: &str) -> Result<&Param, HostError> {
        let mut found = self
            .params
            .iter()
            .filter(|param| param.name == name || param.path() == name);
        let first = found
            .next()
            .ok_or_else(|| HostError::NoParam(format!("named {name}")))?;
        match found.next() {
            None => Ok(first),
            Some(_) => Err(HostError::Misuse(format!(
                "several parameters named {name}"
            ))),
        }
    }

    /// Sets a parameter to a plain value. While processing it takes effect at
    /// the first sample of the next block, otherwise at once. The value is sent
    /// as it is, in range or not.
    ///
    /// # Errors
    /// [`HostError::NoParam`] for an unknown id.
    pub fn set_param(&mut self, id: u32, value: f64) -> Result<(), HostError> {
        self.param(id)?;
        self.pending
            .push(TimedEvent::new(0, Event::Param { id, value }));
        if !self.is_processing() {
            self.flush();
        }
        Ok(())
    }

    /// The plain value of a parameter. A value that waits for the next block has no effect yet.
    ///
    /// # Errors
    /// [`HostError::NoParam`] for an unknown id.
    pub fn param_value(&mut self, id: u32) -> Result<f64, HostError> {
        self.with_param(id, |extension, plugin, id| extension.get_value(plugin, id))?
            .ok_or(HostError::Refused("tell a parameter's value"))
    }

    /// A plain value in the plugin's words, with its unit.
    ///
    /// # Errors
    /// [`HostError::NoParam`] for an unknown id, [`HostError::Refused`] if the
    /// plugin has no words for the value.
    pub fn value_to_text(&mut self, id: u32, value: f64) -> Result<String, HostError> {
        self.with_param(id, |extension, plugin, id| {
            let mut buffer = [0; TEXT_BYTES];
            let words = extension
                .value_to_text(plugin, id, value, &mut buffer)
                .ok()?;
            Some(text(words))
        })?
        .ok_or(HostError::Refused("put a value into words"))
    }

    /// The plain value that a user means by some words.
    ///
    /// # Errors
    /// [`HostError::NoParam`] for an unknown id, [`HostError::Refused`] if the
    /// plugin does not understand the words.
    pub fn text_to_value(&mut self, id: u32, words: &str) -> Result<f64, HostError> {
        let refusal = HostError::Refused("read a value from words");
        let Ok(words) = CString::new(words) else {
            return Err(refusal);
        };
        self.with_param(id, |extension, plugin, id| {
            extension.text_to_value(plugin, id, &words)
        })?
        .ok_or(refusal)
    }

    fn with_param<T>(
        &mut self,
        id: u32,
        ask: impl FnOnce(PluginParams, &PluginMainThreadHandle<'_>, ClapId) -> T,
    ) -> Result<T, HostError> {
        self.param(id)?;
        let plugin = self.instance.plugin_handle();
        let extension = plugin
            .get_extension::<PluginParams>()
            .ok_or(HostError::NoExtension("params"))?;
        let id = ClapId::from_raw(id).ok_or_else(|| HostError::NoParam(format!("with id {id}")))?;
        Ok(ask(extension, &plugin, id))
    }
}
