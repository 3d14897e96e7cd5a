//! Shared by the tests of the plugin: an instance, its parameters in words, its saved state, and
//! the chords among its events. Imported by the `plugin_*` modules.

use guidehand_tests::notes::PlayedNote;
use guidehand_tests::paths::PLUGIN_ID;
pub use guidehand_tests::soak::check::CEILING;
pub use guidehand_tests::soak::random_value;
use guidehand_tests::{
    BlockSizes, Event, Host, Performance, Session, TimedEvent, hanging, note_pairs, paths, render,
    soak, state,
};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, TICKS_PER_QUARTER};
use guidehand_theory::key::{self, Key, Mode};
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::plan::Ends;
use guidehand_theory::root_note::Extras;
use guidehand_theory::shape::Texture;
use guidehand_theory::slash;
use guidehand_theory::symbol::{self, Sign, Symbol};
use guidehand_theory::voicing::Voicing;

/// The sample rate of all sessions that need no other.
pub const RATE_HZ: f64 = 48_000.0;

/// The block sizes, which must all give the same result.
pub const BLOCKS: [BlockSizes; 7] = [
    BlockSizes::Fixed(4096),
    BlockSizes::Fixed(1),
    BlockSizes::Fixed(32),
    BlockSizes::Fixed(64),
    BlockSizes::Fixed(441),
    BlockSizes::Random {
        seed: 1,
        max_frames: 100,
    },
    BlockSizes::Random {
        seed: 2,
        max_frames: 2048,
    },
];

/// A fresh instance of the plugin, as it starts: chords from its first chart.
pub fn untouched() -> Host {
    Host::open(&paths::plugin_path(), PLUGIN_ID).unwrap_or_else(|error| panic!("{error}"))
}

/// The same with its chords from roots, in the key of C.
pub fn guidehand() -> Host {
    let mut host = untouched();
    set(&mut host, "Chords from", "Roots");
    host
}

/// The same without its audition tone, which takes most of a session's time.
pub fn mute() -> Host {
    let mut host = guidehand();
    set(&mut host, "Audition tone", "Off");
    host
}

/// A fresh mute instance that plays a chart.
pub fn with_chart(text: &str) -> Host {
    let mut host = mute();
    set(&mut host, "Chords from", "Chart");
    load_chart(&mut host, text);
    host
}

/// Gives an instance another chart through its state, which is the only way.
pub fn load_chart(host: &mut Host, text: &str) {
    let state = host.save_state().unwrap();
    host.load_state(&state::with_chart(&state, text)).unwrap();
}

/// The CLAP id of a parameter.
pub fn id(host: &Host, name: &str) -> u32 {
    let param = host.param_by_name(name);
    param.unwrap_or_else(|error| panic!("{error}")).id
}

/// The plain value that words mean to a parameter.
pub fn value(host: &mut Host, name: &str, words: &str) -> f64 {
    let id = id(host, name);
    host.text_to_value(id, words)
        .unwrap_or_else(|error| panic!("{name} as {words}: {error}"))
}

/// Sets a parameter in words, as a user types them.
pub fn set(host: &mut Host, name: &str, words: &str) {
    let value = value(host, name, words);
    let id = id(host, name);
    host.set_param(id, value).unwrap();
}

/// The texture parameter's words, and the theory's terms.
pub const TEXTURES: [(&str, Texture); 6] = [
    ("Guide tones", Texture::GuideTones),
    ("Three notes", Texture::ThreeNotes),
    ("Four notes", Texture::FourNotes),
    ("Quartal", Texture::Fourths),
    ("Drop 2", Texture::Open),
    ("Two hands", Texture::TwoHands),
];

/// The key parameter's words for the classes from C upwards.
pub const TONICS: [&str; 12] = [
    "C", "Db", "D", "Eb", "E", "F", "F#/Gb", "G", "Ab", "A", "Bb", "B",
];

/// The tonics as semitones above C.
pub fn twelve_tonics() -> impl Iterator<Item = u8> {
    0..12
}

/// A root in the octave from C3 to B3.
pub fn low(class: u8) -> i16 {
    48 + i16::from(class % 12)
}

/// Sets key and mode, and gives the same key in the theory's terms.
pub fn set_key(host: &mut Host, tonic: u8, mode: Mode) -> Key {
    set(host, "Key", TONICS[usize::from(tonic)]);
    let words = match mode {
        Mode::Major => "Major",
        Mode::Minor => "Minor",
        Mode::Blues => "Blues",
    };
    set(host, "Mode", words);
    Key::usual(PitchClass::wrapping(tonic.into()), mode)
}

/// A chart in another key, this many fifths away. Every symbol moves along the circle of fifths,
/// which spells it. Bar lines and `%` stay.
pub fn transposed(text: &str, fifths: i8) -> String {
    let words = text.split(' ').map(|word| match symbol::parse(word) {
        Ok(chord) => Symbol(&chord.transposed(fifths), Sign::Ascii).to_string(),
        Err(_) => word.to_owned(),
    });
    words.collect::<Vec<_>>().join(" ")
}

/// Twelve keys as fifths away from the present key: from six flats more to five sharps more.
pub fn twelve_keys() -> impl Iterator<Item = i8> {
    -6..=5
}

/// A change of a planned chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// Quarter notes from the start of the chart.
    pub at_beats: f64,
    /// The keys, from the lowest; none for silence.
    pub keys: Vec<i16>,
}

/// What the theory plans for a chart that repeats, in four notes and the usual
/// register.
pub fn planned(text: &str) -> Vec<Planned> {
    planned_in(text, Texture::FourNotes, None)
}

/// The same in a texture, and perhaps in a pinned key.
pub fn planned_in(text: &str, texture: Texture, pinned: Option<Key>) -> Vec<Planned> {
    let chart = chart::parse(text).unwrap_or_else(|errors| panic!("{text}: {errors:?}"));
    let placed = pipeline::place(&chart, pinned);
    let plan = pipeline::plan(&placed, texture, Register::DEFAULT, Ends::Cyclic);
    let changes = chart.changes.iter().zip(plan);
    changes
        .map(|(change, voiced)| Planned {
            at_beats: f64::from(change.start_ticks) / f64::from(TICKS_PER_QUARTER),
            keys: voiced.map_or_else(Vec::new, |voiced| keys_of(&voiced.voicing)),
        })
        .collect()
}

/// The theory's voicings for a line of roots.
pub struct Walk {
    key: Key,
    taste: Taste,
    before: Option<Voicing>,
}

impl Walk {
    /// A line that starts with any voicing.
    pub fn new(key: Key, taste: Taste) -> Self {
        Self {
            key,
            taste,
            before: None,
        }
    }

    /// The keys of the chord on the next root.
    pub fn root(&mut self, root: i16) -> Vec<i16> {
        let class = PitchClass::wrapping(root.into());
        self.chord(&pipeline::place_root(self.key, class, Extras::NONE))
    }

    /// The keys of a chord that is written instead.
    pub fn symbol(&mut self, text: &str) -> Vec<i16> {
        let chord = symbol::parse(text).unwrap();
        let function = key::live(&slash::meant(&chord), self.key);
        self.chord(&ChordInKey::new(chord, function))
    }

    fn chord(&mut self, placed: &ChordInKey) -> Vec<i16> {
        let voiced = pipeline::step(self.before.as_ref(), placed, &self.taste);
        self.before = Some(voiced.voicing);
        keys_of(&voiced.voicing)
    }
}

/// A voicing's MIDI notes, from the lowest.
pub fn keys_of(voicing: &Voicing) -> Vec<i16> {
    voicing.notes().map(|note| note.number().into()).collect()
}

/// The keys with these names: `F3 A3 C4 E4`.
pub fn keys(names: &str) -> Vec<i16> {
    let key = |name: &str| {
        let (class, octave) = name.split_at(name.len() - 1);
        let class = symbol::parse(class).unwrap().root.class().number();
        (octave.parse::<i16>().unwrap() + 1) * 12 + i16::from(class)
    };
    names.split(' ').map(key).collect()
}

/// Keys that start together on a channel.
#[derive(Debug, Clone, PartialEq)]
pub struct Chord {
    /// When they start.
    pub start_samples: u64,
    /// 0 to 15.
    pub channel: i16,
    /// The keys, from the lowest.
    pub keys: Vec<i16>,
}

/// The chords among the events: note-ons by time, then by channel.
pub fn chords(events: &[TimedEvent]) -> Vec<Chord> {
    let mut notes: Vec<(u64, i16, i16)> = events
        .iter()
        .filter_map(|timed| match timed.event {
            Event::NoteOn { channel, key, .. } => Some((timed.at_samples, channel, key)),
            _ => None,
        })
        .collect();
    notes.sort_unstable();
    notes
        .chunk_by(|a, b| (a.0, a.1) == (b.0, b.1))
        .map(|chord| Chord {
            start_samples: chord[0].0,
            channel: chord[0].1,
            keys: chord.iter().map(|(_, _, key)| *key).collect(),
        })
        .collect()
}

/// The keys of the chords alone.
pub fn chord_keys(events: &[TimedEvent]) -> Vec<Vec<i16>> {
    chords(events).into_iter().map(|chord| chord.keys).collect()
}

/// Every note with its start and end, by start, channel and key.
///
/// # Panics
/// If a note-on does not have exactly one note-off.
pub fn notes(events: &[TimedEvent]) -> Vec<PlayedNote> {
    let mut notes = note_pairs(events).unwrap_or_else(|error| panic!("{error}"));
    notes.sort_by_key(|note| (note.start_samples, note.channel, note.key));
    notes
}

/// The notes of a chord that is held from one sample to another.
pub fn held(keys: &[i16], channel: i16, velocity: f64, from: u64, to: u64) -> Vec<PlayedNote> {
    let note = |key: &i16| PlayedNote {
        channel,
        key: *key,
        velocity,
        start_samples: from,
        end_samples: to,
    };
    keys.iter().map(note).collect()
}

/// The keys that sound at a sample, in order, whatever their channel.
pub fn sounding(events: &[TimedEvent], at_samples: u64) -> Vec<i16> {
    let until = events.partition_point(|event| event.at_samples <= at_samples);
    let mut keys: Vec<i16> = hanging(&events[..until]).iter().map(|(_, k)| *k).collect();
    keys.sort_unstable();
    keys
}

/// Renders a session and checks what must hold in any session: nothing is refused, no call comes
/// from the wrong thread, and every sample is a number that is not too loud.
pub fn play(host: &mut Host, session: &Session) -> Performance {
    let performance = render(host, session).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(performance.refused_events, 0);
    assert_eq!(host.requests().wrong_thread, 0);
    check_audio(&performance);
    performance
}

/// Every sample is a number and stays below the ceiling.
///
/// # Panics
/// If a sample is not.
pub fn check_audio(performance: &Performance) {
    soak::check::audio(performance).unwrap_or_else(|fault| panic!("{fault}"));
}
