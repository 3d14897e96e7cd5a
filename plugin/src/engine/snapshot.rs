//! What the panel shows, as one plain value: the audio thread makes it, and the panel reads it.
//! Imports `practising`, `settings`, `trial`, the theory and the bass crate.

use crate::engine::practising::Asking;
use crate::engine::settings::Source;
use crate::engine::trial::Trying;
use guidehand_bass::roots::Standing;
use guidehand_theory::chord::Chord;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Voiced;
use guidehand_theory::read;
use guidehand_theory::tension::Yields;
use guidehand_theory::under;

/// A chord as it sounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sounding {
    /// The chord in its key.
    pub placed: ChordInKey,
    /// The notes, and the tensions with their reason.
    pub voiced: Voiced,
    /// The bass note, if one sounds.
    pub bass: Option<MidiNote>,
    /// Why the notes are read as this chord, where a player laid them.
    pub read: Option<read::Reason>,
}

/// How a chord yields to the right hand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Yielded {
    /// What yields in it, as far as it would be heard, and what stands against the melody.
    pub yields: Yields,
    /// How many semitones its highest note is too high to lie below the melody, if it should.
    pub too_high: u8,
}

/// The chord under a key of the right hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UnderKey {
    /// The melody with the voices below it, by degree, and why it has them.
    pub block: under::Block,
    /// The key is still held.
    pub sounds: bool,
}

/// How a bass is understood.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum BassReading {
    /// No bass has been heard.
    #[default]
    Waiting,
    /// Its note is compared with the chart.
    Charted {
        /// Whether it is on time.
        standing: Standing,
        /// The chord of the chart that it plays; none where the chart is silent.
        chord: Option<Chord>,
        /// Its note is the chord's root, or its written bass.
        root: bool,
        /// How many bars it is ahead of the host, or behind.
        shift_bars: i32,
        /// How sure the place is, 0 to 1.
        confidence: f32,
    },
    /// Its note is a root in the key.
    Rooted {
        /// The chord that the root makes; none before a root is clear.
        chord: Option<Chord>,
        /// How sure the root is, 0 to 1.
        confidence: f32,
    },
}

/// The state of the performance at the end of a block. The audio thread writes it when it has changed,
/// and the panel reads it once a frame.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Snapshot {
    /// Where chords come from.
    pub source: Source,
    /// The host plays, and reports its position.
    pub playing: bool,
    /// The chord that sounds now.
    pub sounding: Option<Sounding>,
    /// The last chord that sounded. It stays on show after its release.
    pub last: Option<Sounding>,
    /// How that chord yields to the right hand.
    pub yielded: Yielded,
    /// The chord under the key of the right hand that was struck last.
    pub under: Option<UnderKey>,
    /// What else the notes that are played can be.
    pub others: [Option<Chord>; 3],
    /// The chart's next chord.
    pub next: Option<ChordInKey>,
    /// How the next chord will be voiced if nothing changes.
    pub next_voiced: Option<Voiced>,
    /// The keys that the player holds down, whether they pass or not: one bit for each MIDI note, on
    /// any channel.
    pub held: u128,
    /// The number of the text whose chart plays; none while stopped.
    pub song: Option<u64>,
    /// Where the current beat began, in ticks from the start of the chart; none while stopped.
    pub beat_ticks: Option<u32>,
    /// The index of the chart's current change; none while stopped.
    pub change: Option<usize>,
    /// How the bass is understood.
    pub bass: BassReading,
    /// What is tried by ear.
    pub trying: Option<Trying>,
    /// What is asked in practice.
    pub practice: Option<Asking>,
}
