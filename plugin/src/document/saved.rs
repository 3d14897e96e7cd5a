//! Picks as they are saved: plain values that are written as JSON. What cannot be read is kept as
//! it is. Any thread but the audio thread. Imports `pick`, `picks`, `place` and
//! `value`; `bridge` imports it.

use super::pick::{ChosenScale, Pass, Pin, PinNotes, ScaleName, Unknown};
use super::picks::{MOST_PICKS, Picks};
use super::place::ChordAt;
use super::value::Document;
use guidehand_theory::pitch::MidiNote;
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::Value;
use std::num::NonZeroU16;
use std::sync::Arc;

/// The picks of one text as they are saved.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SavedPicks {
    /// The pinned voicings.
    #[serde(
        default,
        skip_serializing_if = "Vec::is_empty",
        deserialize_with = "entries"
    )]
    pub pins: Vec<Value>,
    /// The chosen scales.
    #[serde(
        default,
        skip_serializing_if = "Vec::is_empty",
        deserialize_with = "entries"
    )]
    pub scales: Vec<Value>,
}

/// The entries of a list. Anything else counts as a list of one.
fn entries<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<Value>, D::Error> {
    Ok(match Value::deserialize(from)? {
        Value::Array(entries) => entries,
        other => vec![other],
    })
}

/// Picks, or none where they cannot be read at all.
pub fn readable<'de, D: Deserializer<'de>>(from: D) -> Result<SavedPicks, D::Error> {
    let value = Value::deserialize(from)?;
    Ok(SavedPicks::deserialize(value).unwrap_or_default())
}

/// A pin as it is saved.
#[derive(Serialize, Deserialize)]
struct SavedPin {
    /// The place of the chord among those of the text, from 0.
    chord: usize,
    /// Its symbol.
    symbol: String,
    /// The time that the pin holds for, from 1; every time if there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pass: Option<NonZeroU16>,
    /// MIDI notes.
    notes: Vec<u8>,
    #[serde(flatten)]
    later: Unknown,
}

/// A chosen scale as it is saved.
#[derive(Serialize, Deserialize)]
struct SavedScale {
    chord: usize,
    symbol: String,
    /// Its name in the table of scales.
    scale: String,
    /// How many half steps its root lies above that of the chord.
    #[serde(default, skip_serializing_if = "is_zero")]
    above: u8,
    #[serde(flatten)]
    later: Unknown,
}

// Serde passes a reference.
#[expect(clippy::trivially_copy_pass_by_ref)]
const fn is_zero(number: &u8) -> bool {
    *number == 0
}

impl SavedPin {
    fn pin(self) -> Option<Pin> {
        let notes = self.notes.iter().map(|note| MidiNote::new(*note));
        let notes: Vec<MidiNote> = notes.collect::<Option<_>>()?;
        Some(Pin {
            at: ChordAt {
                index: self.chord,
                symbol: self.symbol,
            },
            pass: self.pass.map_or(Pass::Every, Pass::Only),
            notes: PinNotes::new(notes).ok()?,
            later: self.later,
        })
    }

    fn of(pin: &Pin) -> SavedPin {
        SavedPin {
            chord: pin.at.index,
            symbol: pin.at.symbol.clone(),
            pass: match pin.pass {
                Pass::Every => None,
                Pass::Only(pass) => Some(pass),
            },
            notes: pin.notes.notes().iter().map(|n| n.number()).collect(),
            later: pin.later.clone(),
        }
    }
}

impl SavedScale {
    fn scale(self) -> Option<ChosenScale> {
        (self.above < 12).then_some(ChosenScale {
            at: ChordAt {
                index: self.chord,
                symbol: self.symbol,
            },
            scale: ScaleName {
                name: self.scale,
                above: self.above,
            },
            later: self.later,
        })
    }

    fn of(chosen: &ChosenScale) -> SavedScale {
        SavedScale {
            chord: chosen.at.index,
            symbol: chosen.at.symbol.clone(),
            scale: chosen.scale.name.clone(),
            above: chosen.scale.above,
            later: chosen.later.clone(),
        }
    }
}

impl SavedPicks {
    /// Picks as they are saved.
    #[must_use]
    pub fn of(picks: &Picks) -> SavedPicks {
        let pins = picks.pins().iter().map(|pin| json(&SavedPin::of(pin)));
        let scales = picks.scales().iter().map(|one| json(&SavedScale::of(one)));
        let [unread_pins, unread_scales] = picks.unread.clone();
        SavedPicks {
            pins: pins.flatten().chain(unread_pins).collect(),
            scales: scales.flatten().chain(unread_scales).collect(),
        }
    }

    /// The document with this text and the picks that were saved.
    #[must_use]
    pub fn document(self, text: &str) -> Document {
        Document {
            picks: Arc::new(self.picks()),
            ..Document::from(text)
        }
    }

    fn picks(self) -> Picks {
        let (pins, unread_pins) = read(self.pins, SavedPin::pin);
        let (scales, unread_scales) = read(self.scales, SavedScale::scale);
        let mut picks = Picks::new(pins, scales);
        picks.unread = [unread_pins, unread_scales];
        picks
    }

    /// Whether nothing was picked.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.pins.is_empty() && self.scales.is_empty()
    }
}

/// A value as JSON; none of ours fails.
fn json(value: &impl Serialize) -> Option<Value> {
    serde_json::to_value(value).ok()
}

/// What can be read of saved entries, and the entries that cannot.
fn read<S: for<'de> Deserialize<'de>, T>(
    saved: Vec<Value>,
    pick: impl Fn(S) -> Option<T>,
) -> (Vec<T>, Vec<Value>) {
    let (mut picks, mut unread) = (Vec::new(), Vec::new());
    for entry in saved.into_iter().take(MOST_PICKS) {
        match S::deserialize(&entry).ok().and_then(&pick) {
            Some(one) => picks.push(one),
            None => unread.push(entry),
        }
    }
    (picks, unread)
}
