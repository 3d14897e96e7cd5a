//! The two plugins that are measured side by side, their input, and what is the same for both.
//! Shared by the benchmarks of this folder.

use guidehand_tests::{Event, Host, Library, TimedEvent, Transport, paths};
use std::path::PathBuf;

/// A common block: 64 frames at 48 kHz, 1.3 ms.
pub const FRAMES: u32 = 64;
/// The sample rate.
pub const RATE_HZ: f64 = 48_000.0;

/// The middle of the block.
pub const MIDDLE_SAMPLES: u64 = 32;

/// Keys that are no voicing of any chord.
const WRONG: [i16; 4] = [50, 51, 52, 53];

/// A plugin to measure. Without its path the benchmark fails. To run only one of them, give its
/// name as a filter.
pub trait Subject {
    /// The path of the plugin.
    fn path() -> PathBuf;

    /// The events that make the plugin play a chord of four notes.
    fn chord(from_samples: u64, to_samples: u64) -> Vec<TimedEvent>;

    /// Prepares a plugin for a chord of four notes to end at the start of the block and another to
    /// sound in its middle. Returns the events for that.
    fn change(host: &mut Host, rhythm: &str) -> Vec<TimedEvent>;

    /// Prepares a plugin to comp on a chart by itself, if it can.
    fn comp(host: &mut Host, settings: &[(&str, &str)]);
}

/// The plugin that passes everything: the framework and the host.
pub struct Passthrough;

impl Subject for Passthrough {
    fn path() -> PathBuf {
        paths::passthrough_path()
    }

    fn chord(from_samples: u64, to_samples: u64) -> Vec<TimedEvent> {
        let ons = CHORD.map(|key| on(from_samples, key));
        let offs = CHORD.map(|key| off(to_samples, key));
        [ons, offs].concat()
    }

    fn change(_: &mut Host, _: &str) -> Vec<TimedEvent> {
        let offs = CHORD.map(|key| off(0, key));
        let ons = CHORD.map(|key| on(MIDDLE_SAMPLES, key));
        [offs, ons].concat()
    }

    fn comp(_: &mut Host, _: &[(&str, &str)]) {}
}

/// Ours.
pub struct Guidehand;

impl Guidehand {
    /// Prepares a plugin to practise, and returns a gesture of four keys that is no right answer. It is
    /// let go of within the block, and so it is judged there.
    pub fn practise(host: &mut Host) -> Vec<TimedEvent> {
        Self::ask(host);
        let ons = WRONG.map(|key| on(8, key));
        let offs = WRONG.map(|key| off(40, key));
        [ons, offs].concat()
    }

    /// Prepares a plugin to practise: the exercise is that of a fresh instance.
    pub fn ask(host: &mut Host) {
        host.stop_processing().unwrap();
        let source = host.param_by_name("Chords from").unwrap().id;
        let practice = host.text_to_value(source, "Practice").unwrap();
        host.set_param(source, practice).unwrap();
        // The lesson is made before a load returns.
        let state = host.save_state().unwrap();
        host.load_state(&state).unwrap();
        host.start_processing().unwrap();
    }
}

impl Subject for Guidehand {
    fn path() -> PathBuf {
        paths::plugin_path()
    }

    /// A root below the split.
    fn chord(from_samples: u64, to_samples: u64) -> Vec<TimedEvent> {
        vec![on(from_samples, ROOT), off(to_samples, ROOT)]
    }

    /// Nothing: the plugin plays the chart that it starts with.
    fn change(host: &mut Host, rhythm: &str) -> Vec<TimedEvent> {
        Self::comp(host, &[("Rhythm", rhythm)]);
        Vec::new()
    }

    fn comp(host: &mut Host, settings: &[(&str, &str)]) {
        // Between blocks the parameter acts at once, and is no event of the block.
        host.stop_processing().unwrap();
        for (name, words) in [("Chords from", "Chart")].iter().chain(settings) {
            let id = host.param_by_name(name).unwrap().id;
            let value = host.text_to_value(id, words).unwrap();
            host.set_param(id, value).unwrap();
        }
        host.start_processing().unwrap();
    }
}

/// A chord in a common register, and a root that gives such a chord.
pub const CHORD: [i16; 4] = [53, 57, 60, 64];
pub const ROOT: i16 = 50;

/// A key goes down.
pub fn on(at_samples: u64, key: i16) -> TimedEvent {
    TimedEvent::new(at_samples, Event::note_on(0, key, 0.75))
}

/// A key goes up.
pub fn off(at_samples: u64, key: i16) -> TimedEvent {
    TimedEvent::new(at_samples, Event::note_off(0, key))
}

/// A controller in the middle of the block.
pub fn one_event() -> Vec<TimedEvent> {
    let modulation = Event::Controller {
        channel: 0,
        number: 1,
        value: 64,
    };
    vec![TimedEvent::new(MIDDLE_SAMPLES, modulation)]
}

/// The range in which notes pass through both plugins.
pub const MELODY: i16 = 72;

/// Eight notes, one after the other, from a key upwards.
pub fn sixteen_events(from_key: i16) -> Vec<TimedEvent> {
    (0..8)
        .flat_map(|note: u8| {
            let start_samples = u64::from(note) * 8;
            let key = from_key + i16::from(note);
            [on(start_samples, key), off(start_samples + 4, key)]
        })
        .collect()
}

/// The library of a subject.
pub fn library<S: Subject>() -> Library {
    Library::open(&S::path()).unwrap_or_else(|error| panic!("{error}"))
}

/// A processing instance of the first plugin in a library, without its audition tone, and with
/// chords from roots if it has them, because notes are measured.
pub fn instance(library: &Library) -> Host {
    let plugin = library.plugins().first().expect("the library has a plugin");
    let mut host = Host::load(library, &plugin.id).unwrap_or_else(|error| panic!("{error}"));
    for name in ["Audition tone", "Chords from"] {
        if let Ok(param) = host.param_by_name(name) {
            let id = param.id;
            host.set_param(id, 0.0).unwrap();
        }
    }
    host.activate(RATE_HZ, FRAMES).unwrap();
    host.start_processing().unwrap();
    host
}

/// The same from the path of the subject.
pub fn host<S: Subject>() -> Host {
    instance(&library::<S>())
}

/// A song that plays from its start.
pub const FROM_THE_START: Transport = Transport {
    playing: true,
    ..Transport::AT_THE_START
};

/// Where the block of [`Subject::change`] starts: in the count-in, half a block before the first
/// chord. Starting the block again is a jump back, which ends that chord. At this tempo the jump is
/// wide enough to count as one.
pub fn before_the_first_chord() -> Transport {
    let tempo_bpm = 9_000.0;
    let before_beats = 32.0 / RATE_HZ * tempo_bpm / 60.0;
    Transport {
        position_beats: -before_beats,
        tempo_bpm,
        ..FROM_THE_START
    }
}
