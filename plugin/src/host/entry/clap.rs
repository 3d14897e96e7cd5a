//! The CLAP entry: what a host finds in the library. It is the framework's but for the plugins, which
//! come as [`Guarded`]. The framework's own macro would export an entry that nothing can stand before.
//! Called on the host's main thread; imports `plugin`, `shared` and the parts of this folder.

mod answers;
mod audio;
mod events;
mod guarded;

use crate::bridge::wake::Wake;
use crate::host::plugin::Guidehand;
use crate::host::shared::Shared;
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
    let shared = Shared {
        // SAFETY: the host outlives the plugin, and the guard forgets it where the plugin is destroyed.
        wake: unsafe { wake(host) },
        ..Shared::default()
    };
    // SAFETY: the host outlives the plugin.
    let wrapper = shared.with(|| unsafe { Wrapper::<Guidehand>::new(host) });
    // The framework takes this back when the plugin is destroyed.
    let wrapper = Arc::into_raw(wrapper);
    // SAFETY: the wrapper lives until then, and with it what it shows to hosts.
    unsafe { Guarded::around((*wrapper).clap_plugin.as_ptr(), shared) }
}

/// Asks a host to process, as `clap_host.request_process` does: it may be called on any thread
/// (`clap/host.h`).
///
/// # Safety
/// The host lives until the result forgets it.
unsafe fn wake(host: *const clap_host) -> Wake {
    /// A host that is asked on other threads than its own.
    struct Asked(*const clap_host);
    // SAFETY: only the function that `clap/host.h` marks as thread-safe is called.
    unsafe impl Send for Asked {}

    let asked = Asked(host);
    Wake::new(move || {
        let Asked(host) = &asked;
        // SAFETY: the caller's promise.
        unsafe {
            if let Some(request_process) = (**host).request_process {
                request_process(*host);
            }
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicU32, Ordering};

    type Request = unsafe extern "C" fn(*const clap_host);

    unsafe extern "C" fn count(host: *const clap_host) {
        // SAFETY: the host of the test, whose data is the count.
        let asked = unsafe { &*(*host).host_data.cast_const().cast::<AtomicU32>() };
        asked.fetch_add(1, Ordering::Relaxed);
    }

    #[test]
    fn a_host_is_asked_by_its_own_function_if_it_has_one() {
        for (request_process, times) in [(Some(count as Request), 1), (None, 0)] {
            let asked = AtomicU32::new(0);
            let host = clap_host {
                clap_version: CLAP_VERSION,
                host_data: ptr::from_ref(&asked).cast_mut().cast(),
                name: c"test".as_ptr(),
                vendor: c"".as_ptr(),
                url: c"".as_ptr(),
                version: c"".as_ptr(),
                get_extension: None,
                request_restart: None,
                request_process,
                request_callback: None,
            };
            // SAFETY: the host lives until it is forgotten.
            let wake = unsafe { wake(&raw const host) };
            wake.ask();
            wake.forget();
            wake.ask();
            assert_eq!(asked.load(Ordering::Relaxed), times);
        }
    }
}
