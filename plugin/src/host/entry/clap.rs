//! The CLAP entry: what a host finds in the library. It is the framework's but for the plugins, which
//! come as [`Guarded`]. The framework's own macro would export an entry that nothing can stand before.
//! Called on the host's main thread; imports `plugin` and the parts of this folder.

mod audio;
mod events;
mod guarded;

use crate::host::plugin::Guidehand;
use crate::host::standstill::Standstill;
use clap_sys::entry::clap_plugin_entry;
use clap_sys::factory::plugin_factory::{CLAP_PLUGIN_FACTORY_ID, clap_plugin_factory};
use clap_sys::host::clap_host;
use clap_sys::plugin::{clap_plugin, clap_plugin_descriptor};
use clap_sys::version::CLAP_VERSION;
use guarded::Guarded;
use nice_plug::prelude::ClapPlugin;
use nice_plug::wrapper::clap::{PluginDescriptor, Wrapper};
use nice_plug::wrapper::setup_logger;
use std::ffi::{CStr, c_char, c_void};
use std::ptr;
use std::sync::{Arc, OnceLock};

/// The symbol that `clap/entry.h` names.
#[used]
#[unsafe(export_name = "clap_entry")]
pub static CLAP_ENTRY: clap_plugin_entry = clap_plugin_entry {
    clap_version: CLAP_VERSION,
    init: Some(init),
    deinit: Some(deinit),
    get_factory: Some(get_factory),
};

static FACTORY: clap_plugin_factory = clap_plugin_factory {
    get_plugin_count: Some(plugin_count),
    get_plugin_descriptor: Some(plugin_descriptor),
    create_plugin: Some(create_plugin),
};

unsafe extern "C" fn init(_path: *const c_char) -> bool {
    setup_logger::<Guidehand>();
    true
}

unsafe extern "C" fn deinit() {}

/// # Safety
/// The id is null or a C string.
unsafe extern "C" fn get_factory(id: *const c_char) -> *const c_void {
    // SAFETY: the caller's promise.
    if !id.is_null() && unsafe { CStr::from_ptr(id) } == CLAP_PLUGIN_FACTORY_ID {
        ptr::from_ref(&FACTORY).cast()
    } else {
        ptr::null()
    }
}

unsafe extern "C" fn plugin_count(_factory: *const clap_plugin_factory) -> u32 {
    1
}

unsafe extern "C" fn plugin_descriptor(
    _factory: *const clap_plugin_factory,
    index: u32,
) -> *const clap_plugin_descriptor {
    static DESCRIPTOR: OnceLock<PluginDescriptor> = OnceLock::new();
    match index {
        0 => DESCRIPTOR
            .get_or_init(PluginDescriptor::for_plugin::<Guidehand>)
            .clap_plugin_descriptor(),
        _ => ptr::null(),
    }
}

/// # Safety
/// The host is null or outlives the plugin; the id is null or a C string.
unsafe extern "C" fn create_plugin(
    _factory: *const clap_plugin_factory,
    host: *const clap_host,
    id: *const c_char,
) -> *const clap_plugin {
    if host.is_null() || id.is_null() {
        return ptr::null();
    }
    // SAFETY: the caller's promise.
    if unsafe { CStr::from_ptr(id) }.to_bytes() != Guidehand::CLAP_ID.as_bytes() {
        return ptr::null();
    }
    let standstill = Standstill::default();
    // SAFETY: the host outlives the plugin.
    let wrapper = standstill.shared_with(|| unsafe { Wrapper::<Guidehand>::new(host) });
    // The framework takes this back when the plugin is destroyed.
    let wrapper = Arc::into_raw(wrapper);
    // SAFETY: the wrapper lives until then, and with it what it shows to hosts.
    unsafe { Guarded::around((*wrapper).clap_plugin.as_ptr(), standstill) }
}
