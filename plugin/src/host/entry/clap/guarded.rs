//! A CLAP plugin of the framework behind checks of what its host hands over. Where everything is in
//! order the framework gets the host's own structures, but for the list that it writes to. Otherwise it
//! gets a block with what is missing, and without what cannot be. Each function runs on the thread that `clap/plugin.h` names; imports
//! `answers`, `audio`, `events`, `scratch` and `shared`.

use super::answers::Answers;
use super::audio::{self, Completed, Declared, Ports};
use super::events::{self, Mended};
use crate::host::entry::scratch::Scratch;
use crate::host::shared::Shared;
use clap_sys::events::{clap_input_events, clap_output_events};
use clap_sys::ext::gui::{CLAP_EXT_GUI, clap_plugin_gui};
use clap_sys::ext::params::{CLAP_EXT_PARAMS, clap_param_info, clap_plugin_params};
use clap_sys::plugin::clap_plugin;
use clap_sys::process::{CLAP_PROCESS_ERROR, clap_process, clap_process_status};
use std::ffi::{CStr, c_char, c_void};
use std::ptr;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Mutex, MutexGuard, OnceLock, TryLockError};
use std::time::Duration;

/// The number in the place of [`Declared`] while the plugin is not active.
const NOT_ACTIVE: u64 = 0;

/// A plugin as its host sees it.
#[repr(C)]
pub struct Guarded {
    /// The framework's functions but for those below. It comes first, so that the pointer that a host
    /// has to it is one to the whole.
    shown: clap_plugin,
    /// The framework's own.
    inner: *const clap_plugin,
    /// The framework's parameters, and the same as a host sees them.
    params: OnceLock<[clap_plugin_params; 2]>,
    /// The host has asked for the editor's functions.
    knows_editor: AtomicBool,
    /// The ports while it is active.
    declared: AtomicU64,
    /// Nobody waits for it on the audio thread. Another activation holds it for a moment, which no
    /// host may begin during a block.
    scratch: Mutex<Scratch>,
    shared: Shared,
}

impl Guarded {
    /// The plugin for a host. It lives until the host destroys it.
    ///
    /// # Safety
    /// The framework's plugin lives until it is destroyed, and this is its main thread.
    pub unsafe fn around(inner: *const clap_plugin, shared: Shared) -> *const clap_plugin {
        // The framework finds its instance by `plugin_data`, through whichever of the two.
        // SAFETY: the caller's promise.
        let framework = unsafe { *inner };
        let guarded = Box::new(Self {
            shown: clap_plugin {
                destroy: Some(destroy),
                activate: Some(activate),
                deactivate: Some(deactivate),
                process: Some(process),
                get_extension: Some(get_extension),
                ..framework
            },
            inner,
            params: OnceLock::new(),
            knows_editor: AtomicBool::new(false),
            declared: AtomicU64::new(NOT_ACTIVE),
            scratch: Mutex::default(),
            shared,
        });
        Box::into_raw(guarded).cast_const().cast()
    }

    /// # Safety
    /// The pointer is null, or came from [`Guarded::around`] and has not been destroyed.
    #[inline]
    unsafe fn of<'g>(plugin: *const clap_plugin) -> Option<&'g Self> {
        // SAFETY: `shown` is the first field of a `repr(C)` structure.
        unsafe { plugin.cast::<Self>().as_ref() }
    }

    /// The scratch memory; none while somebody else has it.
    fn try_scratch(&self) -> Option<MutexGuard<'_, Scratch>> {
        match self.scratch.try_lock() {
            Ok(scratch) => Some(scratch),
            Err(TryLockError::Poisoned(poisoned)) => Some(poisoned.into_inner()),
            Err(TryLockError::WouldBlock) => None,
        }
    }

    /// Puts other scratch memory in its place; false if the audio thread holds it for a second, which
    /// is as long as the framework would wait. It does not wait in the lock, for the audio thread
    /// would have to wake it.
    fn replace_scratch(&self, mut scratch: Scratch) -> bool {
        for _ in 0..1_000 {
            if let Some(mut place) = self.try_scratch() {
                std::mem::swap(&mut *place, &mut scratch);
                return true;
            }
            std::thread::sleep(Duration::from_millis(1));
        }
        false
    }

    /// Hands a block on to the framework.
    ///
    /// # Safety
    /// As for [`process`], and the framework can take the block.
    #[inline]
    unsafe fn forward(&self, block: &clap_process) -> clap_process_status {
        let play = |block: *const clap_process| {
            // SAFETY: the framework's plugin lives as long as `self`; the caller's promise.
            unsafe {
                let process = (*self.inner).process;
                process.map_or(CLAP_PROCESS_ERROR, |process| {
                    framework_asserts(|| process(self.inner, block))
                })
            }
        };
        if block.out_events.is_null() {
            return play(block);
        }
        let answers = Answers::new(block.out_events);
        let out_events = answers.clap();
        let block = clap_process {
            out_events: &raw const out_events,
            ..*block
        };
        play(&raw const block)
    }

    /// Plays a block that the framework cannot take as it is.
    ///
    /// # Safety
    /// As for [`process`].
    #[cold]
    #[inline(never)]
    unsafe fn play_mended(&self, block: &clap_process, declared: Declared) -> clap_process_status {
        let Some(mut scratch) = self.try_scratch().filter(|it| it.frames() > 0) else {
            return CLAP_PROCESS_ERROR;
        };
        let no_time_passes = block.frames_count == 0;
        let frames = usize::try_from(block.frames_count).unwrap_or(usize::MAX);
        // A host that breaks its word on the length of blocks gets as much as there is room for.
        let played = frames.clamp(1, scratch.frames());
        let frames_count = u32::try_from(played).unwrap_or(u32::MAX);

        let host_inputs = Ports::new(block.audio_inputs, block.audio_inputs_count);
        let host_outputs = Ports::new(block.audio_outputs, block.audio_outputs_count);
        // The host's channels have no room for the frame of a call that takes no time.
        let none = Ports::new(ptr::null(), 0);
        let [from, to] = match no_time_passes {
            true => [none, none],
            false => [host_inputs, host_outputs],
        };
        let (mut inputs, mut outputs) = (Completed::empty(), Completed::empty());
        // SAFETY: the caller's promise on the host's ports; there are no channels in `none`.
        let (ins, outs) = unsafe {
            (
                inputs.inputs(declared, from, &mut scratch, played),
                outputs.outputs(declared, to, &mut scratch),
            )
        };
        // SAFETY: the caller's promise.
        let mended_events = unsafe { Mended::new(block.in_events, frames_count) };
        let in_events = mended_events.clap();
        // SAFETY: the caller's promise.
        let can_be_written = unsafe { events::can_be_written(block.out_events) };
        let mended = clap_process {
            frames_count,
            audio_inputs: ins.0,
            audio_inputs_count: ins.1,
            audio_outputs: outs.0,
            audio_outputs_count: outs.1,
            in_events: &raw const in_events,
            out_events: if can_be_written {
                block.out_events
            } else {
                ptr::null()
            },
            ..*block
        };
        // SAFETY: every port is there with all its channels, each of them has room for the frames,
        // and the events are in order.
        let play = || unsafe { self.forward(&mended) };
        if no_time_passes {
            return self.shared.standstill.during(play);
        }
        let status = play();
        // SAFETY: the caller's promise.
        unsafe { audio::silence_the_rest(declared, host_outputs, frames, played) };
        status
    }
}

/// # Safety
/// The plugin is null, or one that has not been destroyed; this is its main thread.
unsafe extern "C" fn destroy(plugin: *const clap_plugin) {
    // SAFETY: the caller's promise.
    let Some(guarded) = (unsafe { Guarded::of(plugin) }) else {
        return;
    };
    guarded.shared.wake.forget();
    let inner = guarded.inner;
    // SAFETY: the framework's plugin is destroyed once, with this one.
    unsafe {
        if guarded.knows_editor.load(Ordering::Relaxed) {
            close_editor(inner);
        }
        if let Some(destroy) = (*inner).destroy {
            destroy(inner);
        }
        drop(Box::from_raw(plugin.cast_mut().cast::<Guarded>()));
    }
}

/// Closes an editor that the host has left open. The framework's plugin and the window hold each other,
/// so both would stay, with the window's threads.
///
/// # Safety
/// The framework's plugin lives, and this is its main thread.
unsafe fn close_editor(inner: *const clap_plugin) {
    // SAFETY: the caller's promise; what the framework shows lives as long as its plugin.
    unsafe {
        let Some(get_extension) = (*inner).get_extension else {
            return;
        };
        let gui = get_extension(inner, CLAP_EXT_GUI.as_ptr()).cast::<clap_plugin_gui>();
        if let Some(destroy) = gui.as_ref().and_then(|gui| gui.destroy) {
            destroy(inner);
        }
    }
}

/// # Safety
/// As for [`destroy`].
unsafe extern "C" fn activate(
    plugin: *const clap_plugin,
    rate_hz: f64,
    least_frames: u32,
    most_frames: u32,
) -> bool {
    // SAFETY: the caller's promise.
    let Some(guarded) = (unsafe { Guarded::of(plugin) }) else {
        return false;
    };
    let inner = guarded.inner;
    // SAFETY: the framework's plugin lives, and this is its main thread.
    let declared = unsafe { Declared::by(inner) };
    // SAFETY: as before.
    let Some((declared, activate)) = declared.zip(unsafe { (*inner).activate }) else {
        return false;
    };
    let frames = usize::try_from(most_frames.max(1)).unwrap_or(usize::MAX);
    if !guarded.replace_scratch(Scratch::new(declared.output_channels(), frames)) {
        return false;
    }
    // SAFETY: as before.
    let active = unsafe { activate(inner, rate_hz, least_frames, most_frames) };
    if active {
        guarded.declared.store(declared.bits(), Ordering::Release);
    }
    active
}

/// # Safety
/// As for [`destroy`].
unsafe extern "C" fn deactivate(plugin: *const clap_plugin) {
    // SAFETY: the caller's promise.
    let Some(guarded) = (unsafe { Guarded::of(plugin) }) else {
        return;
    };
    guarded.declared.store(NOT_ACTIVE, Ordering::Release);
    // SAFETY: the framework's plugin lives, and this is its main thread.
    unsafe {
        if let Some(deactivate) = (*guarded.inner).deactivate {
            deactivate(guarded.inner);
        }
    }
}

/// # Safety
/// The plugin is null, or one that has not been destroyed; this is its audio thread. The block is null,
/// or each pointer in it is null or points to what `clap/process.h` says. Pointers to channels may be
/// null, and events of any kind and at any time.
unsafe extern "C" fn process(
    plugin: *const clap_plugin,
    block: *const clap_process,
) -> clap_process_status {
    // SAFETY: the caller's promise.
    no_allocation(|| unsafe { check_and_play(plugin, block) })
}

/// In a build that asserts it, aborts on an allocation, as the framework does within `process`.
#[inline]
fn no_allocation<T>(work: impl FnOnce() -> T) -> T {
    #[cfg(feature = "assert_process_allocs")]
    return nice_assert_no_alloc::assert_no_alloc(work);
    #[cfg(not(feature = "assert_process_allocs"))]
    work()
}

/// Lifts our own assertion where the framework has its own. What the framework permits within that
/// counts against one assertion only.
#[inline]
fn framework_asserts<T>(work: impl FnOnce() -> T) -> T {
    #[cfg(feature = "assert_process_allocs")]
    return nice_assert_no_alloc::permit_alloc(work);
    #[cfg(not(feature = "assert_process_allocs"))]
    work()
}

/// # Safety
/// As for [`process`].
#[inline]
unsafe fn check_and_play(
    plugin: *const clap_plugin,
    block: *const clap_process,
) -> clap_process_status {
    // SAFETY: the caller's promise.
    let (Some(guarded), Some(host)) = (unsafe { (Guarded::of(plugin), block.as_ref()) }) else {
        return CLAP_PROCESS_ERROR;
    };
    let Some(declared) = Declared::from_bits(guarded.declared.load(Ordering::Acquire)) else {
        return CLAP_PROCESS_ERROR;
    };
    let inputs = Ports::new(host.audio_inputs, host.audio_inputs_count);
    let outputs = Ports::new(host.audio_outputs, host.audio_outputs_count);
    // SAFETY: the caller's promise.
    let in_order = unsafe {
        host.frames_count > 0
            && declared.are_all_in(inputs, outputs)
            && events::can_be_written(host.out_events)
            && events::are_in_order(host.in_events, host.frames_count)
    };
    // SAFETY: the framework can take a block that is in order; the caller's promise holds for the
    // other.
    unsafe {
        if in_order {
            guarded.forward(host)
        } else {
            guarded.play_mended(host, declared)
        }
    }
}

/// # Safety
/// As for [`destroy`], but on any thread. The id is null or a C string.
unsafe extern "C" fn get_extension(plugin: *const clap_plugin, id: *const c_char) -> *const c_void {
    // SAFETY: the caller's promise.
    let Some(guarded) = (unsafe { Guarded::of(plugin) }).filter(|_| !id.is_null()) else {
        return ptr::null();
    };
    // SAFETY: the framework's plugin lives.
    let Some(get_extension) = (unsafe { (*guarded.inner).get_extension }) else {
        return ptr::null();
    };
    // SAFETY: as before.
    let found = unsafe { get_extension(guarded.inner, id) };
    // SAFETY: the caller's promise.
    let id = unsafe { CStr::from_ptr(id) };
    if id == CLAP_EXT_GUI {
        guarded.knows_editor.store(true, Ordering::Relaxed);
    }
    if found.is_null() || id != CLAP_EXT_PARAMS {
        return found;
    }
    let [_, shown] = guarded.params.get_or_init(|| {
        // SAFETY: what this id names has this type.
        let framework = unsafe { *found.cast::<clap_plugin_params>() };
        let shown = clap_plugin_params {
            get_info: Some(param_info),
            flush: Some(flush),
            ..framework
        };
        [framework, shown]
    });
    ptr::from_ref(shown).cast()
}

/// Only for parameters that there are: the framework ends the process at the first one beyond them.
///
/// # Safety
/// As for [`destroy`]; the information is null, or there is room for it.
unsafe extern "C" fn param_info(
    plugin: *const clap_plugin,
    index: u32,
    info: *mut clap_param_info,
) -> bool {
    // SAFETY: the caller's promise.
    let Some(guarded) = (unsafe { Guarded::of(plugin) }) else {
        return false;
    };
    let functions = guarded.params.get().map(|[inner, _]| inner);
    let Some((count, get_info)) = functions.and_then(|inner| inner.count.zip(inner.get_info))
    else {
        return false;
    };
    // SAFETY: the framework's plugin lives, and this is its main thread.
    unsafe { index < count(guarded.inner) && get_info(guarded.inner, index, info) }
}

/// # Safety
/// As for [`destroy`], or on the audio thread of an active plugin. The lists are null or lists, with
/// events of any kind and at any time.
unsafe extern "C" fn flush(
    plugin: *const clap_plugin,
    from: *const clap_input_events,
    to: *const clap_output_events,
) {
    // SAFETY: the caller's promise.
    let Some(guarded) = (unsafe { Guarded::of(plugin) }) else {
        return;
    };
    let Some(flush) = guarded.params.get().and_then(|[inner, _]| inner.flush) else {
        return;
    };
    // SAFETY: the caller's promise.
    let to = unsafe { events::can_be_written(to) }.then_some(to);
    let to = to.unwrap_or(ptr::null());
    // A flush has no length, and its times mean nothing.
    let frames = u32::MAX;
    // SAFETY: the framework's plugin lives, and this is the thread for it; events that are not in
    // order are mended.
    unsafe {
        if events::are_in_order(from, frames) {
            flush(guarded.inner, from, to);
        } else {
            let mended = Mended::new(from, frames);
            let from = mended.clap();
            flush(guarded.inner, &raw const from, to);
        }
    }
}

#[cfg(test)]
mod tests;
