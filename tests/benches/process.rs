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

    /// What goes in for a chord of four notes to come out.
    fn chord(from_samples: u64, to_samples: u64) -> Vec<TimedEvent>;

    /// Prepares a plugin for a chord of four notes to end at the start of the
    /// block and another to sound in its middle, and says what goes in for it.
    fn change(host: &mut Host) -> Vec<TimedEvent>;
}

struct Passthrough;

impl Subject for Passthrough {
    fn path() -> PathBuf {
        paths::passthrough_path()
    }

    fn chord(from_samples: u64, to_samples: u64) -> Vec<TimedEvent> {
        let ons = CHORD.map(|key| on(from_samples, key));
        let offs = CHORD.map(|key| off(to_samples, key));
        [ons, offs].concat()
    }

    fn change(_: &mut Host) -> Vec<TimedEvent> {
        let offs = CHORD.map(|key| off(0, key));
        let ons = CHORD.map(|key| on(MIDDLE_SAMPLES, key));
        [offs, ons].concat()
    }
}

struct Guidehand;

impl Subject for Guidehand {
    fn path() -> PathBuf {
        paths::plugin_path()
    }

    /// A root below the split.
    fn chord(from_samples: u64, to_samples: u64) -> Vec<TimedEvent> {
        vec![on(from_samples, ROOT), off(to_samples, ROOT)]
    }

    /// Nothing: the plugin plays the chart that it starts with.
    fn change(host: &mut Host) -> Vec<TimedEvent> {
        let source = host.param_by_name("Chords from").unwrap().id;
        // Between blocks it acts at once, and is no event of the block.
        host.stop_processing().unwrap();
        host.set_param(source, 1.0).unwrap();
        host.start_processing().unwrap();
        Vec::new()
    }
}

/// A chord in a common register, and a root that gives such a one.
const CHORD: [i16; 4] = [53, 57, 60, 64];
const ROOT: i16 = 50;

/// The middle of the block.
const MIDDLE_SAMPLES: u64 = 32;

fn on(at_samples: u64, key: i16) -> TimedEvent {
    TimedEvent::new(at_samples, Event::note_on(0, key, 0.75))
}

fn off(at_samples: u64, key: i16) -> TimedEvent {
    TimedEvent::new(at_samples, Event::note_off(0, key))
}

/// A processing instance of the first plugin in the subject's library, without
/// its audition tone if it has one: notes are what is measured.
fn host<S: Subject>() -> Host {
    let library = Library::open(&S::path()).unwrap_or_else(|error| panic!("{error}"));
    let plugin = library.plugins().first().expect("the library has a plugin");
    let mut host = Host::load(&library, &plugin.id).unwrap_or_else(|error| panic!("{error}"));
    if let Ok(tone) = host.param_by_name("Audition tone") {
        let id = tone.id;
        host.set_param(id, 0.0).unwrap();
    }
    host.activate(RATE_HZ, FRAMES).unwrap();
    host.start_processing().unwrap();
    host
}

/// A song that plays from its start.
const FROM_THE_START: Transport = Transport {
    playing: true,
    position_beats: 0.0,
    position_seconds: 0.0,
    tempo_bpm: 120.0,
    signature: Signature::COMMON,
};

/// Measures one block again and again. Its events must leave a plugin as they
/// found it, or the second round measures something else.
fn measure<S: Subject>(bencher: Bencher, events: &[TimedEvent]) {
    measure_on(bencher, &mut host::<S>(), events, FROM_THE_START);
}

/// The same on a host that has been prepared. Tells how many events the block
/// gives.
fn measure_on(
    bencher: Bencher,
    host: &mut Host,
    events: &[TimedEvent],
    transport: Transport,
) -> usize {
    host.load_block(FRAMES, events, Some(transport)).unwrap();
    for _ in 0..WARM_UP_BLOCKS {
        host.run_block().unwrap();
    }
    bencher.bench_local(|| host.run_block().unwrap());
    let status = host.run_block().unwrap();
    host.take_block(status).unwrap().events.len()
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
            [on(start_samples, key), off(start_samples + 4, key)]
        })
        .collect();
    measure::<S>(bencher, &events);
}

/// A chord from its key going down to its key going up.
#[divan::bench(types = [Passthrough, Guidehand], sample_count = SAMPLES, sample_size = CALLS_PER_SAMPLE)]
fn chord_of_a_root<S: Subject>(bencher: Bencher) {
    let mut host = host::<S>();
    let given = measure_on(bencher, &mut host, &S::chord(8, 40), FROM_THE_START);
    assert_eq!(given, 2 * CHORD.len());
}

/// A change of the chart. The block starts in the count-in, half a block before
/// the first chord; to start it again is a jump back, which ends that chord. At
/// this tempo the jump is wide enough to be taken for one.
#[divan::bench(types = [Passthrough, Guidehand], sample_count = SAMPLES, sample_size = CALLS_PER_SAMPLE)]
fn change_of_the_chart<S: Subject>(bencher: Bencher) {
    let mut host = host::<S>();
    let events = S::change(&mut host);
    let tempo_bpm = 9_000.0;
    let before_beats = 32.0 / RATE_HZ * tempo_bpm / 60.0;
    let transport = Transport {
        position_beats: -before_beats,
        tempo_bpm,
        ..FROM_THE_START
    };
    let given = measure_on(bencher, &mut host, &events, transport);
    assert_eq!(given, 2 * CHORD.len());
}
