//! What the checks before the framework cost: the same blocks on the same plugin, through its own
//! entry and straight into the framework, in turn. Goal: 10 ns for a block without events. The plugin
//! is bypassed, so that there is little beside the checks. Words on the command line choose the blocks
//! whose names hold one of them.

use clap_sys::audio_buffer::clap_audio_buffer;
use clap_sys::events::{
    CLAP_CORE_EVENT_SPACE_ID, CLAP_EVENT_NOTE_OFF, CLAP_EVENT_NOTE_ON, CLAP_EVENT_PARAM_VALUE,
    clap_event_header, clap_event_note, clap_event_param_value, clap_input_events,
    clap_output_events,
};
use clap_sys::ext::params::{CLAP_EXT_PARAMS, CLAP_PARAM_IS_BYPASS, clap_plugin_params};
use clap_sys::factory::plugin_factory::{CLAP_PLUGIN_FACTORY_ID, clap_plugin_factory};
use clap_sys::host::clap_host;
use clap_sys::plugin::clap_plugin;
use clap_sys::process::{CLAP_PROCESS_ERROR, clap_process, clap_process_status};
use clap_sys::version::CLAP_VERSION;
use guidehand::{CLAP_ENTRY, Guidehand};
use nice_plug::wrapper::clap::Wrapper;
use std::ffi::{c_char, c_void};
use std::hint::black_box;
use std::mem::MaybeUninit;
use std::ptr;
use std::time::Instant;

const FRAMES: usize = 64;

/// Rounds of each way, and calls in a round.
const ROUNDS: usize = 2_000;
const CALLS: u32 = 200;

type Process = unsafe extern "C" fn(*const clap_plugin, *const clap_process) -> clap_process_status;

/// A host that knows nothing.
static HOST: clap_host = {
    unsafe extern "C" fn extension(_: *const clap_host, _: *const c_char) -> *const c_void {
        ptr::null()
    }
    unsafe extern "C" fn request(_: *const clap_host) {}
    clap_host {
        clap_version: CLAP_VERSION,
        host_data: ptr::null_mut(),
        name: c"bench".as_ptr(),
        vendor: c"".as_ptr(),
        url: c"".as_ptr(),
        version: c"".as_ptr(),
        get_extension: Some(extension),
        request_restart: Some(request),
        request_process: Some(request),
        request_callback: Some(request),
    }
};

unsafe extern "C" fn no_events(_: *const clap_input_events) -> u32 {
    0
}

unsafe extern "C" fn sixteen(_: *const clap_input_events) -> u32 {
    16
}

unsafe extern "C" fn one(_: *const clap_input_events) -> u32 {
    1
}

unsafe extern "C" fn note(list: *const clap_input_events, index: u32) -> *const clap_event_header {
    // SAFETY: the context is as many notes as the list counts.
    unsafe {
        let notes = (*list).ctx.cast_const().cast::<clap_event_note>();
        notes.add(index as usize).cast()
    }
}

unsafe extern "C" fn first(list: *const clap_input_events, _: u32) -> *const clap_event_header {
    // SAFETY: the context is an event.
    unsafe { (*list).ctx.cast_const().cast() }
}

unsafe extern "C" fn take(_: *const clap_output_events, event: *const clap_event_header) -> bool {
    black_box(event);
    true
}

fn header<T>(kind: u16, time: u32) -> clap_event_header {
    clap_event_header {
        size: u32::try_from(size_of::<T>()).unwrap(),
        time,
        space_id: CLAP_CORE_EVENT_SPACE_ID,
        type_: kind,
        flags: 0,
    }
}

/// The plugin of the library, bypassed and processing.
fn plugin() -> *const clap_plugin {
    // SAFETY: as a host does; each structure is of the type that its id names.
    unsafe {
        assert!(CLAP_ENTRY.init.unwrap()(c"".as_ptr()));
        let factory = CLAP_ENTRY.get_factory.unwrap()(CLAP_PLUGIN_FACTORY_ID.as_ptr());
        let factory = factory.cast::<clap_plugin_factory>();
        let id = c"org.guidehand.guidehand";
        let plugin = (*factory).create_plugin.unwrap()(factory, &raw const HOST, id.as_ptr());
        assert!((*plugin).init.unwrap()(plugin));
        bypass(plugin);
        assert!((*plugin).activate.unwrap()(plugin, 48_000.0, 1, 64));
        assert!((*plugin).start_processing.unwrap()(plugin));
        plugin
    }
}

/// # Safety
/// The plugin has been initialised and is not active.
unsafe fn bypass(plugin: *const clap_plugin) {
    // SAFETY: as a host does; the extension is of the type that its id names.
    unsafe {
        let params = (*plugin).get_extension.unwrap()(plugin, CLAP_EXT_PARAMS.as_ptr());
        let params = params.cast::<clap_plugin_params>();
        let infos = (0..(*params).count.unwrap()(plugin)).map(|index| {
            let mut info = MaybeUninit::zeroed();
            assert!((*params).get_info.unwrap()(
                plugin,
                index,
                info.as_mut_ptr()
            ));
            info.assume_init()
        });
        let mut bypasses = infos.filter(|info| info.flags & CLAP_PARAM_IS_BYPASS != 0);
        let value = clap_event_param_value {
            header: header::<clap_event_param_value>(CLAP_EVENT_PARAM_VALUE, 0),
            param_id: bypasses.next().unwrap().id,
            cookie: ptr::null_mut(),
            note_id: -1,
            port_index: -1,
            channel: -1,
            key: -1,
            value: 1.0,
        };
        let events = clap_input_events {
            ctx: (&raw const value).cast_mut().cast(),
            size: Some(one),
            get: Some(first),
        };
        (*params).flush.unwrap()(plugin, &raw const events, ptr::null());
    }
}

/// The framework's own `process`. It takes a plugin of ours as well, for it looks at `plugin_data`
/// alone.
fn unguarded() -> Process {
    // SAFETY: the host lives for ever, and so does the plugin.
    unsafe {
        let wrapper = std::sync::Arc::into_raw(Wrapper::<Guidehand>::new(&raw const HOST));
        (*(*wrapper).clap_plugin.as_ptr()).process.unwrap()
    }
}

/// The mean of a call, in nanoseconds.
fn round(process: Process, plugin: *const clap_plugin, block: &clap_process) -> f64 {
    let start = Instant::now();
    for _ in 0..CALLS {
        // SAFETY: the plugin is processing, and the block is whole.
        let status = unsafe { process(plugin, black_box(ptr::from_ref(block))) };
        assert_ne!(status, CLAP_PROCESS_ERROR);
    }
    start.elapsed().as_secs_f64() * 1e9 / f64::from(CALLS)
}

/// The median of each of two ways, which take turns.
fn medians(ways: [(Process, &clap_process); 2], plugin: *const clap_plugin) -> [f64; 2] {
    let mut times = [const { Vec::new() }; 2];
    for _ in 0..ROUNDS {
        for (times, (process, block)) in times.iter_mut().zip(ways) {
            times.push(round(process, plugin, block));
        }
    }
    times.map(|mut times| {
        times.sort_by(f64::total_cmp);
        times[times.len() / 2]
    })
}

fn main() {
    // Cargo hands `--bench` on to every benchmark.
    let words = std::env::args().skip(1);
    let words: Vec<String> = words.filter(|word| !word.starts_with("--")).collect();

    let mut samples = [[0.0_f32; FRAMES]; 4];
    let [a, b, c, d] = samples.each_mut().map(|channel| channel.as_mut_ptr());
    let (mut inputs, mut outputs) = ([a, b], [c, d]);
    let buffer = |channels: &mut [*mut f32; 2]| clap_audio_buffer {
        data32: channels.as_mut_ptr(),
        data64: ptr::null_mut(),
        channel_count: 2,
        latency: 0,
        constant_mask: 0,
    };
    let (inputs, mut outputs) = (buffer(&mut inputs), buffer(&mut outputs));
    let notes: Vec<clap_event_note> = (0..16_u16)
        .map(|nth| clap_event_note {
            header: header::<clap_event_note>(
                [CLAP_EVENT_NOTE_ON, CLAP_EVENT_NOTE_OFF][usize::from(nth % 2)],
                u32::from(nth) * 4,
            ),
            note_id: -1,
            port_index: 0,
            channel: 0,
            key: 72 + (nth / 2).cast_signed(),
            velocity: 0.5,
        })
        .collect();
    let list = |size| clap_input_events {
        ctx: notes.as_ptr().cast_mut().cast(),
        size: Some(size),
        get: Some(note),
    };
    let (none, some) = (list(no_events), list(sixteen));
    let answers = clap_output_events {
        ctx: ptr::null_mut(),
        try_push: Some(take),
    };
    let empty = clap_process {
        steady_time: -1,
        frames_count: 64,
        transport: ptr::null(),
        audio_inputs: &raw const inputs,
        audio_outputs: &raw mut outputs,
        audio_inputs_count: 1,
        audio_outputs_count: 1,
        in_events: &raw const none,
        out_events: &raw const answers,
    };
    let full = clap_process {
        in_events: &raw const some,
        ..empty
    };
    // The framework cannot take this one: it is compared with the whole block.
    let without_ports = clap_process {
        audio_inputs: ptr::null(),
        audio_outputs: ptr::null_mut(),
        audio_inputs_count: 0,
        audio_outputs_count: 0,
        ..empty
    };

    let plugin = plugin();
    // SAFETY: the plugin lives.
    let guarded = unsafe { (*plugin).process }.unwrap();
    let unguarded = unguarded();
    println!("block of 64 frames          framework     guarded    the checks     ratio");
    for (name, before, after) in [
        ("no events", &empty, &empty),
        ("sixteen events", &full, &full),
        ("no ports: mended", &empty, &without_ports),
    ] {
        if !words.is_empty() && !words.iter().any(|word| name.contains(word)) {
            continue;
        }
        let [before, after] = medians([(unguarded, before), (guarded, after)], plugin);
        println!(
            "{name:24} {before:9.1} ns {after:8.1} ns {:10.1} ns {:9.3}",
            after - before,
            after / before
        );
    }
}
