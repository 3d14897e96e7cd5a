//! The host as a plugin sees it: its name, and the calls that report edits. Imports nothing of this
//! crate.

use std::ffi::c_void;
use std::sync::Mutex;
use vst3::Class;
use vst3::Steinberg::Vst::{
    IComponentHandler, IComponentHandlerTrait, IHostApplication, IHostApplicationTrait, ParamID,
    ParamValue, String128,
};
use vst3::Steinberg::{TUID, int32, kInvalidArgument, kNotImplemented, kResultOk, tresult};

/// The host's name.
const NAME: &str = "Guidehand tests";

/// A call of a plugin to its host.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HandlerCall {
    /// The user takes hold of a parameter.
    Begin(u32),
    /// A parameter has a new value, from 0 to 1.
    Perform(u32, f64),
    /// The user lets go of a parameter.
    End(u32),
    /// Something has changed, as a set of flags.
    Restart(i32),
}

/// The host. A plugin may call it from any of its threads.
#[derive(Debug, Default)]
pub struct Handler {
    told: Mutex<Vec<HandlerCall>>,
}

impl Class for Handler {
    type Interfaces = (IHostApplication, IComponentHandler);
}

impl Handler {
    /// The plugin's calls so far.
    ///
    /// # Panics
    /// If another thread panicked during a call.
    #[must_use]
    pub fn told(&self) -> Vec<HandlerCall> {
        self.told.lock().expect("no thread panicked here").clone()
    }

    fn hear(&self, what: HandlerCall) -> tresult {
        // A panic must not cross the interface.
        if let Ok(mut told) = self.told.lock() {
            told.push(what);
        }
        kResultOk
    }
}

impl IHostApplicationTrait for Handler {
    unsafe fn getName(&self, name: *mut String128) -> tresult {
        // SAFETY: the plugin gives a valid place or none.
        let Some(name) = (unsafe { name.as_mut() }) else {
            return kInvalidArgument;
        };
        name.fill(0);
        for (to, from) in name.iter_mut().zip(NAME.encode_utf16()) {
            *to = from;
        }
        kResultOk
    }

    unsafe fn createInstance(
        &self,
        _class: *mut TUID,
        _interface: *mut TUID,
        _object: *mut *mut c_void,
    ) -> tresult {
        kNotImplemented
    }
}

impl IComponentHandlerTrait for Handler {
    unsafe fn beginEdit(&self, id: ParamID) -> tresult {
        self.hear(HandlerCall::Begin(id))
    }

    unsafe fn performEdit(&self, id: ParamID, value: ParamValue) -> tresult {
        self.hear(HandlerCall::Perform(id, value))
    }

    unsafe fn endEdit(&self, id: ParamID) -> tresult {
        self.hear(HandlerCall::End(id))
    }

    unsafe fn restartComponent(&self, flags: int32) -> tresult {
        self.hear(HandlerCall::Restart(flags))
    }
}
