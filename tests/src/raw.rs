//! A second host, on CLAP's own structures. It does what a well-behaved host cannot do: streams
//! that break, nonsensical transports, missing extensions, and calls from two threads. Imports the
//! library only.
//!
//! An [`Instance`] is what a main thread may do with a plugin, a [`Processor`] is what an audio
//! thread may do. The first cannot leave its thread, the second can.

pub mod buffers;
pub mod events;
pub mod gui;
pub mod info;
pub mod params;
mod peer;
pub mod processor;
pub mod stream;
#[cfg(target_os = "linux")]
pub mod window;

pub use buffers::Given;
pub use events::{Events, RawEvent};
pub use peer::{Calls, Knows};
pub use processor::{Hands, Lists, ProcessedBlock, Processor};

use crate::library::Library;
use crate::resizing::{Resizing, Size};
use clap_sys::entry::clap_plugin_entry;
use clap_sys::ext::latency::{CLAP_EXT_LATENCY, clap_plugin_latency};
use clap_sys::ext::render::{CLAP_EXT_RENDER, clap_plugin_render};
use clap_sys::ext::tail::{CLAP_EXT_TAIL, clap_plugin_tail};
use clap_sys::ext::track_info::{CLAP_EXT_TRACK_INFO, clap_plugin_track_info};
use clap_sys::factory::plugin_factory::{CLAP_PLUGIN_FACTORY_ID, clap_plugin_factory};
use clap_sys::plugin::clap_plugin;
use peer::{Peer, Track};
use std::cell::Cell;
use std::ffi::{CStr, c_void};
use std::ptr::NonNull;
use std::sync::atomic::Ordering;

/// A function of an interface. CLAP leaves none of them out.
///
/// # Panics
/// If the other side has left it out.
pub(crate) fn given<F>(function: Option<F>) -> F {
    function.expect("every function of an interface is there")
}

/// The entry of a library.
#[must_use]
pub fn entry(library: &Library) -> &clap_plugin_entry {
    library.entry.raw_entry()
}

/// A factory of a library by its id; none if the library has no such factory.
#[must_use]
pub fn factory(library: &Library, id: &CStr) -> Option<NonNull<c_void>> {
    let get = given(entry(library).get_factory);
    // SAFETY: the library has been initialised, and the id ends with a null.
    let found = unsafe { get(id.as_ptr()) };
    NonNull::new(found.cast_mut())
}

/// The factory of plugins.
///
/// # Panics
/// If the library has none.
#[must_use]
pub fn plugins(library: &Library) -> &clap_plugin_factory {
    let found = factory(library, CLAP_PLUGIN_FACTORY_ID).expect("a factory of plugins");
    // SAFETY: what this id names has this type, and lives as long as the library.
    unsafe { found.cast().as_ref() }
}

/// A plugin that has been created and initialised, as its main thread sees it.
pub struct Instance {
    plugin: NonNull<clap_plugin>,
    /// Outlives the plugin, which calls it.
    peer: Box<Peer>,
    active: Cell<bool>,
}

impl Instance {
    /// Creates and initialises a plugin for a host that knows some extensions.
    /// None if the library has no plugin of this name, or it fails to start.
    #[must_use]
    pub fn new(library: &Library, id: &CStr, knows: Knows) -> Option<Self> {
        let instance = Self::created(library, id, knows)?;
        let init = given(instance.vtable().init);
        // SAFETY: the plugin is fresh, and this is its main thread.
        unsafe { init(instance.plugin()) }.then_some(instance)
    }

    /// Creates a plugin, as [`Instance::new`] does, and does not initialise it.
    #[must_use]
    pub fn created(library: &Library, id: &CStr, knows: Knows) -> Option<Self> {
        let peer = Peer::new(knows);
        let factory = plugins(library);
        let create = given(factory.create_plugin);
        // SAFETY: the host is on the heap and outlives the plugin.
        let plugin = unsafe { create(factory, peer.clap(), id.as_ptr()) };
        let instance = Self {
            plugin: NonNull::new(plugin.cast_mut())?,
            peer,
            active: Cell::new(false),
        };
        let fresh = &instance.peer.plugin;
        fresh.store(plugin.cast_mut(), Ordering::SeqCst);
        Some(instance)
    }

    pub(crate) fn plugin(&self) -> *const clap_plugin {
        self.plugin.as_ptr()
    }

    pub(crate) fn vtable(&self) -> &clap_plugin {
        // SAFETY: the plugin lives until this is dropped.
        unsafe { self.plugin.as_ref() }
    }

    /// How the plugin has called its host.
    #[must_use]
    pub fn calls(&self) -> &Calls {
        &self.peer.calls
    }

    /// Another manner of the host to answer an editor that asks for a size.
    ///
    /// # Panics
    /// If another thread panicked meanwhile.
    pub fn set_resizing(&self, resizing: Resizing) {
        *self.peer.resizing.lock().expect("no test panics meanwhile") = resizing;
    }

    /// The size that the editor has asked for last. The call clears it.
    ///
    /// # Panics
    /// If another thread panicked meanwhile.
    #[must_use]
    pub fn take_asked(&self) -> Option<Size> {
        let mut asked = self.peer.asked.lock().expect("no test panics meanwhile");
        asked.take()
    }

    /// Whether there is a [`Processor`].
    #[must_use]
    pub fn is_active(&self) -> bool {
        self.active.get()
    }

    /// Whatever the plugin offers under an id.
    #[must_use]
    pub fn extension(&self, id: &CStr) -> Option<NonNull<c_void>> {
        let get = given(self.vtable().get_extension);
        // SAFETY: the plugin has been initialised, and the id ends with a null.
        let found = unsafe { get(self.plugin(), id.as_ptr()) };
        NonNull::new(found.cast_mut())
    }

    /// An extension as its type, which must be the one that belongs to the id.
    ///
    /// # Panics
    /// If the plugin has no such extension.
    pub(crate) fn interface<T>(&self, id: &CStr) -> &T {
        let found = self.extension(id);
        let found = found.unwrap_or_else(|| panic!("the plugin lacks {id:?}"));
        // SAFETY: the callers pair ids and types as CLAP does; an extension lives
        // as long as its plugin.
        unsafe { found.cast().as_ref() }
    }

    pub(crate) fn deactivate(&self) {
        let deactivate = given(self.vtable().deactivate);
        // SAFETY: only a processor calls this, on its way out on the main thread.
        unsafe { deactivate(self.plugin()) };
        self.active.set(false);
    }

    /// Answers the plugin's requests for a callback, if there are any.
    pub fn idle(&self) {
        let answer = given(self.vtable().on_main_thread);
        for _ in 0..self.calls().take_callbacks().min(1) {
            // SAFETY: this is the main thread.
            unsafe { answer(self.plugin()) };
        }
    }

    /// The latency in samples.
    #[must_use]
    pub fn latency_samples(&self) -> u32 {
        let latency = self.interface::<clap_plugin_latency>(CLAP_EXT_LATENCY);
        // SAFETY: this is the main thread.
        unsafe { given(latency.get)(self.plugin()) }
    }

    /// The tail in samples. A value from `i32::MAX` up means an endless tail.
    #[must_use]
    pub fn tail_samples(&self) -> u32 {
        let tail = self.interface::<clap_plugin_tail>(CLAP_EXT_TAIL);
        // SAFETY: may be called on both threads.
        unsafe { given(tail.get)(self.plugin()) }
    }

    /// Whether the plugin refuses to run slower or faster than time.
    #[must_use]
    pub fn needs_real_time(&self) -> bool {
        let render = self.interface::<clap_plugin_render>(CLAP_EXT_RENDER);
        // SAFETY: this is the main thread.
        unsafe { given(render.has_hard_realtime_requirement)(self.plugin()) }
    }

    /// Tells the plugin whether it plays live or is written to a file. Returns false if it refuses.
    #[must_use]
    pub fn set_render_mode(&self, mode: i32) -> bool {
        let render = self.interface::<clap_plugin_render>(CLAP_EXT_RENDER);
        // SAFETY: this is the main thread.
        unsafe { given(render.set)(self.plugin(), mode) }
    }

    /// Sets what the host says about the plugin's track from now on: flags as in
    /// [`clap_sys::ext::track_info`], the bytes of the name, which CLAP ends with a null if there
    /// is room, and whether it says anything.
    ///
    /// # Panics
    /// If another call has panicked.
    pub fn tell_track(&self, flags: u64, name: Vec<u8>, told: bool) {
        let mut track = self
            .peer
            .track
            .lock()
            .expect("no test panics while it holds the track");
        *track = Track { flags, name, told };
    }

    /// Tells the plugin that its track has changed.
    pub fn track_changed(&self) {
        let track = self.interface::<clap_plugin_track_info>(CLAP_EXT_TRACK_INFO);
        // SAFETY: this is the main thread.
        unsafe { given(track.changed)(self.plugin()) };
    }
}

impl Drop for Instance {
    fn drop(&mut self) {
        let destroy = given(self.vtable().destroy);
        // SAFETY: a processor borrows the instance, so the plugin is no longer active, and nothing
        // else holds it.
        unsafe { destroy(self.plugin()) };
    }
}
