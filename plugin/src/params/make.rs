//! How parameters are made: their ranges, the words for their values, and the values of words
//! that are typed. Each parameter counts its moves. The host's main thread makes them, and any
//! thread may move them. Imports `bridge` and the theory; only `params` imports it.

use crate::bridge::moves::Counter;
use guidehand_theory::candidates::Hand;
use guidehand_theory::pitch::{MidiNote, SpelledPitch};
use nice_plug::prelude::{
    BoolParam, Enum, EnumParam, FloatParam, FloatRange, IntParam, IntRange, formatters, util,
};
use std::sync::Arc;

/// Makes parameters whose moves are counted.
pub struct Make(Counter);

impl Make {
    pub fn new(moves: Counter) -> Make {
        Make(moves)
    }

    fn callback<T: 'static>(&self) -> Arc<dyn Fn(T) + Send + Sync> {
        let moves = self.0.clone();
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

    /// A whole quantity with its unit.
    pub fn whole(
        &self,
        (name, unit): (&str, &'static str),
        default: i32,
        (min, max): (i32, i32),
    ) -> IntParam {
        self.number(name, default, min, max).with_unit(unit)
    }

    /// A MIDI note, with its name.
    pub fn note(&self, name: &str, default: i32, min: i32, max: i32) -> IntParam {
        self.number(name, default, min, max)
            .with_value_to_string(formatters::v2s_i32_key_formatter())
            .with_string_to_value(Arc::new(note_from))
    }

    /// The span of a hand in semitones, with the interval's name.
    pub fn span(&self, name: &str, default: u8) -> IntParam {
        let [min, max] = [Hand::NARROWEST, Hand::WIDEST].map(i32::from);
        self.number(name, default.into(), min, max)
            .with_value_to_string(Arc::new(|semitones| capital(interval(semitones))))
            .with_string_to_value(Arc::new(span_from))
    }

    /// A fraction, shown in percent without decimals.
    pub fn percent(&self, name: &str, default: f32, min: f32, max: f32) -> FloatParam {
        FloatParam::new(name, default, FloatRange::Linear { min, max })
            .with_callback(self.callback())
            .with_value_to_string(formatters::v2s_f32_percentage(0))
            .with_string_to_value(finite(formatters::s2v_f32_percentage()))
            .with_unit(" %")
    }

    /// A quantity with its unit, shown with `decimals` digits after the point.
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

/// Reads the name of a note, such as `F#3`. It may hold `♭` and small letters. The framework's
/// own reader panics on some words.
fn note_from(words: &str) -> Option<i32> {
    let words: String = words.split_whitespace().collect();
    let (letter, rest) = words.split_at_checked(1)?;
    let pitch = SpelledPitch::parse(&format!("{}{rest}", letter.to_ascii_uppercase()))?;
    pitch.midi().map(MidiNote::semitones)
}

/// The spans of a hand: semitones, the interval's name, and its abbreviation.
const SPANS: [(i32, &str, &str); 6] = [
    (12, "octave", "8"),
    (13, "minor ninth", "b9"),
    (14, "ninth", "9"),
    (15, "minor tenth", "b10"),
    (16, "tenth", "10"),
    (17, "eleventh", "11"),
];

/// The name of the interval that a hand spans, from an octave to an eleventh. Any other span gets
/// the name of the nearest one.
#[must_use]
pub fn interval(semitones: i32) -> &'static str {
    let nearest = SPANS
        .iter()
        .min_by_key(|(span, ..)| span.abs_diff(semitones));
    nearest.map_or("", |(_, name, _)| name)
}

/// Reads the name of a span, such as `minor ninth`, `major tenth` or `10`.
fn span_from(words: &str) -> Option<i32> {
    let words = words.trim().to_lowercase().replace('♭', "b");
    let plain = words.trim_start_matches("major ");
    let found = SPANS
        .iter()
        .find(|(_, name, short)| [*name, *short].contains(&plain));
    found.map(|(semitones, ..)| *semitones)
}

/// The words with a capital first letter.
fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|first| first.to_ascii_uppercase());
    first.into_iter().chain(letters).collect()
}

type Reader = Arc<dyn Fn(&str) -> Option<f32> + Send + Sync>;

/// A reader that takes finite numbers only. The framework's readers also accept `nan`.
fn finite(read: Reader) -> Reader {
    Arc::new(move |words| read(words).filter(|v| v.is_finite()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_span_has_a_name_of_its_own_that_reads_back() {
        let mut names = Vec::new();
        for semitones in Hand::NARROWEST..=Hand::WIDEST {
            let name = interval(semitones.into());
            assert_eq!(span_from(&capital(name)), Some(semitones.into()), "{name}");
            names.push(name);
        }
        names.dedup();
        assert_eq!(names.len(), SPANS.len());
    }

    /// The sizes of intervals are common practice, no published source.
    #[test]
    fn spans_are_typed_as_players_say_them() {
        for (words, semitones) in [
            ("octave", Some(12)),
            (" Minor Ninth ", Some(13)),
            ("major ninth", Some(14)),
            ("♭10", Some(15)),
            ("10", Some(16)),
            ("eleventh", Some(17)),
            ("12", None),
            ("minor", None),
            ("", None),
        ] {
            assert_eq!(span_from(words), semitones, "{words:?}");
        }
    }
}
