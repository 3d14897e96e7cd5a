//! What the panel shows, as one plain value from the audio thread. Imports
//! `settings` and the theory.

use crate::engine::settings::Source;
use guidehand_bass::roots::Standing;
use guidehand_theory::chord::Chord;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Voiced;

/// A chord as it sounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sounding {
    /// The chord in its key.
    pub placed: ChordInKey,
    /// The notes, and the tensions with their reason.
    pub voiced: Voiced,
    /// The bass note, if one sounds.
    pub bass: Option<MidiNote>,
}

/// What is made of a bass.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum BassReading {
    /// No bass has been heard.
    #[default]
    Waiting,
    /// Its note, held against the chart.
    Charted {
        /// How it stands to the chart.
        standing: Standing,
        /// The chord that it plays; none where the chart is silent.
        chord: Option<Chord>,
        /// Its note is the chord's root, or its written bass.
        root: bool,
        /// How many bars it is ahead of the host, or behind.
        shift_bars: i32,
        /// How sure the place is, 0 to 1.
        confidence: f32,
    },
    /// Its note, as a root in the key.
    Rooted {
        /// The chord that the root makes; none before a root is clear.
        chord: Option<Chord>,
        /// How sure the root is, 0 to 1.
        confidence: f32,
    },
}

/// The state of the performance at the end of a block. Written by the audio
/// thread when it changed, read by the panel once a frame.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Snapshot {
    /// Where chords come from.
    pub source: Source,
    /// The host plays, and says where it is.
    pub playing: bool,
    /// The chord that sounds now.
    pub sounding: Option<Sounding>,
    /// The last chord that sounded, which stays on show after its release.
    pub last: Option<Sounding>,
    /// What else the notes that are played can be.
    pub others: [Option<Chord>; 3],
    /// The chart's next chord.
    pub next: Option<ChordInKey>,
    /// How the next chord will be voiced, as things stand.
    pub next_voiced: Option<Voiced>,
    /// The keys that the player holds down, whether they pass or not: one bit for
    /// each MIDI note, of any channel.
    pub held: u128,
    /// Where the beat in force began, in ticks from the start of the chart; none
    /// while stopped.
    pub beat_ticks: Option<u32>,
    /// The index of the chart's change in force; none while stopped.
    pub change: Option<usize>,
    /// What is made of the bass.
    pub bass: BassReading,
}
