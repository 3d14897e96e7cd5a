//! What a source wants to happen. The performer carries intents out in the order of time; a source
//! itself neither holds notes nor sends events. Used on the audio thread; imports `hand`, `rhythm`,
//! `settings` and `snapshot`.

use crate::engine::hand::HeldKey;
use crate::engine::rhythm::Strike;
use crate::engine::settings::Settings;
use crate::engine::snapshot::Yielded;
use guidehand_theory::comping::Agreeing;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::plan::Voiced;
use guidehand_theory::voicing::Voicing;

/// The channel of chords from the chart, where no key says otherwise.
const CHART_CHANNEL: u8 = 0;

/// What a source wants to happen at a sample.
#[derive(Clone, Copy, Debug)]
#[expect(
    clippy::large_enum_variant,
    reason = "an intent is carried out where it is made, and a box would allocate"
)]
pub enum Intent {
    /// What sounds goes on.
    Hold,
    /// The key in question passes; the source does not take it.
    Pass,
    /// The chord that sounds is released.
    Release,
    /// The chord that sounds is released, and another one sounds.
    Sound(ChordEvent),
    /// The chord that sounds goes on, until another time in ticks.
    Extend {
        /// When it ends by itself, in ticks.
        end_ticks: f64,
    },
    /// It clicks on the audition tone.
    Click {
        /// It is the first beat of a bar.
        accented: bool,
    },
    /// What the rhythm has at this place sounds; the source is asked for the chord. Nothing happens
    /// where no rhythm runs.
    Rejoin {
        /// The chord is struck anew, even if the same one sounds.
        struck: bool,
    },
}

/// A chord that is to sound.
#[derive(Clone, Copy, Debug)]
pub struct ChordEvent {
    /// The chord in its key.
    pub placed: ChordInKey,
    /// Its notes.
    pub voiced: Voiced,
    /// How it yields to the right hand.
    pub yielded: Yielded,
    /// Its channel and velocity.
    pub key: HeldKey,
    /// It is struck anew, even if the same chord sounds.
    pub struck: bool,
    /// When it ends by itself, in ticks.
    pub end_ticks: f64,
    /// When an inner voice moves, in ticks, and what sounds from then on.
    pub line: Option<(f64, Voicing)>,
}

impl ChordEvent {
    /// A chord that sounds until something else ends it.
    pub const fn held(
        (placed, agreeing): (ChordInKey, Agreeing),
        key: HeldKey,
        struck: bool,
    ) -> ChordEvent {
        ChordEvent {
            placed,
            voiced: agreeing.voiced,
            yielded: Yielded {
                yields: agreeing.yields,
                too_high: agreeing.too_high,
            },
            key,
            struck,
            end_ticks: f64::INFINITY,
            line: None,
        }
    }

    /// A chord as a strike of the rhythm plays it; `key` gives the channel and the base of the
    /// velocity.
    pub fn of_strike(
        chord: (ChordInKey, Agreeing),
        key: HeldKey,
        strike: &Strike,
        struck: bool,
    ) -> ChordEvent {
        let key = HeldKey {
            velocity: strike.velocity(key.velocity),
            ..key
        };
        ChordEvent {
            end_ticks: strike.end_ticks,
            ..ChordEvent::held(chord, key, struck)
        }
    }
}

/// The channel and velocity of chords that no key strikes.
pub const fn chart_key(settings: &Settings) -> HeldKey {
    HeldKey {
        channel: CHART_CHANNEL,
        key: 0,
        velocity: settings.velocity,
    }
}
