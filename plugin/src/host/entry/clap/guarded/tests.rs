//! The guard around a plugin that notes how it is called.

use super::*;
use crate::bridge::wake::Wake;
use clap_sys::audio_buffer::clap_audio_buffer;
use clap_sys::events::{CLAP_EVENT_NOTE_ON, clap_event_header, clap_event_note};
use clap_sys::ext::audio_ports::{
    CLAP_EXT_AUDIO_PORTS, clap_audio_port_info, clap_plugin_audio_ports,
};
use clap_sys::process::CLAP_PROCESS_CONTINUE;
use std::cell::Cell;
use std::sync::Arc;
use std::sync::atomic::AtomicU32;

/// What the plugin has been called with.
#[derive(Default)]
struct Seen {
    /// The address of the last block.
    block: Cell<usize>,
    frames: Cell<u32>,
    /// The number of events in the last list, and the time of the last of them.
    events: Cell<(u32, u32)>,
    active: Cell<bool>,
    destroyed: Cell<u32>,
    flushes: Cell<u32>,
    was_still: Cell<bool>,
    shared: Shared,
    ports: Cell<u32>,
}

unsafe fn seen<'s>(plugin: *const clap_plugin) -> &'s Seen {
    // SAFETY: `plugin_data` points to it.
    unsafe { &*(*plugin).plugin_data.cast_const().cast::<Seen>() }
}

/// The number of events in a list, and the time of the last of them.
unsafe fn counted(list: *const clap_input_events) -> (u32, u32) {
    // SAFETY: the guard hands over a null pointer or a list.
    unsafe {
        list.as_ref().map_or((0, 0), |of| {
            let (size, get) = (of.size.unwrap(), of.get.unwrap());
            let last = size(list).checked_sub(1);
            (size(list), last.map_or(0, |last| (*get(list, last)).time))
        })
    }
}

/// Writes a half to every output, as the framework would.
unsafe extern "C" fn play(
    plugin: *const clap_plugin,
    block: *const clap_process,
) -> clap_process_status {
    // SAFETY: the guard hands over a block in order.
    unsafe {
        let seen = seen(plugin);
        seen.block.set(block.addr());
        let block = &*block;
        seen.frames.set(block.frames_count);
        seen.events.set(counted(block.in_events));
        seen.was_still.set(seen.shared.standstill.is_still());
        for port in 0..block.audio_outputs_count as usize {
            let buffer = &*block.audio_outputs.add(port);
            for channel in 0..buffer.channel_count as usize {
                let samples = *buffer.data32.add(channel);
                std::slice::from_raw_parts_mut(samples, block.frames_count as usize).fill(0.5);
            }
        }
    }
    CLAP_PROCESS_CONTINUE
}

unsafe extern "C" fn begin(plugin: *const clap_plugin, _: f64, _: u32, _: u32) -> bool {
    // SAFETY: the plugin is this one.
    unsafe { seen(plugin) }.active.set(true);
    true
}

unsafe extern "C" fn end(plugin: *const clap_plugin) {
    // SAFETY: the plugin is this one.
    unsafe { seen(plugin) }.active.set(false);
}

unsafe extern "C" fn vanish(plugin: *const clap_plugin) {
    // SAFETY: the plugin is this one.
    let destroyed = &unsafe { seen(plugin) }.destroyed;
    destroyed.set(destroyed.get() + 1);
}

unsafe extern "C" fn port_count(plugin: *const clap_plugin, is_input: bool) -> u32 {
    // SAFETY: the plugin is this one.
    let outputs = unsafe { seen(plugin) }.ports.get();
    if is_input { 1 } else { outputs }
}

unsafe extern "C" fn port(
    _: *const clap_plugin,
    _: u32,
    _: bool,
    info: *mut clap_audio_port_info,
) -> bool {
    // SAFETY: there is room for the answer.
    unsafe { (*info).channel_count = 2 };
    true
}

unsafe extern "C" fn note_flush(
    plugin: *const clap_plugin,
    from: *const clap_input_events,
    _: *const clap_output_events,
) {
    // SAFETY: the plugin is this one, and the guard hands over a list in order.
    unsafe {
        let seen = seen(plugin);
        seen.flushes.set(seen.flushes.get() + 1);
        seen.events.set(counted(from));
    }
}

static PORTS: clap_plugin_audio_ports = clap_plugin_audio_ports {
    count: Some(port_count),
    get: Some(port),
};

static PARAMS: clap_plugin_params = clap_plugin_params {
    count: None,
    get_info: None,
    get_value: None,
    value_to_text: None,
    text_to_value: None,
    flush: Some(note_flush),
};

unsafe extern "C" fn extension(_: *const clap_plugin, id: *const c_char) -> *const c_void {
    // SAFETY: ids are C strings.
    let id = unsafe { CStr::from_ptr(id) };
    if id == CLAP_EXT_AUDIO_PORTS {
        ptr::from_ref(&PORTS).cast()
    } else if id == CLAP_EXT_PARAMS {
        ptr::from_ref(&PARAMS).cast()
    } else {
        ptr::null()
    }
}

/// A plugin with a stereo input and as many stereo outputs, behind the guard.
struct Behind {
    seen: Box<Seen>,
    _inner: Box<clap_plugin>,
    guarded: *const clap_plugin,
}

impl Behind {
    fn new(outputs: u32) -> Self {
        Self::sharing(outputs, Shared::default())
    }

    fn sharing(outputs: u32, shared: Shared) -> Self {
        let seen = Box::new(Seen {
            ports: Cell::new(outputs),
            shared,
            ..Seen::default()
        });
        let inner = Box::new(clap_plugin {
            desc: ptr::null(),
            plugin_data: ptr::from_ref(&*seen).cast_mut().cast(),
            init: None,
            destroy: Some(vanish),
            activate: Some(begin),
            deactivate: Some(end),
            start_processing: None,
            stop_processing: None,
            reset: None,
            process: Some(play),
            get_extension: Some(extension),
            on_main_thread: None,
        });
        // SAFETY: the inner plugin outlives the guard.
        let guarded = unsafe { Guarded::around(&raw const *inner, seen.shared.clone()) };
        Self {
            seen,
            _inner: inner,
            guarded,
        }
    }

    fn shown(&self) -> &clap_plugin {
        // SAFETY: it lives.
        unsafe { &*self.guarded }
    }

    fn activate(&self, most_frames: u32) -> bool {
        // SAFETY: as a host may do.
        unsafe { self.shown().activate.unwrap()(self.guarded, 48_000.0, 1, most_frames) }
    }

    fn process(&self, block: &clap_process) -> i32 {
        // SAFETY: the tests hand over what a host may, or what the guard is there for.
        unsafe { self.shown().process.unwrap()(self.guarded, ptr::from_ref(block)) }
    }
}

impl Drop for Behind {
    fn drop(&mut self) {
        // SAFETY: it lives until now.
        unsafe { self.shown().destroy.unwrap()(self.guarded) };
        assert_eq!(self.seen.destroyed.get(), 1);
    }
}

fn empty_block(frames_count: u32) -> clap_process {
    clap_process {
        steady_time: 0,
        frames_count,
        transport: ptr::null(),
        audio_inputs: ptr::null(),
        audio_outputs: ptr::null_mut(),
        audio_inputs_count: 0,
        audio_outputs_count: 0,
        in_events: ptr::null(),
        out_events: ptr::null(),
    }
}

fn buffer(channels: &mut [*mut f32]) -> clap_audio_buffer {
    clap_audio_buffer {
        data32: channels.as_mut_ptr(),
        data64: ptr::null_mut(),
        channel_count: u32::try_from(channels.len()).unwrap(),
        latency: 0,
        constant_mask: 0,
    }
}

/// A list of one note.
struct One(clap_event_note);

impl One {
    fn at(time: u32) -> Self {
        Self(clap_event_note {
            header: clap_event_header {
                size: u32::try_from(size_of::<clap_event_note>()).unwrap(),
                time,
                space_id: 0,
                type_: CLAP_EVENT_NOTE_ON,
                flags: 0,
            },
            note_id: -1,
            port_index: 0,
            channel: 0,
            key: 60,
            velocity: 1.0,
        })
    }

    fn clap(&self) -> clap_input_events {
        unsafe extern "C" fn size(_: *const clap_input_events) -> u32 {
            1
        }
        unsafe extern "C" fn get(
            list: *const clap_input_events,
            _: u32,
        ) -> *const clap_event_header {
            // SAFETY: it points to the note.
            unsafe { (*list).ctx.cast_const().cast() }
        }
        clap_input_events {
            ctx: ptr::from_ref(&self.0).cast_mut().cast(),
            size: Some(size),
            get: Some(get),
        }
    }
}

#[test]
fn a_block_in_order_is_handed_on_untouched() {
    let behind = Behind::new(1);
    assert!(behind.activate(16));
    let mut samples = [[0.0_f32; 16]; 4];
    let [a, b, c, d] = samples.each_mut().map(|s| s.as_mut_ptr());
    let (mut ins, mut outs) = ([a, b], [c, d]);
    let (ins, mut outs) = ([buffer(&mut ins)], [buffer(&mut outs)]);
    let one = One::at(15);
    let events = one.clap();
    let block = clap_process {
        audio_inputs: ins.as_ptr(),
        audio_inputs_count: 1,
        audio_outputs: outs.as_mut_ptr(),
        audio_outputs_count: 1,
        in_events: &raw const events,
        ..empty_block(16)
    };
    assert_eq!(behind.process(&block), CLAP_PROCESS_CONTINUE);
    assert_eq!(behind.seen.block.get(), ptr::from_ref(&block).addr());
    assert!(!behind.seen.was_still.get());
    // A block that is not in order is another one.
    assert_eq!(behind.process(&empty_block(16)), CLAP_PROCESS_CONTINUE);
    assert_ne!(behind.seen.block.get(), ptr::from_ref(&block).addr());
}

#[test]
fn only_an_active_plugin_plays() {
    let behind = Behind::new(1);
    assert_eq!(behind.process(&empty_block(16)), CLAP_PROCESS_ERROR);
    assert!(behind.activate(16));
    assert_eq!(behind.process(&empty_block(16)), CLAP_PROCESS_CONTINUE);
    // SAFETY: as a host may do.
    unsafe { behind.shown().deactivate.unwrap()(behind.guarded) };
    assert!(!behind.seen.active.get());
    assert_eq!(behind.process(&empty_block(16)), CLAP_PROCESS_ERROR);
    assert_eq!(behind.seen.frames.get(), 16, "played once");
}

/// More ports than the guard has room for are refused at activation.
#[test]
fn more_ports_than_there_is_room_for_are_refused() {
    assert!(Behind::new(4).activate(16));
    let behind = Behind::new(5);
    assert!(!behind.activate(16));
    assert!(!behind.seen.active.get());
}

/// A block that is longer than the host has announced, with channels that are not there, is played as
/// far as there is room. What the host has of it is silent after that.
#[test]
fn a_block_that_is_too_long_is_played_as_far_as_there_is_room() {
    let behind = Behind::new(1);
    assert!(behind.activate(16));
    let mut left = [f32::NAN; 24];
    let mut outs = [left.as_mut_ptr(), ptr::null_mut()];
    let mut outs = [buffer(&mut outs)];
    let one = One::at(20);
    let events = one.clap();
    let block = clap_process {
        audio_outputs: outs.as_mut_ptr(),
        audio_outputs_count: 1,
        in_events: &raw const events,
        ..empty_block(24)
    };
    assert_eq!(behind.process(&block), CLAP_PROCESS_CONTINUE);
    assert_eq!(behind.seen.frames.get(), 16);
    assert_eq!(behind.seen.events.get(), (1, 15));
    assert_eq!(left[..16], [0.5; 16]);
    assert_eq!(left[16..], [0.0; 8]);
}

#[test]
fn an_empty_block_is_a_frame_that_takes_no_time() {
    let behind = Behind::new(1);
    // Even a host that announced blocks of no frames.
    for most_frames in [16, 0] {
        assert!(behind.activate(most_frames));
        let one = One::at(3);
        let events = one.clap();
        let block = clap_process {
            in_events: &raw const events,
            ..empty_block(0)
        };
        assert_eq!(behind.process(&block), CLAP_PROCESS_CONTINUE);
        assert_eq!(behind.seen.frames.get(), 1);
        assert_eq!(behind.seen.events.get(), (1, 0));
        assert!(behind.seen.was_still.get());
        assert!(!behind.seen.shared.standstill.is_still());
    }
}

#[test]
fn extensions_are_the_plugins_but_for_the_flush() {
    let behind = Behind::new(1);
    let get = |id: &CStr| {
        // SAFETY: the id is a C string.
        unsafe { behind.shown().get_extension.unwrap()(behind.guarded, id.as_ptr()) }
    };
    assert_eq!(get(CLAP_EXT_AUDIO_PORTS), ptr::from_ref(&PORTS).cast());
    assert!(get(c"org.guidehand.none").is_null());
    let params = get(CLAP_EXT_PARAMS);
    assert_eq!(params, get(CLAP_EXT_PARAMS), "it stays where it is");
    let one = One::at(1_000);
    let mut events = one.clap();
    // SAFETY: what this id names has this type; the lists are a list and null.
    unsafe {
        let flush = (*params.cast::<clap_plugin_params>()).flush.unwrap();
        flush(behind.guarded, &raw const events, ptr::null());
        assert_eq!(behind.seen.events.get(), (1, 1_000));
        events.size = None;
        flush(behind.guarded, &raw const events, ptr::null());
        assert_eq!(behind.seen.events.get(), (0, 0));
    }
    assert_eq!(behind.seen.flushes.get(), 2);
}

#[test]
fn a_host_is_not_asked_to_process_a_plugin_that_it_has_destroyed() {
    let asked = Arc::new(AtomicU32::new(0));
    let counts = asked.clone();
    let wake = Wake::new(move || {
        counts.fetch_add(1, Ordering::Relaxed);
    });
    let shared = Shared {
        wake: wake.clone(),
        ..Shared::default()
    };
    let behind = Behind::sharing(1, shared);
    wake.ask();
    assert_eq!(asked.load(Ordering::Relaxed), 1);
    drop(behind);
    wake.ask();
    assert_eq!(asked.load(Ordering::Relaxed), 1);
}

#[test]
fn null_pointers_are_answered() {
    let behind = Behind::new(1);
    let shown = behind.shown();
    // SAFETY: the guard is there for this.
    unsafe {
        let none = ptr::null();
        assert_eq!(
            shown.process.unwrap()(behind.guarded, ptr::null()),
            CLAP_PROCESS_ERROR
        );
        assert_eq!(
            shown.process.unwrap()(none, ptr::null()),
            CLAP_PROCESS_ERROR
        );
        assert!(!shown.activate.unwrap()(none, 48_000.0, 1, 16));
        shown.deactivate.unwrap()(none);
        shown.destroy.unwrap()(none);
        assert!(shown.get_extension.unwrap()(none, c"".as_ptr()).is_null());
        assert!(shown.get_extension.unwrap()(behind.guarded, ptr::null()).is_null());
    }
}
