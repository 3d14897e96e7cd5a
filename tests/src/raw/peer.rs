//! The host's side: what a plugin can request, and what it has requested. Imports the manners of
//! hosts.

use crate::resizing::{Resizing, Size};
use clap_sys::color::clap_color;
use clap_sys::ext::gui::{CLAP_EXT_GUI, clap_host_gui, clap_plugin_gui};
use clap_sys::ext::params::{CLAP_EXT_PARAMS, clap_host_params};
use clap_sys::ext::thread_check::{CLAP_EXT_THREAD_CHECK, clap_host_thread_check};
use clap_sys::ext::track_info::{CLAP_EXT_TRACK_INFO, clap_host_track_info, clap_track_info};
use clap_sys::host::clap_host;
use clap_sys::plugin::clap_plugin;
use clap_sys::string_sizes::CLAP_NAME_SIZE;
use clap_sys::version::CLAP_VERSION;
use std::cell::Cell;
use std::ffi::{CStr, c_char, c_void};
use std::ptr;
use std::sync::Mutex;
use std::sync::atomic::{AtomicPtr, AtomicU32, Ordering};
use std::thread::{self, ThreadId};

thread_local! {
    /// Whether this thread stands for the audio thread right now.
    static IS_AUDIO: Cell<bool> = const { Cell::new(false) };
}

/// Runs something as an audio thread.
pub(super) fn as_audio_thread<T>(run: impl FnOnce() -> T) -> T {
    IS_AUDIO.set(true);
    let result = run();
    IS_AUDIO.set(false);
    result
}

/// The extensions that a host has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Knows {
    /// None at all.
    Nothing,
    /// Parameters, windows, threads and tracks.
    All,
}

/// How often a plugin has called its host. Written by any thread.
#[derive(Debug, Default)]
pub struct Calls {
    /// Requests for a callback that are not answered yet.
    callbacks: AtomicU32,
    restarts: AtomicU32,
    rescans: AtomicU32,
    /// Calls on the wrong thread.
    wrong_thread: AtomicU32,
}

impl Calls {
    pub(super) fn take_callbacks(&self) -> u32 {
        self.callbacks.swap(0, Ordering::SeqCst)
    }

    /// Requests to be deactivated and activated again.
    #[must_use]
    pub fn restarts(&self) -> u32 {
        self.restarts.load(Ordering::SeqCst)
    }

    /// Requests to have parameters read again.
    #[must_use]
    pub fn rescans(&self) -> u32 {
        self.rescans.load(Ordering::SeqCst)
    }

    /// Main-thread calls from another thread, which are a fault of the plugin.
    #[must_use]
    pub fn wrong_thread(&self) -> u32 {
        self.wrong_thread.load(Ordering::SeqCst)
    }
}

/// What a host says about the plugin's track.
pub(super) struct Track {
    /// Which of the fields count, see [`clap_sys::ext::track_info`].
    pub(super) flags: u64,
    /// The bytes of the name; with as many as CLAP has room for, no null follows.
    pub(super) name: Vec<u8>,
    /// Whether the host says anything.
    pub(super) told: bool,
}

/// One host for one plugin.
pub(super) struct Peer {
    clap: clap_host,
    knows: Knows,
    main_thread: ThreadId,
    pub(super) calls: Calls,
    pub(super) track: Mutex<Track>,
    pub(super) resizing: Mutex<Resizing>,
    /// The size that the editor has asked for last.
    pub(super) asked: Mutex<Option<Size>>,
    /// The plugin, from its making on.
    pub(super) plugin: AtomicPtr<clap_plugin>,
}

impl Peer {
    /// It is on the heap, because the plugin keeps its address.
    pub(super) fn new(knows: Knows) -> Box<Self> {
        let mut peer = Box::new(Self {
            clap: clap_host {
                clap_version: CLAP_VERSION,
                host_data: ptr::null_mut(),
                name: c"Guidehand tests".as_ptr(),
                vendor: c"Guidehand".as_ptr(),
                url: ptr::null(),
                version: c"1".as_ptr(),
                get_extension: Some(get_extension),
                request_restart: Some(request_restart),
                request_process: Some(request_process),
                request_callback: Some(request_callback),
            },
            knows,
            main_thread: thread::current().id(),
            calls: Calls::default(),
            track: Mutex::new(Track {
                flags: 0,
                name: Vec::new(),
                told: false,
            }),
            resizing: Mutex::new(Resizing::Refuses),
            asked: Mutex::default(),
            plugin: AtomicPtr::default(),
        });
        peer.clap.host_data = ptr::from_mut(&mut *peer).cast();
        peer
    }

    pub(super) fn clap(&self) -> *const clap_host {
        &raw const self.clap
    }

    fn on_main_thread(&self) -> bool {
        thread::current().id() == self.main_thread && !IS_AUDIO.get()
    }

    fn count_main(&self, count: &AtomicU32) {
        count.fetch_add(1, Ordering::SeqCst);
        if !self.on_main_thread() {
            self.calls.wrong_thread.fetch_add(1, Ordering::SeqCst);
        }
    }
}

/// The host that belongs to a plugin's pointer.
///
/// # Safety
/// The pointer must be the one that the plugin was created with.
unsafe fn peer<'a>(host: *const clap_host) -> &'a Peer {
    // SAFETY: it lives until after the plugin is destroyed; only shared
    // references to it are made.
    unsafe { &*(*host).host_data.cast_const().cast() }
}

unsafe extern "C" fn get_extension(host: *const clap_host, id: *const c_char) -> *const c_void {
    // SAFETY: plugins pass the host that they were given.
    let peer = unsafe { peer(host) };
    if peer.knows == Knows::Nothing || id.is_null() {
        return ptr::null();
    }
    // SAFETY: ids end with a null.
    let id = unsafe { CStr::from_ptr(id) };
    if id == CLAP_EXT_PARAMS {
        ptr::from_ref(&PARAMS).cast()
    } else if id == CLAP_EXT_GUI {
        ptr::from_ref(&GUI).cast()
    } else if id == CLAP_EXT_THREAD_CHECK {
        ptr::from_ref(&THREADS).cast()
    } else if id == CLAP_EXT_TRACK_INFO {
        ptr::from_ref(&TRACK).cast()
    } else {
        ptr::null()
    }
}

unsafe extern "C" fn request_restart(host: *const clap_host) {
    // SAFETY: plugins pass the host that they were given.
    let peer = unsafe { peer(host) };
    peer.calls.restarts.fetch_add(1, Ordering::SeqCst);
}

unsafe extern "C" fn request_process(_: *const clap_host) {}

unsafe extern "C" fn request_callback(host: *const clap_host) {
    // SAFETY: plugins pass the host that they were given.
    let peer = unsafe { peer(host) };
    peer.calls.callbacks.fetch_add(1, Ordering::SeqCst);
}

static PARAMS: clap_host_params = clap_host_params {
    rescan: Some(rescan),
    clear: Some(clear),
    request_flush: Some(request_flush),
};

unsafe extern "C" fn rescan(host: *const clap_host, _: u32) {
    // SAFETY: plugins pass the host that they were given.
    let peer = unsafe { peer(host) };
    peer.count_main(&peer.calls.rescans);
}

unsafe extern "C" fn clear(host: *const clap_host, _: u32, _: u32) {
    // SAFETY: plugins pass the host that they were given.
    let peer = unsafe { peer(host) };
    peer.count_main(&peer.calls.rescans);
}

unsafe extern "C" fn request_flush(_: *const clap_host) {}

/// A host whose windows stay as they are, unless it has other manners.
static GUI: clap_host_gui = clap_host_gui {
    resize_hints_changed: Some(hints_changed),
    request_resize: Some(request_resize),
    request_show: Some(request_window),
    request_hide: Some(request_window),
    closed: Some(closed),
};

unsafe extern "C" fn hints_changed(_: *const clap_host) {}

unsafe extern "C" fn request_resize(host: *const clap_host, width: u32, height: u32) -> bool {
    // SAFETY: plugins pass the host that they were given.
    let peer = unsafe { peer(host) };
    if !peer.on_main_thread() {
        peer.calls.wrong_thread.fetch_add(1, Ordering::SeqCst);
        return false;
    }
    let resizing = *peer.resizing.lock().expect("no test panics meanwhile");
    if resizing == Resizing::Refuses {
        return false;
    }
    *peer.asked.lock().expect("no test panics meanwhile") = Some((width, height));
    if resizing == Resizing::Within {
        let plugin = peer.plugin.load(Ordering::SeqCst);
        // SAFETY: an editor that asks belongs to a plugin that has been made, and this is its
        // main thread.
        return unsafe { give_size(plugin, (width, height)) };
    }
    true
}

/// Gives the editor of a plugin a size. Returns false if it refuses.
///
/// # Safety
/// The plugin must be alive, and this its main thread.
unsafe fn give_size(plugin: *const clap_plugin, (width, height): Size) -> bool {
    // SAFETY: the plugin is alive.
    let Some(get) = (unsafe { (*plugin).get_extension }) else {
        return false;
    };
    // SAFETY: the plugin is alive, and what this id names has this type.
    let gui = unsafe {
        get(plugin, CLAP_EXT_GUI.as_ptr())
            .cast::<clap_plugin_gui>()
            .as_ref()
    };
    let set = gui.and_then(|gui| gui.set_size);
    // SAFETY: this is the main thread.
    set.is_some_and(|set| unsafe { set(plugin, width, height) })
}

unsafe extern "C" fn request_window(_: *const clap_host) -> bool {
    false
}

unsafe extern "C" fn closed(_: *const clap_host, _: bool) {}

static THREADS: clap_host_thread_check = clap_host_thread_check {
    is_main_thread: Some(is_main_thread),
    is_audio_thread: Some(is_audio_thread),
};

unsafe extern "C" fn is_main_thread(host: *const clap_host) -> bool {
    // SAFETY: plugins pass the host that they were given.
    unsafe { peer(host) }.on_main_thread()
}

unsafe extern "C" fn is_audio_thread(_: *const clap_host) -> bool {
    IS_AUDIO.get()
}

static TRACK: clap_host_track_info = clap_host_track_info { get: Some(track) };

unsafe extern "C" fn track(host: *const clap_host, info: *mut clap_track_info) -> bool {
    // SAFETY: plugins pass the host that they were given.
    let peer = unsafe { peer(host) };
    let track = peer
        .track
        .lock()
        .expect("no test panics while it holds the track");
    let mut name = [0; CLAP_NAME_SIZE];
    for (place, byte) in name.iter_mut().zip(&track.name) {
        *place = c_char::from_ne_bytes([*byte]);
    }
    let told = clap_track_info {
        flags: track.flags,
        name,
        color: clap_color {
            alpha: 255,
            red: 1,
            green: 2,
            blue: 3,
        },
        audio_channel_count: 2,
        audio_port_type: ptr::null(),
    };
    if track.told {
        // SAFETY: the plugin gives room for one.
        unsafe { info.write(told) };
    }
    track.told
}
