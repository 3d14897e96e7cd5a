//! How parameters are made: ranges, words for values and values for words, and
//! the counter that tells the audio thread that one has moved. Imports nothing of
//! the crate.

use guidehand_theory::pitch::{MidiNote, SpelledPitch};
use nice_plug::prelude::{
    BoolParam, Enum, EnumParam, FloatParam, FloatRange, IntParam, IntRange, formatters, util,
};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

/// Counts moves of parameters, so that the audio thread reads them only then.
#[derive(Clone, Debug, Default)]
pub struct Moves(Arc<AtomicU32>);

impl Moves {
    /// How many there have been; it wraps. Wait-free.
    #[must_use]
    pub fn count(&self) -> u32 {
        self.0.load(Ordering::Acquire)
    }

    /// One more. Wait-free.
    pub fn add(&self) {
        self.0.fetch_add(1, Ordering::Release);
    }

    fn callback<T: 'static>(&self) -> Arc<dyn Fn(T) + Send + Sync> {
        let moves = self.clone();
        Arc::new(move |_| moves.add())
    }

    /// An on-off parameter.
    pub fn switch(&self, name: &str, default: bool) -> BoolParam {
        BoolParam::new(name, default).with_callback(self.callback())
    }

    /// A choice.
    pub fn choice<T: Enum + PartialEq + 'static>(&self, name: &str, default: T) -> EnumParam<T> {
        EnumParam::new(name, default).with_callback(self.callback())
    }

    /// A whole number.
    pub fn number(&self, name: &str, default: i32, min: i32, max: i32) -> IntParam {
        IntParam::new(name, default, IntRange::Linear { min, max }).with_callback(self.callback())
    }

    /// A MIDI note, with its name.
    pub fn note(&self, name: &str, default: i32, min: i32, max: i32) -> IntParam {
        self.number(name, default, min, max)
            .with_value_to_string(formatters::v2s_i32_key_formatter())
            .with_string_to_value(Arc::new(note_from))
    }

    /// A share, shown in percent without decimals.
    pub fn percent(&self, name: &str, default: f32, min: f32, max: f32) -> FloatParam {
        FloatParam::new(name, default, FloatRange::Linear { min, max })
            .with_callback(self.callback())
            .with_value_to_string(formatters::v2s_f32_percentage(0))
            .with_string_to_value(finite(formatters::s2v_f32_percentage()))
            .with_unit(" %")
    }

    /// A measure with its unit, shown with so many decimals.
    pub fn measure(
        &self,
        (name, unit): (&str, &'static str),
        default: f32,
        (min, max): (f32, f32),
        decimals: usize,
    ) -> FloatParam {
        let read = |words: &str| {
            let from_number = words.trim_start_matches(|c: char| !c.is_ascii_digit() && c != '-');
            let number = from_number.trim_end_matches(|c: char| !c.is_ascii_digit());
            number.parse().ok()
        };
        FloatParam::new(name, default, FloatRange::Linear { min, max })
            .with_callback(self.callback())
            .with_value_to_string(formatters::v2s_f32_rounded(decimals))
            .with_string_to_value(finite(Arc::new(read)))
            .with_unit(unit)
    }

    /// A gain, linear, shown in decibels.
    pub fn gain(&self, name: &str, default_db: f32, quietest_db: f32) -> FloatParam {
        let range = FloatRange::Skewed {
            min: util::db_to_gain(quietest_db),
            max: 1.0,
            factor: FloatRange::gain_skew_factor(quietest_db, 0.0),
        };
        FloatParam::new(name, util::db_to_gain(default_db), range)
            .with_callback(self.callback())
            .with_unit(" dB")
            .with_value_to_string(formatters::v2s_f32_gain_to_db(1))
            .with_string_to_value(finite(formatters::s2v_f32_gain_to_db()))
    }
}

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
