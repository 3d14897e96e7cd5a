//! How an instance is made. Imports the instance, its buses and its parameters.

use super::accepted;
use super::handler::Handler;
use super::instance::Instance;
use super::module::Module;
use super::passing::Passing;
use crate::error::HostError;
use vst3::Steinberg::FUnknown;
use vst3::Steinberg::IPluginBaseTrait;
use vst3::Steinberg::Vst::{IComponent, IComponentHandler, IEditControllerTrait};
use vst3::{ComPtr, ComWrapper};

impl Instance {
    /// Makes and initialises an instance of a class, and activates the buses that are active by
    /// default.
    ///
    /// # Errors
    /// [`HostError::NoExtension`] for a plugin that lacks one of the three interfaces of a plugin,
    /// [`HostError::Refused`].
    pub fn load(module: &Module, class: &[u8; 16]) -> Result<Self, HostError> {
        let component: ComPtr<IComponent> = module.create(class)?;
        let host = module.host();
        let context = host.as_com_ref::<FUnknown>();
        let context = context.map_or(std::ptr::null_mut(), |host| host.as_ptr());
        // SAFETY: the host lives as long as the module.
        accepted(unsafe { component.initialize(context) }, "be initialised")?;
        let lacks = HostError::NoExtension;
        let mut instance = Self {
            controller: component.cast().ok_or(lacks("IEditController"))?,
            processor: component.cast().ok_or(lacks("IAudioProcessor"))?,
            mapping: component.cast(),
            component,
            handler: ComWrapper::new(Handler::default()),
            params: Vec::new(),
            inputs: Vec::new(),
            outputs: Vec::new(),
            buffers: None,
            max_frames: 0,
            sample_rate_hz: 0.0,
            is_processing: false,
            output_limit: None,
            inputs_passed: Passing::default(),
            outputs_passed: Passing::default(),
            has_long_samples: false,
            _module: module.clone(),
        };
        let handler = instance.handler.as_com_ref::<IComponentHandler>();
        let handler = handler.map_or(std::ptr::null_mut(), |handler| handler.as_ptr());
        // SAFETY: the handler lives as long as the instance.
        let result = unsafe { instance.controller.setComponentHandler(handler) };
        accepted(result, "know its host")?;
        instance.params = instance.read_params()?;
        instance.read_audio_buses()?;
        Ok(instance)
    }
}
