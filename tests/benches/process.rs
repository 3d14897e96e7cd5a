//! The cost of one process call, for the passthrough plugin and for ours: the
//! difference is ours, the rest the framework's and the host's. Buffers and
//! events are prepared outside of the measured call.

use divan::Bencher;
use guidehand_tests::{Event, Host, Library, Signature, TimedEvent, Transport, paths};
use std::path::PathBuf;

/// A common block: 64 frames at 48 kHz, 1.3 ms.
const FRAMES: u32 = 64;
const RATE_HZ: f64 = 48_000.0;

/// Blocks before the first measurement: first calls fill caches and queues.
const WARM_UP_BLOCKS: u32 = 1_000;

/// A sample is the mean of so many calls; a call alone is near the timer's own
/// precision.
const CALLS_PER_SAMPLE: u32 = 100;
const SAMPLES: u32 = 500;

fn main() {
    divan::main();
}

/// A plugin to measure. Without its path the benchmark fails; to run but one of
/// them, give its name as a filter.
trait Subject {
    fn path() -> PathBuf;
}

struct Passthrough;

impl Subject for Passthrough {
    fn path() -> PathBuf {
        paths::passthrough_path()
    }
}

struct Guidehand;

impl Subject for Guidehand {
    fn path() -> PathBuf {
        paths::plugin_path()
    }
}

/// A processing instance of the first plugin in the subject's library.
fn host<S: Subject>() -> Host {
    let library = Library::open(&S::path()).unwrap_or_else(|error| panic!("{error}"));
    let plugin = library.plugins().first().expect("the library has a plugin");
    let mut host = Host::load(&library, &plugin.id).unwrap_or_else(|error| panic!("{error}"));
    host.activate(RATE_HZ, FRAMES).unwrap();
    host.start_processing().unwrap();
    host
}

/// Measures one block again and again. Its events must leave a plugin as they
/// found it, or the second round measures something else.
fn measure<S: Subject>(bencher: Bencher, events: &[TimedEvent]) {
    let transport = Transport {
        playing: true,
        position_beats: 0.0,
        position_seconds: 0.0,
        tempo_bpm: 120.0,
        signature: Signature::COMMON,
    };
    let mut host = host::<S>();
    host.load_block(FRAMES, events, Some(transport)).unwrap();
    for _ in 0..WARM_UP_BLOCKS {
        host.run_block().unwrap();
    }
    bencher.bench_local(|| host.run_block().unwrap());
}

#[divan::bench(types = [Passthrough, Guidehand], sample_count = SAMPLES, sample_size = CALLS_PER_SAMPLE)]
fn empty_block<S: Subject>(bencher: Bencher) {
    measure::<S>(bencher, &[]);
}

#[divan::bench(types = [Passthrough, Guidehand], sample_count = SAMPLES, sample_size = CALLS_PER_SAMPLE)]
fn one_event<S: Subject>(bencher: Bencher) {
    let modulation = Event::Controller {
        channel: 0,
        number: 1,
        value: 64,
    };
    measure::<S>(bencher, &[TimedEvent::new(32, modulation)]);
}

/// Eight notes, one after the other.
#[divan::bench(types = [Passthrough, Guidehand], sample_count = SAMPLES, sample_size = CALLS_PER_SAMPLE)]
fn sixteen_events<S: Subject>(bencher: Bencher) {
    let events: Vec<TimedEvent> = (0..8)
        .flat_map(|note: u8| {
            let start_samples = u64::from(note) * 8;
            let key = 48 + i16::from(note);
            [
                TimedEvent::new(start_samples, Event::note_on(0, key, 0.75)),
                TimedEvent::new(start_samples + 4, Event::note_off(0, key)),
            ]
        })
        .collect();
    measure::<S>(bencher, &events);
}
