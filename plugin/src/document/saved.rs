//! Picks as they are saved: plain values that are written as JSON. What cannot be read is kept as
//! it is. Any thread but the audio thread. A pin and a
//! scale have the same form as in files. Imports `pick`, `picks`, `place`, `value` and the exchange
//! of files; `kept` and `bridge` import it.

use super::pick::{ChosenScale, Pass, Pin, PinNotes, ScaleName};
use super::picks::{MOST_PICKS, Picks};
use super::place::ChordAt;
use super::value::Document;
use guidehand_exchange::kept::{KeptPin, KeptScale};
use guidehand_theory::pitch::MidiNote;
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::Value;
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

/// A pin that is saved, if it holds a voicing.
pub(super) fn pin(saved: KeptPin) -> Option<Pin> {
    let notes = saved.notes.iter().map(|note| MidiNote::new(*note));
    let notes: Vec<MidiNote> = notes.collect::<Option<_>>()?;
    Some(Pin {
        at: ChordAt {
            index: saved.chord,
            symbol: saved.symbol,
        },
        pass: saved.pass.map_or(Pass::Every, Pass::Only),
        notes: PinNotes::new(notes).ok()?,
        later: saved.later,
    })
}

/// A pin as it is saved.
pub(super) fn kept_pin(pin: &Pin) -> KeptPin {
    KeptPin {
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

/// A chosen scale that is saved, if it lies above the root of its chord.
pub(super) fn scale(saved: KeptScale) -> Option<ChosenScale> {
    (saved.above < 12).then_some(ChosenScale {
        at: ChordAt {
            index: saved.chord,
            symbol: saved.symbol,
        },
        scale: ScaleName {
            name: saved.scale,
            above: saved.above,
        },
        later: saved.later,
    })
}

/// A chosen scale as it is saved.
pub(super) fn kept_scale(chosen: &ChosenScale) -> KeptScale {
    KeptScale {
        chord: chosen.at.index,
        symbol: chosen.at.symbol.clone(),
        scale: chosen.scale.name.clone(),
        above: chosen.scale.above,
        later: chosen.later.clone(),
    }
}

impl SavedPicks {
    /// Picks as they are saved.
    #[must_use]
    pub fn of(picks: &Picks) -> SavedPicks {
        let pins = picks.pins().iter().map(|pin| json(&kept_pin(pin)));
        let scales = picks.scales().iter().map(|one| json(&kept_scale(one)));
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
        let (pins, unread_pins) = read(self.pins, pin);
        let (scales, unread_scales) = read(self.scales, scale);
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
