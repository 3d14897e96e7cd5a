//! Both plugins in one run: their files and how long a host takes to scan them, many instances, the
//! slowest block of a million, and a table that compares our costs with those of the plugin that
//! only passes events. Words on the command line choose the parts whose names contain one of them.

mod subject;

use fastrand::Rng;
use guidehand_tests::{Event, Host, Library, TimedEvent, Transport};
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};
use subject::{
    CHORD, FRAMES, FROM_THE_START, Guidehand, MELODY, Passthrough, RATE_HZ, ROOT, Subject,
    before_the_first_chord, host, instance, library, off, on, one_event, sixteen_events,
};

/// Every part, in the order in which they are printed.
const PARTS: [(&str, fn()); 4] = [
    ("scan", scan),
    ("instances", instances),
    ("worst_block", worst_block),
    ("ratios", ratios),
];

fn main() {
    if let Some(path) = std::env::args().skip_while(|word| word != SCAN).nth(1) {
        return scan_once(Path::new(&path));
    }
    // Cargo hands `--bench` on to every benchmark.
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with("--"))
        .collect();
    for (name, part) in PARTS {
        if words.is_empty() || words.iter().any(|word| name.contains(word.as_str())) {
            println!("\n{name}");
            part();
        }
    }
}

/// The argument that makes this program scan the plugin file named after it, once.
const SCAN: &str = "--scan";
/// The number of scans of each file.
const SCANS: usize = 41;

/// A host's scan of one file, in a process that has not seen it. It loads the file, reads its
/// contents, and makes and drops an instance. Prints nanoseconds.
fn scan_once(path: &Path) {
    let start = Instant::now();
    let library = Library::open(path).unwrap_or_else(|error| panic!("{error}"));
    let plugin = library.plugins().first().expect("the library has a plugin");
    drop(Host::load(&library, &plugin.id).unwrap_or_else(|error| panic!("{error}")));
    println!("{}", start.elapsed().as_nanos());
}

fn scan() {
    println!("               size         median    longest");
    let (passthrough, ours) = (scan_of::<Passthrough>(), scan_of::<Guidehand>());
    println!("ratio of the medians {:>15.2}", ratio(ours, passthrough));
}

/// Prints what scans of one file take, and returns their median.
fn scan_of<S: Subject>() -> Duration {
    let path = S::path();
    let size_kib = std::fs::metadata(&path).expect("the plugin is built").len() / 1024;
    let once = || {
        let this = std::env::current_exe().expect("this program has a file");
        let said = Command::new(this).arg(SCAN).arg(&path).output();
        let said = String::from_utf8(said.expect("this program runs").stdout);
        let words = said.expect("a number in ASCII");
        Duration::from_nanos(words.trim().parse().expect("a number"))
    };
    let mut times: Vec<Duration> = (0..SCANS).map(|_| once()).collect();
    times.sort_unstable();
    println!(
        "{:<14} {size_kib} KiB {:>10.2?} {:>10.2?}",
        name::<S>(),
        times[SCANS / 2],
        times[SCANS - 1],
    );
    times[SCANS / 2]
}

/// How many times as long ours takes.
fn ratio(ours: Duration, passthrough: Duration) -> f64 {
    ours.as_secs_f64() / passthrough.as_secs_f64()
}

/// A subject's name in tables.
fn name<S: Subject>() -> &'static str {
    let path = std::any::type_name::<S>();
    path.rsplit("::").next().unwrap_or(path)
}

/// The duration of one block of sound.
fn block_time() -> Duration {
    Duration::from_secs_f64(f64::from(FRAMES) / RATE_HZ)
}

/// The settings of the rhythm with the most work.
const BUSY: [(&str, &str); 5] = [
    ("Rhythm", "Bossa"),
    ("Density", "50 %"),
    ("Variation", "100 %"),
    ("Looseness, time", "10 ms"),
    ("Inner lines", "On"),
];

/// The transport of a block in a song that keeps playing, in a loop of this many blocks.
fn playing(block: u64, loop_blocks: u64) -> Transport {
    let passed = u32::try_from(block % loop_blocks).unwrap_or(0);
    let seconds = f64::from(passed) * f64::from(FRAMES) / RATE_HZ;
    let tempo_bpm = 180.0;
    Transport {
        position_beats: seconds * tempo_bpm / 60.0,
        position_seconds: seconds,
        tempo_bpm,
        ..FROM_THE_START
    }
}

/// Measures a hundred and five hundred instances that comp in one process.
fn instances() {
    println!("                        made in    memory     a round of blocks     of real time");
    for count in [100, 500] {
        many::<Passthrough>(count);
        many::<Guidehand>(count);
    }
}

/// The number of rounds of blocks after the warm-up: half a second of music.
const ROUNDS: u64 = 375;
const WARM_UP_ROUNDS: u64 = 20;

fn many<S: Subject>(count: u32) {
    let library = library::<S>();
    // The costs of the first instance alone do not count for the others.
    let first = instance(&library);
    let (memory, start) = (resident_kib(), Instant::now());
    let mut hosts: Vec<Host> = (0..count).map(|_| instance(&library)).collect();
    let made = start.elapsed() / count;
    for host in &mut hosts {
        S::comp(host, &BUSY);
    }
    let mut rounds = Vec::new();
    for round in 0..WARM_UP_ROUNDS + ROUNDS {
        let transport = playing(round, u64::MAX);
        for host in &mut hosts {
            host.load_block(FRAMES, &[], Some(transport)).unwrap();
        }
        let start = Instant::now();
        for host in &mut hosts {
            host.run_block().unwrap();
        }
        rounds.push(start.elapsed());
    }
    let grown = resident_kib().saturating_sub(memory) / u64::from(count);
    let mut rounds = rounds.split_off(usize::try_from(WARM_UP_ROUNDS).unwrap_or(0));
    rounds.sort_unstable();
    let median = rounds[rounds.len() / 2];
    println!(
        "{:>4} x {:<14} {:>9.2?} {:>6} KiB {:>9.1?} ({:.1?} each) {:>8.2} %",
        count,
        name::<S>(),
        made,
        grown,
        median,
        median / count,
        100.0 * median.as_secs_f64() / block_time().as_secs_f64()
    );
    drop(first);
}

/// The memory of this process that is in use, in KiB; 0 where the system does not say.
fn resident_kib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmRSS:"));
    let number = line.and_then(|line| line.split_whitespace().nth(1));
    number.and_then(|number| number.parse().ok()).unwrap_or(0)
}

/// The number of blocks in the stream whose slowest block is searched for, and how often the stream
/// is replayed. The shortest time of each block counts, because the system interrupts a different
/// block each time.
const STREAM_BLOCKS: u64 = 1_000_000;
const REPLAYS: u32 = 3;

fn worst_block() {
    println!("                   median    99.99 %      worst   of {STREAM_BLOCKS} blocks");
    slowest::<Passthrough>();
    slowest::<Guidehand>();
}

fn slowest<S: Subject>() {
    let mut times = vec![u32::MAX; usize::try_from(STREAM_BLOCKS).unwrap_or(0)];
    for _ in 0..REPLAYS {
        let mut host = host::<S>();
        S::comp(&mut host, &BUSY);
        replay(&mut host, &mut times);
    }
    times.sort_unstable();
    let time = |index: usize| Duration::from_nanos(u64::from(times[index]));
    println!(
        "{:<14} {:>10.2?} {:>10.2?} {:>10.2?}",
        name::<S>(),
        time(times.len() / 2),
        time(times.len() - times.len() / 10_000),
        time(times.len() - 1)
    );
}

/// Plays the stream, and keeps the shortest time of each block. The chart comps in the first half,
/// held roots in the second; a hand plays through both.
fn replay(host: &mut Host, times: &mut [u32]) {
    let mut rng = Rng::with_seed(11);
    let mut held: Vec<i16> = Vec::new();
    let source = host.param_by_name("Chords from").map(|param| param.id).ok();
    for (block, least) in (0..).zip(times) {
        let mut events = Vec::new();
        if block == STREAM_BLOCKS / 2
            && let Some(id) = source
        {
            events.push(TimedEvent::new(0, Event::Param { id, value: 0.0 }));
        }
        // Every sixth block has up to four keys.
        for _ in 0..rng.u8(0..24).saturating_sub(19) {
            let at = events.last().map_or(0, |last: &TimedEvent| last.at_samples);
            events.push(toggle(&mut held, rng.u64(at..u64::from(FRAMES)), &mut rng));
        }
        let transport = playing(block, 30_000);
        host.load_block(FRAMES, &events, Some(transport)).unwrap();
        let start = Instant::now();
        host.run_block().unwrap();
        let time = u32::try_from(start.elapsed().as_nanos()).unwrap_or(u32::MAX);
        *least = time.min(*least);
    }
}

/// A key goes down, or up if it is held. At most ten keys are held.
fn toggle(held: &mut Vec<i16>, at_samples: u64, rng: &mut Rng) -> TimedEvent {
    let key = rng.i16(40..80);
    if let Some(index) = held.iter().position(|other| *other == key) {
        held.remove(index);
        off(at_samples, key)
    } else if held.len() == 10 {
        off(at_samples, held.remove(0))
    } else {
        held.push(key);
        on(at_samples, key)
    }
}

/// The number of samples of each block, taken in turns, and of calls in each sample.
const SAMPLES: usize = 200;
const CALLS: u32 = 500;

fn ratios() {
    println!("                              pass-through    Guidehand     ratio");
    row(
        "empty block",
        &|_| Vec::new(),
        &|_| Vec::new(),
        FROM_THE_START,
        0,
    );
    // The block lies in the middle of a chord of the chart, and is repeated.
    let within_a_chord = Transport {
        position_beats: 0.5,
        ..FROM_THE_START
    };
    row(
        "empty block of a chart",
        &|_| Vec::new(),
        &|host| Guidehand::change(host, "Charleston"),
        within_a_chord,
        0,
    );
    row(
        "empty block of practice",
        &|_| Vec::new(),
        &|host| {
            Guidehand::ask(host);
            Vec::new()
        },
        FROM_THE_START,
        0,
    );
    let event = |_: &mut Host| one_event();
    row("one event", &event, &event, FROM_THE_START, 1);
    for (name, from_key) in [("sixteen events", MELODY), ("eight roots", ROOT)] {
        let events = |_: &mut Host| sixteen_events(from_key);
        row(name, &events, &events, FROM_THE_START, 16);
    }
    row(
        "chord of a root",
        &|_| Passthrough::chord(8, 40),
        &|_| Guidehand::chord(8, 40),
        FROM_THE_START,
        2 * CHORD.len(),
    );
    row(
        "judged gesture",
        &|_| Passthrough::chord(8, 40),
        &Guidehand::practise,
        FROM_THE_START,
        2 * CHORD.len(),
    );
    for (name, rhythm) in [
        ("chord change", "Sustained"),
        ("chord change in a rhythm", "Charleston"),
    ] {
        row(
            name,
            &|host| Passthrough::change(host, rhythm),
            &|host| Guidehand::change(host, rhythm),
            before_the_first_chord(),
            2 * CHORD.len(),
        );
    }
}

/// Prepares a host and returns the events of the block.
type Prepare<'a> = &'a dyn Fn(&mut Host) -> Vec<TimedEvent>;

/// Measures one block on both plugins in turns and prints the medians. The passthrough plugin must
/// give this many events, ours at least as many.
fn row(name: &str, passthrough: Prepare, ours: Prepare, transport: Transport, given: usize) {
    let mut hosts = [host::<Passthrough>(), host::<Guidehand>()];
    for (host, prepare) in hosts.iter_mut().zip([passthrough, ours]) {
        let events = prepare(host);
        host.load_block(FRAMES, &events, Some(transport)).unwrap();
        for _ in 0..CALLS {
            host.run_block().unwrap();
        }
    }
    let mut samples = [Vec::new(), Vec::new()];
    for _ in 0..SAMPLES {
        for (host, samples) in hosts.iter_mut().zip(&mut samples) {
            let start = Instant::now();
            for _ in 0..CALLS {
                host.run_block().unwrap();
            }
            samples.push(start.elapsed() / CALLS);
        }
    }
    for host in &mut hosts {
        let status = host.run_block().unwrap();
        let events = host.take_block(status).unwrap().events.len();
        assert!(events >= given, "{name}: {events} events came out");
    }
    let [passthrough, ours] = samples.map(|mut samples| {
        samples.sort_unstable();
        samples[samples.len() / 2]
    });
    println!(
        "{name:<26} {passthrough:>14.1?} {ours:>14.1?} {:>8.2}",
        ratio(ours, passthrough)
    );
}
