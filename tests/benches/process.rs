//! The cost of one process call, for the passthrough plugin and for ours. The difference is our own
//! cost, the rest is the framework's and the host's. Buffers and events are prepared outside the
//! measured call.

mod subject;

use divan::Bencher;
use guidehand_tests::{Host, TimedEvent, Transport};
use subject::{
    CHORD, FRAMES, FROM_THE_START, Guidehand, MELODY, Passthrough, Subject, before_the_first_chord,
    host, one_event, sixteen_events,
};

/// Blocks before the first measurement: first calls fill caches and queues.
const WARM_UP_BLOCKS: u32 = 1_000;

/// A sample is the mean of this many calls, because one call is near the precision of the timer.
const CALLS_PER_SAMPLE: u32 = 100;
const SAMPLES: u32 = 500;

fn main() {
    divan::main();
}

/// Measures one block again and again. Its events must leave the plugin as it was, or the second
/// round measures something else.
fn measure<S: Subject>(bencher: Bencher, events: &[TimedEvent]) {
    measure_on(bencher, &mut host::<S>(), events, FROM_THE_START);
}

/// The same on a host that has been prepared. Prints how many events the block gives.
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
fn one_event_passes<S: Subject>(bencher: Bencher) {
    measure::<S>(bencher, &one_event());
}

#[divan::bench(types = [Passthrough, Guidehand], sample_count = SAMPLES, sample_size = CALLS_PER_SAMPLE)]
fn sixteen_events_pass<S: Subject>(bencher: Bencher) {
    measure::<S>(bencher, &sixteen_events(MELODY));
}

/// A chord from its key going down to its key going up.
#[divan::bench(types = [Passthrough, Guidehand], sample_count = SAMPLES, sample_size = CALLS_PER_SAMPLE)]
fn chord_of_a_root<S: Subject>(bencher: Bencher) {
    let mut host = host::<S>();
    let given = measure_on(bencher, &mut host, &S::chord(8, 40), FROM_THE_START);
    assert_eq!(given, 2 * CHORD.len());
}

#[divan::bench(types = [Passthrough, Guidehand], sample_count = SAMPLES, sample_size = CALLS_PER_SAMPLE)]
fn change_of_the_chart<S: Subject>(bencher: Bencher) {
    let mut host = host::<S>();
    let events = S::change(&mut host, "Sustained");
    let given = measure_on(bencher, &mut host, &events, before_the_first_chord());
    assert_eq!(given, 2 * CHORD.len());
}
