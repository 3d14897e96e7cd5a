//! Reads charts from every kind of file. Imports `found`, `container`, `midi` and `musicxml`.

pub use crate::found::{Heard, ImportError, Imported, LARGEST_FILE, MOST_MISSED, Missed, Part};

use crate::{container, midi, musicxml};
use guidehand_theory::chart;
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

/// Reads a file as [`import`] does, and of a score the part of this name, in any case. Without a
/// name it is the first part with chords that are written as they sound, or else the first part
/// with chords.
///
/// # Errors
/// Why nothing can be read, or that no part with chords has this name.
pub fn part(bytes: &[u8], name: Option<&str>) -> Result<Imported, ImportError> {
    let read = any(bytes, name)?;
    match name {
        Some(name) if read.parts.is_empty() => Err(ImportError::NoPart {
            name: name.trim().to_owned(),
            parts: Vec::new(),
        }),
        _ => Ok(read),
    }
}

fn any(bytes: &[u8], part: Option<&str>) -> Result<Imported, ImportError> {
    if bytes.len() > LARGEST_FILE {
        return Err(ImportError::TooLarge);
    }
    if bytes.starts_with(b"MThd") || bytes.starts_with(b"RIFF") {
        return midi::read::read(bytes);
    }
    if bytes.starts_with(b"PK") {
        return musicxml::read::read(&decoded(&container::score(bytes)?), part);
    }
    let text = decoded(bytes);
    if text.trim_start().starts_with('<') {
        return musicxml::read::read(&text, part);
    }
    match chart::parse(&text) {
        Ok(_) => Ok(Imported {
            text: text.into_owned(),
            ..Imported::default()
        }),
        Err(_) if !text.contains('|') || is_binary(&text) => Err(ImportError::Unknown),
        Err(errors) => Err(ImportError::Chart(errors)),
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
