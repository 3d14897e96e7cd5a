//! Reads charts and melodies from every kind of file. Imports `found`, `melodies`, `container`, `midi`
//! and `musicxml`.

pub use crate::found::{Heard, ImportError, Imported, LARGEST_FILE, MOST_MISSED, Missed, Part};
pub use crate::melodies::{FoundMelody, Line};

use crate::found::Misses;
use crate::melodies;
use crate::{container, midi, musicxml};
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::melody;
use std::borrow::Cow;

/// Reads a file of any known kind: a MIDI file, MusicXML, packed MusicXML, or a chart as text,
/// which is returned unchanged. The first bytes decide which kind it is.
///
/// # Errors
/// Why nothing can be read. If only single things cannot be read, the rest is read, see
/// [`Imported::missed`].
pub fn import(bytes: &[u8]) -> Result<Imported, ImportError> {
    part(bytes, None)
}

/// What is to be read of a file beside its chart, and of which part.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wish<'a> {
    /// The part of a score whose chords are read, by its name in any case. Without a name it is the
    /// first part with chords that are written as they sound, or else the first part with chords.
    pub part: Option<&'a str>,
    /// Whether the melody is read.
    pub melody: Wanted<'a>,
}

/// Whether a melody is read, and which.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Wanted<'a> {
    /// None.
    #[default]
    No,
    /// The one that is found. A line whose name says so goes before the line with the chord
    /// symbols, and that one before the highest. A line of single notes goes before one of chords.
    Found,
    /// The line of this name, in any case.
    Named(&'a str),
}

impl<'a> Wanted<'a> {
    /// The line of this name, or else the one that is found.
    #[must_use]
    pub fn of(name: Option<&'a str>) -> Wanted<'a> {
        name.map_or(Wanted::Found, Wanted::Named)
    }

    const fn name(self) -> Option<&'a str> {
        match self {
            Wanted::Named(name) => Some(name),
            Wanted::No | Wanted::Found => None,
        }
    }
}

/// Reads a file as [`import`] does, and of a score the part of this name, in any case.
///
/// # Errors
/// Why nothing can be read, or that no part with chords has this name.
pub fn part(bytes: &[u8], name: Option<&str>) -> Result<Imported, ImportError> {
    let wish = Wish {
        part: name,
        melody: Wanted::No,
    };
    read(bytes, wish)
}

/// Reads a file as [`import`] does, with what is wished for. A pickup without chords, which is
/// otherwise left out, stays as a silent one if the melody sings in it.
///
/// # Errors
/// Why nothing can be read, or that no part or no line has the name.
pub fn read(bytes: &[u8], wish: Wish) -> Result<Imported, ImportError> {
    let read = any(bytes, &wish)?;
    match wish.part {
        Some(name) if read.parts.is_empty() => Err(ImportError::NoPart {
            name: name.trim().to_owned(),
            parts: Vec::new(),
        }),
        _ => Ok(read),
    }
}

/// Reads a melody over a chart that is known: from a score or a MIDI file, with chords in it or
/// without, or from a text as [`melody::parse`] reads it. The first full bar of the file is that of
/// the chart.
///
/// The text of the result is the file's own chart, which is silent if it has no chords.
///
/// # Errors
/// Why nothing can be read, or that no line has the name.
pub fn melody(bytes: &[u8], name: Option<&str>, chart: &Chart) -> Result<Imported, ImportError> {
    let mut imported = match kind(bytes)? {
        Kind::Midi => midi::read::melody(bytes, name)?,
        Kind::Score(text) => musicxml::read::melody(&text, name)?,
        Kind::Text(text) => {
            let melody = melody::parse(&text, chart).map_err(|errors| {
                if is_binary(&text) {
                    ImportError::Unknown
                } else {
                    ImportError::Melody(errors)
                }
            })?;
            return Ok(Imported {
                melody: Some(FoundMelody {
                    melody,
                    lines: Vec::new(),
                }),
                ..Imported::default()
            });
        }
    };
    let Some(found) = imported.melody.take() else {
        return Err(ImportError::NoMelody);
    };
    let own = chart::parse(&imported.text).map_err(ImportError::Chart)?;
    let (melody, lost) = melodies::moved(&found.melody, &own, chart);
    if lost > 0 {
        let words = format!("notes outside of the chart are left out: {lost}");
        let tell = |misses: &mut Misses| misses.tell("", "melody", None, words);
        imported.with_misses(tell);
    }
    imported.melody = Some(FoundMelody { melody, ..found });
    Ok(imported)
}

/// What a file is, by its first bytes.
enum Kind<'a> {
    Midi,
    /// MusicXML, unpacked.
    Score(Cow<'a, str>),
    Text(Cow<'a, str>),
}

fn kind(bytes: &[u8]) -> Result<Kind<'_>, ImportError> {
    if bytes.len() > LARGEST_FILE {
        return Err(ImportError::TooLarge);
    }
    if bytes.starts_with(b"MThd") || bytes.starts_with(b"RIFF") {
        return Ok(Kind::Midi);
    }
    if bytes.starts_with(b"PK") {
        let score = container::score(bytes)?;
        return Ok(Kind::Score(Cow::Owned(decoded(&score).into_owned())));
    }
    let text = decoded(bytes);
    if text.trim_start().starts_with('<') {
        return Ok(Kind::Score(text));
    }
    Ok(Kind::Text(text))
}

fn any(bytes: &[u8], wish: &Wish) -> Result<Imported, ImportError> {
    let melody = (wish.melody != Wanted::No).then(|| wish.melody.name());
    match kind(bytes)? {
        Kind::Midi => midi::read::read(bytes, melody),
        Kind::Score(text) => musicxml::read::read(&text, wish.part, melody),
        Kind::Text(text) => match chart::parse(&text) {
            Ok(_) => Ok(Imported {
                text: text.into_owned(),
                ..Imported::default()
            }),
            Err(_) if !text.contains('|') || is_binary(&text) => Err(ImportError::Unknown),
            Err(errors) => Err(ImportError::Chart(errors)),
        },
    }
}

/// Whether there is something between the words that no text has.
fn is_binary(text: &str) -> bool {
    let other = |c: char| c.is_control() && !c.is_whitespace();
    text.contains(other)
}

/// The text of a file: UTF-8, or UTF-16 by its first two bytes.
fn decoded(bytes: &[u8]) -> Cow<'_, str> {
    let pairs = |order: fn([u8; 2]) -> u16| {
        let pairs = bytes.get(2..).unwrap_or_default().chunks_exact(2);
        let units = pairs.filter_map(|pair| pair.try_into().ok().map(order));
        let chars = char::decode_utf16(units);
        let text: String = chars
            .map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER))
            .collect();
        Cow::Owned(text)
    };
    match bytes {
        [0xff, 0xfe, ..] => pairs(u16::from_le_bytes),
        [0xfe, 0xff, ..] => pairs(u16::from_be_bytes),
        [0xef, 0xbb, 0xbf, rest @ ..] => String::from_utf8_lossy(rest),
        _ => String::from_utf8_lossy(bytes),
    }
}
