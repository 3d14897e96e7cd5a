//! The values in force for one block: plain, `Copy`, read from the parameters once. Every thread may
//! use them. Imports `rhythm`, the theory and the bass crate.

use crate::engine::rhythm::{Groove, Rhythm};
use guidehand_bass::Reference;
use guidehand_theory::candidates::Register;
use guidehand_theory::comping::Yielding;
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::shape::Texture;
use guidehand_theory::under::Style;

/// Where chords come from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Source {
    /// Root notes that are played below the split.
    #[default]
    Roots,
    /// The chart, in time with the host.
    Chart,
    /// The player makes them: what is played below the split passes, and is read.
    Reading,
    /// A bass that is heard at the audio inputs.
    Bass,
    /// The player makes them, and is asked for them: what is played below the split passes, and is
    /// judged.
    Practice,
}

/// How a bass is listened to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BassSettings {
    /// The level below which nothing is heard, in dB.
    pub gate_db: f32,
    /// Where its tuning reference comes from.
    pub tuned: Reference,
    /// Its notes are compared with the chart; otherwise they are roots in the key.
    pub by_chart: bool,
}

/// How the chart is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChartSettings {
    /// It sounds only while a key below the split is held.
    pub gate: bool,
    /// Inner lines sound within dominants.
    pub inner_lines: bool,
    /// The bar of the song in which it starts, from 1.
    pub from_bar: u16,
    /// It starts again at its end.
    pub repeats: bool,
}

/// What becomes of what the right hand plays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RightHandSettings {
    /// How far chords yield to it.
    pub yielding: Yielding,
    /// A chord that is struck again keeps its notes but for those that the right hand has spoken
    /// against since.
    pub revoices: bool,
    /// How much room the rhythm leaves it, 0 to 1.
    pub space: f64,
    /// The chords that sound under its keys, if any do.
    pub under: Option<Style>,
    /// A key that follows the one before sooner than this many milliseconds has no chord under it.
    pub single_under_ms: u32,
}

/// All parameters that the engine needs.
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
    /// The channel for a root or slash bass, 0 to 15, if it is wanted.
    pub bass_channel: Option<u8>,
    /// How loud the chart plays, 0 to 1.
    pub velocity: f32,
    /// When chords are struck.
    pub groove: Groove,
    /// How the chart is played.
    pub chart: ChartSettings,
    /// A changed parameter is heard at once, and not only from the next chord on.
    pub at_once: bool,
    /// The tempo in case the host reports none, in quarter notes a minute.
    pub own_bpm: f64,
    /// How a bass is listened to.
    pub bass: BassSettings,
    /// What becomes of what the right hand plays.
    pub right_hand: RightHandSettings,
    /// Chords of ours sound. Otherwise they are only known, and their bass alone sounds.
    pub comps: bool,
}

impl Settings {
    /// Whether chords are made here, rather than by the player.
    #[must_use]
    pub const fn makes_chords(&self) -> bool {
        match self.source {
            Source::Roots | Source::Chart | Source::Bass => true,
            Source::Reading | Source::Practice => false,
        }
    }

    /// Whether a key belongs to a right hand that is heard: it lies at the split or above, and chords
    /// are made here.
    #[must_use]
    pub const fn is_right_hand(&self, key: u8) -> bool {
        !self.bypass && self.makes_chords() && key >= self.split
    }

    /// Whether what sounds at a sample depends on the keys that the right hand strikes at it.
    #[must_use]
    pub const fn hears_keys(&self) -> bool {
        let yields = !matches!(self.right_hand.yielding, Yielding::Off);
        !self.bypass && self.makes_chords() && (yields || self.right_hand.under.is_some())
    }

    /// Whether chords come from the chart.
    #[must_use]
    pub const fn plays_chart(&self) -> bool {
        match self.source {
            Source::Chart => true,
            Source::Bass => self.bass.by_chart,
            Source::Roots | Source::Reading | Source::Practice => false,
        }
    }

    /// Whether keys have another meaning than under the old settings, or chords come from elsewhere:
    /// what sounds cannot go on.
    #[must_use]
    pub fn remaps(&self, old: &Settings) -> bool {
        let by_hand = |settings: &Settings| settings.groove.rhythm == Rhythm::Played;
        old.bypass != self.bypass
            || old.source != self.source
            || old.split != self.split
            || old.chart.gate != self.chart.gate
            || old.chart.from_bar != self.chart.from_bar
            || old.bass.by_chart != self.bass.by_chart
            || by_hand(old) != by_hand(self)
    }
}

/// What a plan of the chart depends on, besides its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlanFor {
    /// The register.
    pub register: Register,
    /// A key that holds for the whole chart, if it is pinned.
    pub pinned: Option<Key>,
    /// How far chords yield to the melody that is written over it.
    pub yielding: Yielding,
}

impl Default for PlanFor {
    fn default() -> Self {
        PlanFor {
            register: Register::DEFAULT,
            pinned: None,
            yielding: Yielding::Off,
        }
    }
}

/// The shapes that a plan of the chart takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shapes {
    /// Those of a texture.
    Texture(Texture),
    /// The player's own, and those of [`Shapes::OF_OTHERS`] where none of them serves.
    Own,
}

impl Shapes {
    /// The texture of the chords that no own shape serves.
    pub const OF_OTHERS: Texture = Texture::FourNotes;

    /// All of them: those of each texture, then the player's own.
    pub fn all() -> impl Iterator<Item = Shapes> {
        let textures = Texture::ALL.into_iter().map(Shapes::Texture);
        textures.chain([Shapes::Own])
    }

    /// A taste with nothing but these shapes.
    #[must_use]
    pub fn taste(self) -> Taste {
        let (texture, own) = match self {
            Shapes::Texture(texture) => (texture, false),
            Shapes::Own => (Shapes::OF_OTHERS, true),
        };
        Taste {
            texture,
            own,
            ..Taste::default()
        }
    }
}

impl Default for Shapes {
    fn default() -> Shapes {
        Texture::default().into()
    }
}

impl From<Texture> for Shapes {
    fn from(texture: Texture) -> Shapes {
        Shapes::Texture(texture)
    }
}

impl From<&Taste> for Shapes {
    fn from(taste: &Taste) -> Shapes {
        if taste.own {
            Shapes::Own
        } else {
            Shapes::Texture(taste.texture)
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
            bass_channel: None,
            velocity: 0.7,
            groove: Groove {
                swing: 0.5,
                length: 1.0,
                ahead: true,
                ..Groove::default()
            },
            chart: ChartSettings {
                gate: false,
                inner_lines: false,
                from_bar: 1,
                repeats: true,
            },
            at_once: false,
            own_bpm: 120.0,
            bass: BassSettings {
                gate_db: -60.0,
                tuned: Reference::Hand(440.0),
                by_chart: true,
            },
            right_hand: RightHandSettings {
                yielding: Yielding::Off,
                revoices: false,
                space: 0.0,
                under: None,
                single_under_ms: 100,
            },
            comps: true,
        }
    }
}
