//! The VST3 entry: the functions that a host looks for in the library, and the factory behind them. It
//! stands in the place of the framework's `nice_export_vst3`, because the framework reads some of what
//! the interface allows past the end or through null, and leaves notes out where there is no audio.
//!
//! The factory makes an object of our own (`guarded`) that holds the framework's and answers for the
//! same interfaces. Most of its methods hand a call on; a few look at it first. Exchanging
//! tables of methods in the framework's object would take less code, but it would write into memory
//! that the framework owns, and leave no place for what an instance has to remember. So references,
//! identity and casts are those of the `vst3` crate, as for every other object.
//!
//! `lent`, `events`, `changes`, `waiting` and `audio` hold what `blocks` needs. The factory runs on the
//! host's main thread. Imports `plugin`; only `lib` exports it.

mod audio;
mod blocks;
mod changes;
mod events;
mod guarded;
mod lent;
mod waiting;

use crate::host::plugin::Guidehand;
use guarded::Guarded;
use nice_plug::wrapper::setup_logger;
use nice_plug::wrapper::vst3::PluginInfo;
use nice_plug::wrapper::vst3::vst3::Steinberg::{
    FIDString, FUnknown, IPluginFactory, IPluginFactory2, IPluginFactory2Trait, IPluginFactory3,
    IPluginFactory3Trait, IPluginFactoryTrait, PClassInfo, PClassInfo2, PClassInfoW, PFactoryInfo,
    TUID, int32, kInvalidArgument, kResultOk, tresult,
};
use nice_plug::wrapper::vst3::vst3::{Class, ComWrapper};
use std::ffi::c_void;

/// What a host asks for classes: there is one, at index 0.
struct Factory {
    class: PluginInfo,
}

impl Class for Factory {
    type Interfaces = (IPluginFactory, IPluginFactory2, IPluginFactory3);
}

/// Writes an answer to a host's place for it.
///
/// # Safety
/// The place is null or valid for writes.
unsafe fn answer<T>(place: *mut T, answer: T) -> tresult {
    if place.is_null() {
        return kInvalidArgument;
    }
    // SAFETY: it is not null, so the caller promises that it is valid.
    unsafe { place.write(answer) };
    kResultOk
}

impl IPluginFactoryTrait for Factory {
    unsafe fn getFactoryInfo(&self, info: *mut PFactoryInfo) -> tresult {
        // SAFETY: the host gives a valid place or none.
        unsafe { answer(info, self.class.create_factory_info()) }
    }

    unsafe fn countClasses(&self) -> int32 {
        1
    }

    unsafe fn getClassInfo(&self, index: int32, info: *mut PClassInfo) -> tresult {
        if index != 0 {
            return kInvalidArgument;
        }
        // SAFETY: the host gives a valid place or none.
        unsafe { answer(info, self.class.create_class_info()) }
    }

    unsafe fn createInstance(
        &self,
        class: FIDString,
        interface: FIDString,
        object: *mut *mut c_void,
    ) -> tresult {
        // SAFETY: an id is null or has sixteen bytes, and needs no alignment.
        let class = unsafe { class.cast::<[u8; 16]>().as_ref() };
        if class != Some(self.class.cid) || interface.is_null() || object.is_null() {
            return kInvalidArgument;
        }
        let guarded = ComWrapper::new(Guarded::new());
        let Some(unknown) = guarded.as_com_ref::<FUnknown>() else {
            return kInvalidArgument;
        };
        let unknown = unknown.as_ptr();
        // SAFETY: the object lives until the end of this function, and longer if this call adds a
        // reference; neither the id nor the place is null.
        unsafe { ((*(*unknown).vtbl).queryInterface)(unknown, interface.cast::<TUID>(), object) }
    }
}

impl IPluginFactory2Trait for Factory {
    unsafe fn getClassInfo2(&self, index: int32, info: *mut PClassInfo2) -> tresult {
        if index != 0 {
            return kInvalidArgument;
        }
        // SAFETY: the host gives a valid place or none.
        unsafe { answer(info, self.class.create_class_info_2()) }
    }
}

impl IPluginFactory3Trait for Factory {
    unsafe fn getClassInfoUnicode(&self, index: int32, info: *mut PClassInfoW) -> tresult {
        if index != 0 {
            return kInvalidArgument;
        }
        // SAFETY: the host gives a valid place or none.
        unsafe { answer(info, self.class.create_class_info_unicode()) }
    }

    unsafe fn setHostContext(&self, _context: *mut FUnknown) -> tresult {
        kResultOk
    }
}

/// The factory, which the host owns from then on.
#[unsafe(no_mangle)]
pub extern "system" fn GetPluginFactory() -> *mut c_void {
    let factory = ComWrapper::new(Factory {
        class: PluginInfo::for_plugin::<Guidehand>(),
    });
    let factory = factory.to_com_ptr::<IPluginFactory>();
    factory.map_or(std::ptr::null_mut(), |factory| factory.into_raw().cast())
}

/// The host has loaded the library (Linux).
#[unsafe(no_mangle)]
#[cfg(all(target_family = "unix", not(target_os = "macos")))]
pub extern "C" fn ModuleEntry(_library: *mut c_void) -> bool {
    setup_logger::<Guidehand>();
    true
}

/// The host is about to unload the library (Linux).
#[unsafe(no_mangle)]
#[cfg(all(target_family = "unix", not(target_os = "macos")))]
pub extern "C" fn ModuleExit() -> bool {
    true
}

/// The host has loaded the library (macOS).
#[unsafe(no_mangle)]
#[cfg(target_os = "macos")]
pub extern "C" fn bundleEntry(_bundle: *mut c_void) -> bool {
    setup_logger::<Guidehand>();
    true
}

/// The host is about to unload the library (macOS).
#[unsafe(no_mangle)]
#[cfg(target_os = "macos")]
pub extern "C" fn bundleExit() -> bool {
    true
}

/// The host has loaded the library (Windows).
#[unsafe(no_mangle)]
#[cfg(target_os = "windows")]
pub extern "system" fn InitDll() -> bool {
    setup_logger::<Guidehand>();
    true
}

/// The host is about to unload the library (Windows).
#[unsafe(no_mangle)]
#[cfg(target_os = "windows")]
pub extern "system" fn ExitDll() -> bool {
    true
}
