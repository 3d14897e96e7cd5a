//! The values in force for one block: plain, `Copy`, read from the parameters
//! once. Imports `rhythm`, the theory and what a tracker is tuned to.

use crate::engine::rhythm::Groove;
use guidehand_bass::Reference;
use guidehand_theory::candidates::Register;
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::Taste;

/// Where chords come from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Source {
    /// Root notes that are played below the split.
    #[default]
    Roots,
    /// The chart, in time with the host.
    Chart,
    /// None are made: what is played below the split passes, and is read.
    Reading,
    /// A bass that is heard at the audio inputs.
    Bass,
}

/// How a bass is listened to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BassSettings {
    /// The level below which nothing is heard, in dB.
    pub gate_db: f32,
    /// Where its tuning reference comes from.
    pub tuned: Reference,
    /// Its notes are held against the chart; otherwise they are roots in the key.
    pub by_chart: bool,
}

/// Everything that the performer needs to know of the parameters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Input passes, nothing is generated.
    pub bypass: bool,
    /// Where chords come from.
    pub source: Source,
    /// Keys below this MIDI note belong to the left hand, 0 to 127.
    pub split: u8,
    /// The key that gives played roots their quality.
    pub key: Key,
    /// Texture, register and tensions.
    pub taste: Taste,
    /// The chart sounds only while a key below the split is held.
    pub gate: bool,
    /// The channel for a root or slash bass, 0 to 15, if it is wanted.
    pub bass_channel: Option<u8>,
    /// How loud the chart plays, 0 to 1.
    pub velocity: f32,
    /// When chords are struck.
    pub groove: Groove,
    /// Inner lines sound within dominants.
    pub inner_lines: bool,
    /// A change of a parameter is heard at once, and not at the next chord.
    pub at_once: bool,
    /// The bar of the song in which the chart starts, from 1.
    pub from_bar: u16,
    /// The chart starts again at its end.
    pub repeats: bool,
    /// The tempo where the host tells none, in quarter notes a minute.
    pub own_bpm: f64,
    /// How a bass is listened to.
    pub bass: BassSettings,
}

/// What a plan of the chart depends on, besides its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlanFor {
    /// The register.
    pub register: Register,
    /// A key that holds for the whole chart, if it is pinned.
    pub pinned: Option<Key>,
}

impl Default for PlanFor {
    fn default() -> Self {
        PlanFor {
            register: Register::DEFAULT,
            pinned: None,
        }
    }
}

#[cfg(test)]
impl Settings {
    /// Plain settings for tests: straight eighths, no touch.
    pub fn plain(source: Source) -> Settings {
        Settings {
            bypass: false,
            source,
            split: 60,
            key: Key::C_MAJOR,
            taste: Taste::default(),
            gate: false,
            bass_channel: None,
            velocity: 0.7,
            groove: Groove {
                swing: 0.5,
                length: 1.0,
                ahead: true,
                ..Groove::default()
            },
            inner_lines: false,
            at_once: false,
            from_bar: 1,
            repeats: true,
            own_bpm: 120.0,
            bass: BassSettings {
                gate_db: -60.0,
                tuned: Reference::Hand(440.0),
                by_chart: true,
            },
        }
    }
}
