//! The parameters: ids, ranges and names. Ids are frozen; labels may change.
//! Imports `settings` and `chart_cell`.

use crate::chart_cell::ChartCell;
use crate::settings::{PlanFor, Settings, Source};
use atomic_float::AtomicF32;
use guidehand_theory::candidates::Register;
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::{MidiNote, PitchClass, SpelledPitch};
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{Asks, EleventhAsk, NinthAsk, ThirteenthAsk};
use nice_plug::prelude::{
    BoolParam, Enum, EnumParam, FloatParam, FloatRange, IntParam, IntRange, Params, formatters,
    util,
};
use std::sync::Arc;

/// Where chords come from.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum SourceParam {
    /// See [`Source::Roots`].
    #[id = "roots"]
    #[name = "Roots"]
    Roots,
    /// See [`Source::Chart`].
    #[id = "chart"]
    #[name = "Chart"]
    Chart,
    /// See [`Source::Reading`].
    #[id = "reading"]
    #[name = "Playing"]
    Reading,
}

/// The tonic of the key.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum TonicParam {
    #[id = "c"]
    #[name = "C"]
    C,
    #[id = "db"]
    #[name = "Db"]
    Db,
    #[id = "d"]
    #[name = "D"]
    D,
    #[id = "eb"]
    #[name = "Eb"]
    Eb,
    #[id = "e"]
    #[name = "E"]
    E,
    #[id = "f"]
    #[name = "F"]
    F,
    #[id = "gb"]
    #[name = "F#/Gb"]
    Gb,
    #[id = "g"]
    #[name = "G"]
    G,
    #[id = "ab"]
    #[name = "Ab"]
    Ab,
    #[id = "a"]
    #[name = "A"]
    A,
    #[id = "bb"]
    #[name = "Bb"]
    Bb,
    #[id = "b"]
    #[name = "B"]
    B,
}

/// Major or minor.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum ModeParam {
    #[id = "major"]
    #[name = "Major"]
    Major,
    #[id = "minor"]
    #[name = "Minor"]
    Minor,
}

/// The ninth of open dominants.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum NinthParam {
    #[id = "context"]
    #[name = "By context"]
    ByContext,
    #[id = "9"]
    #[name = "9"]
    Nine,
    #[id = "b9"]
    #[name = "b9"]
    Flat9,
    #[id = "#9"]
    #[name = "#9"]
    Sharp9,
}

/// The eleventh of open dominants.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum EleventhParam {
    #[id = "context"]
    #[name = "By context"]
    ByContext,
    #[id = "none"]
    #[name = "None"]
    None,
    #[id = "#11"]
    #[name = "#11"]
    Sharp11,
}

/// The thirteenth of open dominants.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum ThirteenthParam {
    #[id = "context"]
    #[name = "By context"]
    ByContext,
    #[id = "none"]
    #[name = "None"]
    None,
    #[id = "13"]
    #[name = "13"]
    Thirteen,
    #[id = "b13"]
    #[name = "b13"]
    Flat13,
}

/// The texture of the voicings.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum TextureParam {
    #[id = "guide"]
    #[name = "Guide tones"]
    GuideTones,
    #[id = "three"]
    #[name = "Three notes"]
    ThreeNotes,
    #[id = "four"]
    #[name = "Four notes"]
    FourNotes,
    #[id = "fourths"]
    #[name = "Fourths"]
    Fourths,
    #[id = "open"]
    #[name = "Open"]
    Open,
    #[id = "two_hands"]
    #[name = "Two hands"]
    TwoHands,
    #[id = "upper"]
    #[name = "Upper structure"]
    UpperStructure,
    #[id = "any"]
    #[name = "Any rotation"]
    AnyRotation,
}

/// The plugin's parameters and saved fields.
#[derive(Params)]
pub struct GuidehandParams {
    /// The chart's text; the one saved field that is no parameter.
    #[persist = "chart"]
    pub chart: ChartCell,

    /// The audition tone's highest peak since the panel took it last, linear, 0 to
    /// 0.5: raised by the audio thread at the end of a block.
    pub tone_peak: AtomicF32,

    /// Input passes, nothing is generated.
    #[id = "bypass"]
    pub bypass: BoolParam,
    /// Where chords come from.
    #[id = "source"]
    pub source: EnumParam<SourceParam>,
    /// The lowest key of the right hand, a MIDI note.
    #[id = "split"]
    pub split: IntParam,
    /// The key's tonic.
    #[id = "key"]
    pub tonic: EnumParam<TonicParam>,
    /// The key's mode.
    #[id = "mode"]
    pub mode: EnumParam<ModeParam>,
    /// Whether the key holds for the chart too, instead of the keys found in it.
    #[id = "pin_key"]
    pub pin_key: BoolParam,
    /// The ninth of open dominants.
    #[id = "ninth"]
    pub ninth: EnumParam<NinthParam>,
    /// The eleventh of open dominants.
    #[id = "eleventh"]
    pub eleventh: EnumParam<EleventhParam>,
    /// The thirteenth of open dominants.
    #[id = "thirteenth"]
    pub thirteenth: EnumParam<ThirteenthParam>,
    /// The texture.
    #[id = "texture"]
    pub texture: EnumParam<TextureParam>,
    /// The bottom of the register, a MIDI note.
    #[id = "lowest"]
    pub lowest: IntParam,
    /// The top of the register, a MIDI note.
    #[id = "highest"]
    pub highest: IntParam,
    /// The chart sounds only while a key below the split is held.
    #[id = "gate"]
    pub gate: BoolParam,
    /// How loud the chart plays, 0 to 1.
    #[id = "velocity"]
    pub velocity: FloatParam,
    /// Whether a root or slash bass sounds.
    #[id = "bass"]
    pub bass: BoolParam,
    /// The bass's MIDI channel, 1 to 16.
    #[id = "bass_ch"]
    pub bass_channel: IntParam,
    /// Whether the audition tone sounds.
    #[id = "tone"]
    pub tone: BoolParam,
    /// The audition tone's gain, linear.
    #[id = "tone_lvl"]
    pub tone_level: FloatParam,
    /// Counts edits of the chart: hosts offer to save when a parameter moves,
    /// and are not told of other fields.
    #[id = "revision"]
    pub revision: IntParam,
}

/// The highest value of the edit counter; it then starts again.
pub const LAST_REVISION: i32 = 9999;

const QUIETEST_DB: f32 = -48.0;

/// A note from its name, such as `F#3`, `♭` and small letters included. The
/// framework's own reader panics on some words.
fn note_from(words: &str) -> Option<i32> {
    let words: String = words.split_whitespace().collect();
    let (letter, rest) = words.split_at_checked(1)?;
    let pitch = SpelledPitch::parse(&format!("{}{rest}", letter.to_ascii_uppercase()))?;
    pitch.midi().map(MidiNote::semitones)
}

type Reader = Arc<dyn Fn(&str) -> Option<f32> + Send + Sync>;

/// The framework's readers take `nan` for a number.
fn finite(read: Reader) -> Reader {
    Arc::new(move |words| read(words).filter(|v| v.is_finite()))
}

fn note(name: &str, default: i32, min: i32, max: i32) -> IntParam {
    IntParam::new(name, default, IntRange::Linear { min, max })
        .with_value_to_string(formatters::v2s_i32_key_formatter())
        .with_string_to_value(Arc::new(note_from))
}

impl GuidehandParams {
    /// The parameters at their defaults, with the chart's cell.
    #[must_use]
    pub fn new(chart: ChartCell) -> Self {
        let level = FloatRange::Skewed {
            min: util::db_to_gain(QUIETEST_DB),
            max: 1.0,
            factor: FloatRange::gain_skew_factor(QUIETEST_DB, 0.0),
        };
        let count = IntRange::Linear {
            min: 0,
            max: LAST_REVISION,
        };
        let channels = IntRange::Linear { min: 1, max: 16 };
        Self {
            chart,
            tone_peak: AtomicF32::new(0.0),
            bypass: BoolParam::new("Bypass", false).make_bypass(),
            source: EnumParam::new("Chords from", SourceParam::Roots),
            split: note("Split", 60, 0, 127),
            tonic: EnumParam::new("Key", TonicParam::C),
            mode: EnumParam::new("Mode", ModeParam::Major),
            pin_key: BoolParam::new("Key holds for chart", false),
            ninth: EnumParam::new("Ninth", NinthParam::ByContext),
            eleventh: EnumParam::new("Eleventh", EleventhParam::ByContext),
            thirteenth: EnumParam::new("Thirteenth", ThirteenthParam::ByContext),
            texture: EnumParam::new("Texture", TextureParam::FourNotes),
            lowest: note("Register from", 50, 36, 60),
            highest: note("Register to", 69, 60, 96),
            gate: BoolParam::new("Held key gates chart", false),
            velocity: FloatParam::new(
                "Chart velocity",
                0.7,
                FloatRange::Linear {
                    min: 0.01,
                    max: 1.0,
                },
            )
            .with_value_to_string(formatters::v2s_f32_percentage(0))
            .with_string_to_value(finite(formatters::s2v_f32_percentage()))
            .with_unit(" %"),
            bass: BoolParam::new("Bass", false),
            bass_channel: IntParam::new("Bass channel", 2, channels),
            tone: BoolParam::new("Audition tone", true),
            tone_level: FloatParam::new("Audition level", util::db_to_gain(-9.0), level)
                .with_unit(" dB")
                .with_value_to_string(formatters::v2s_f32_gain_to_db(1))
                .with_string_to_value(finite(formatters::s2v_f32_gain_to_db())),
            revision: IntParam::new("Chart revision", 0, count)
                .non_automatable()
                .hide()
                .hide_in_generic_ui(),
        }
    }

    /// The key in force for played roots.
    #[must_use]
    pub fn key(&self) -> Key {
        let tonic = self.tonic.value().to_index();
        let class = PitchClass::wrapping(i32::try_from(tonic).unwrap_or(0));
        let mode = match self.mode.value() {
            ModeParam::Major => Mode::Major,
            ModeParam::Minor => Mode::Minor,
        };
        Key::usual(class, mode)
    }

    /// What a plan of the chart depends on.
    #[must_use]
    pub fn plan_for(&self) -> PlanFor {
        PlanFor {
            register: self.register(),
            pinned: self.pin_key.value().then(|| self.key()),
        }
    }

    fn register(&self) -> Register {
        Register::new(
            MidiNote::clamp(self.lowest.value()),
            MidiNote::clamp(self.highest.value()),
        )
    }

    /// The values in force for the block that begins now.
    #[must_use]
    pub fn settings(&self) -> Settings {
        let channel = u8::try_from(self.bass_channel.value() - 1).unwrap_or(0);
        Settings {
            bypass: self.bypass.value(),
            source: match self.source.value() {
                SourceParam::Roots => Source::Roots,
                SourceParam::Chart => Source::Chart,
                SourceParam::Reading => Source::Reading,
            },
            split: MidiNote::clamp(self.split.value()).number(),
            key: self.key(),
            taste: self.taste(),
            gate: self.gate.value(),
            bass_channel: self.bass.value().then_some(channel),
            velocity: self.velocity.value(),
        }
    }

    fn taste(&self) -> Taste {
        Taste {
            texture: match self.texture.value() {
                TextureParam::GuideTones => Texture::GuideTones,
                TextureParam::ThreeNotes => Texture::ThreeNotes,
                TextureParam::FourNotes => Texture::FourNotes,
                TextureParam::Fourths => Texture::Fourths,
                TextureParam::Open => Texture::Open,
                TextureParam::TwoHands => Texture::TwoHands,
                TextureParam::UpperStructure => Texture::UpperStructure,
                TextureParam::AnyRotation => Texture::AnyRotation,
            },
            register: self.register(),
            asks: Asks {
                ninth: match self.ninth.value() {
                    NinthParam::ByContext => NinthAsk::ByContext,
                    NinthParam::Nine => NinthAsk::Nine,
                    NinthParam::Flat9 => NinthAsk::Flat9,
                    NinthParam::Sharp9 => NinthAsk::Sharp9,
                },
                eleventh: match self.eleventh.value() {
                    EleventhParam::ByContext => EleventhAsk::ByContext,
                    EleventhParam::None => EleventhAsk::None,
                    EleventhParam::Sharp11 => EleventhAsk::Sharp11,
                },
                thirteenth: match self.thirteenth.value() {
                    ThirteenthParam::ByContext => ThirteenthAsk::ByContext,
                    ThirteenthParam::None => ThirteenthAsk::None,
                    ThirteenthParam::Thirteen => ThirteenthAsk::Thirteen,
                    ThirteenthParam::Flat13 => ThirteenthAsk::Flat13,
                },
            },
        }
    }
}
