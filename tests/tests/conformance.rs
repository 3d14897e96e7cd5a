//! The plugin against the CLAP specification, item by item, on a host of CLAP's own structures:
//! what it says about itself, every extension, its state through bad streams, events and transports
//! of any kind, its life cycle, many instances at once, and two threads.
//!
//! The `plugin_*` modules test what a well-behaved host sees. If the specification leaves a choice,
//! the test says which choice was made.

mod careless;
mod controls;
mod editor;
mod entry;
mod events;
mod extensions;
mod life;
mod many;
mod parameters;
mod states;
mod times;
mod transports;

use crate::plugin::CEILING;
use clap_sys::process::{
    CLAP_PROCESS_CONTINUE, CLAP_PROCESS_CONTINUE_IF_NOT_QUIET, CLAP_PROCESS_SLEEP,
    CLAP_PROCESS_TAIL,
};
use guidehand_tests::raw::events::note;
use guidehand_tests::raw::stream::{self, Manner};
use guidehand_tests::raw::{
    self, Events, Instance, Knows, ProcessedBlock, Processor, RawEvent, params,
};
use guidehand_tests::{Library, paths, state};
use std::collections::BTreeSet;
use std::ffi::CStr;

const ID: &CStr = c"org.guidehand.guidehand";
const RATE_HZ: f64 = 48_000.0;

fn library() -> Library {
    Library::open(&paths::plugin_path()).unwrap_or_else(|error| panic!("{error}"))
}

/// A fresh instance, in a host that has every extension.
fn instance() -> Instance {
    Instance::new(&library(), ID, Knows::All).expect("the plugin starts")
}

/// Sets a parameter of an instance that is not active, by its name and in words.
fn set(instance: &Instance, name: &str, words: &CStr) {
    let id = params::named(instance, name).id;
    let value = params::from_words(instance, id, words);
    let value = value.unwrap_or_else(|| panic!("{name} does not take {words:?}"));
    let value = raw::events::value(0, id, value);
    let answer = params::flush(instance, &Events::new(vec![value]));
    assert!(answer.is_empty(), "{answer:?}");
}

/// An instance that turns roots into chords.
fn on_roots() -> Instance {
    let instance = instance();
    set(&instance, "Chords from", c"Roots");
    instance
}

/// An instance that plays a chart, mute.
fn on_chart(text: &str) -> Instance {
    let instance = instance();
    set(&instance, "Chords from", c"Chart");
    set(&instance, "Audition tone", c"Off");
    let saved = stream::save(&instance, Manner::WHOLE).expect("a state");
    let state = state::with_chart(&saved, text);
    assert!(stream::load(&instance, &state, Manner::WHOLE));
    instance
}

/// Activates an instance for blocks of up to this many frames, and starts it.
fn started(instance: &Instance, max_frames: u32) -> Processor<'_> {
    let mut processor = instance.activate(RATE_HZ, (1, max_frames)).expect("active");
    assert!(processor.start());
    processor
}

/// Checks a plugin's output: every block follows CLAP's rules. Knows which keys sound.
#[derive(Default)]
struct OutputCheck {
    sounding: BTreeSet<(i16, i16)>,
    note_ons: usize,
    loudest: f32,
    /// The input has velocities of any kind, and passes unchanged.
    any_velocity: bool,
}

impl OutputCheck {
    /// Checks a block of `frames`.
    fn hear(&mut self, played: &ProcessedBlock, frames: u32) {
        let carries_on = [
            CLAP_PROCESS_CONTINUE,
            CLAP_PROCESS_CONTINUE_IF_NOT_QUIET,
            CLAP_PROCESS_TAIL,
            CLAP_PROCESS_SLEEP,
        ];
        assert!(carries_on.contains(&played.status), "{}", played.status);
        assert_eq!(played.odd_events, 0);
        assert_eq!(played.left.len(), frames as usize);
        for sample in played.left.iter().chain(&played.right) {
            assert!(sample.abs() <= CEILING, "a sample of {sample}");
            self.loudest = self.loudest.max(sample.abs());
        }
        let mut before = 0;
        for event in &played.events {
            let time = event.header().time;
            assert!(time < frames, "{event:?} in {frames} frames");
            assert!(time >= before, "{event:?} after {before}");
            before = time;
            self.take(event);
        }
    }

    fn take(&mut self, event: &RawEvent) {
        let RawEvent::Note(note) = event else { return };
        let key = (note.channel, note.key);
        match note.header.type_ {
            clap_sys::events::CLAP_EVENT_NOTE_ON => {
                assert!((0..16).contains(&note.channel), "{note:?}");
                assert!((0..128).contains(&note.key), "{note:?}");
                let sound = (0.0..=1.0).contains(&note.velocity);
                assert!(self.any_velocity || sound, "{note:?}");
                assert_eq!(note.port_index, 0);
                self.note_ons += 1;
                assert!(self.sounding.insert(key), "{note:?} sounds already");
            }
            clap_sys::events::CLAP_EVENT_NOTE_OFF => {
                assert!(self.sounding.remove(&key), "{note:?} does not sound");
            }
            _ => {}
        }
    }

    /// The number of keys that sound.
    fn sounding(&self) -> usize {
        self.sounding.len()
    }

    fn expect_silence(&self) {
        assert!(self.sounding.is_empty(), "hanging: {:?}", self.sounding);
    }
}

/// The time and key of every note event of a kind.
fn notes_of(played: &ProcessedBlock, kind: u16) -> Vec<(u32, i16)> {
    let of = |event: &RawEvent| match event {
        RawEvent::Note(note) if note.header.type_ == kind => Some((note.header.time, note.key)),
        _ => None,
    };
    played.events.iter().filter_map(of).collect()
}

/// The note-offs of every key of every channel.
fn all_up() -> Events {
    let keys = (0..16).flat_map(|channel| (0..128).map(move |key| (channel, key)));
    let off = |(channel, key)| note(clap_sys::events::CLAP_EVENT_NOTE_OFF, 0, channel, key, 0.0);
    Events::new(keys.map(off).collect())
}
