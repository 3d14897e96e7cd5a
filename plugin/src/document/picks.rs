//! All that was picked for the chords of one text, in one order, so that equal picks are saved
//! alike. Any thread but the audio thread. Imports `pick` and `place`; the folder of `document`
//! imports it.

use super::pick::{ChosenScale, Pass, Pin, PinNotes, ScaleName, Unknown};
use super::place::{ChordAt, ChordPlayed, symbol};
use guidehand_exchange::kept::MOST_KEPT;
use guidehand_theory::candidates::Hand;
use guidehand_theory::chart::Chart;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::plan::Voiced;
use serde_json::Value;
use std::num::NonZeroU16;

/// The most pins of a document, and the most scales. What is picked beyond them is passed over.
pub const MOST_PICKS: usize = MOST_KEPT;

/// What was picked for the chords of a text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Picks {
    /// In the order of the text, and for each chord by pass.
    pins: Vec<Pin>,
    /// In the order of the text, one at most for each chord.
    scales: Vec<ChosenScale>,
    /// What was loaded and cannot be read: pins and scales of a later version. It is saved again.
    pub(super) unread: [Vec<Value>; 2],
}

impl Picks {
    /// Pins and scales in any order. Of several for one place the last one counts.
    #[must_use]
    pub fn new(pins: Vec<Pin>, scales: Vec<ChosenScale>) -> Picks {
        Picks {
            pins: in_order(pins, |pin| (pin.at.index, pin.pass)),
            scales: in_order(scales, |scale| scale.at.index),
            unread: Default::default(),
        }
    }

    /// Whether nothing was picked.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.pins.is_empty() && self.scales.is_empty()
    }

    /// The pins, in the order of the text.
    #[must_use]
    pub fn pins(&self) -> &[Pin] {
        &self.pins
    }

    /// The scales, in the order of the text.
    #[must_use]
    pub fn scales(&self) -> &[ChosenScale] {
        &self.scales
    }

    /// With what could not be read of another one.
    #[must_use]
    pub(super) fn with_unread(mut self, of: &Picks) -> Picks {
        self.unread.clone_from(&of.unread);
        self
    }

    /// With one more pin. A pin for every time takes the place of all others of its chord, and one
    /// for a single time that of the one for the same time.
    #[must_use]
    pub fn pin(&self, at: ChordAt, pass: Pass, notes: PinNotes) -> Picks {
        let mut pins = self.pins.clone();
        let replaced =
            |pin: &Pin| pin.at.index == at.index && (pass == Pass::Every || pin.pass == pass);
        pins.retain(|pin| !replaced(pin));
        if pins.len() < MOST_PICKS {
            pins.push(Pin {
                at,
                pass,
                notes,
                later: Unknown::new(),
            });
        }
        self.with_pins(pins)
    }

    /// Without the pin of a chord that is played so often. Where a single time loses its pin, one
    /// for every time becomes one for each of the other times.
    #[must_use]
    pub fn unpin(&self, at: &ChordAt, pass: Pass, passes: u16) -> Picks {
        let is_of_chord = |pin: &Pin| pin.at.index == at.index;
        let (of_chord, mut pins): (Vec<Pin>, Vec<Pin>) =
            self.pins.iter().cloned().partition(is_of_chord);
        if pass == Pass::Every {
            return self.with_pins(pins);
        }
        let find = |pass: Pass| of_chord.iter().find(|pin| pin.pass == pass);
        match find(Pass::Every) {
            None => pins.extend(of_chord.into_iter().filter(|pin| pin.pass != pass)),
            Some(every) => {
                let others = (1..=passes).filter_map(NonZeroU16::new).map(Pass::Only);
                let others = others.filter(|other| *other != pass);
                pins.extend(others.map(|other| Pin {
                    pass: other,
                    ..find(other).unwrap_or(every).clone()
                }));
            }
        }
        pins.truncate(MOST_PICKS);
        self.with_pins(pins)
    }

    /// With a scale for a chord, or without the one that it has.
    #[must_use]
    pub fn choose(&self, at: ChordAt, scale: Option<ScaleName>) -> Picks {
        let mut scales = self.scales.clone();
        scales.retain(|chosen| chosen.at.index != at.index);
        if let Some(scale) = scale
            && scales.len() < MOST_PICKS
        {
            scales.push(ChosenScale {
                at,
                scale,
                later: Unknown::new(),
            });
        }
        Picks::new(self.pins.clone(), scales).with_unread(self)
    }

    fn with_pins(&self, pins: Vec<Pin>) -> Picks {
        Picks::new(pins, self.scales.clone()).with_unread(self)
    }

    /// The pin that holds where a chord is played: the one for this time, or else the one for
    /// every time. None if it was made for another chord.
    #[must_use]
    pub fn pin_of(&self, played: &ChordPlayed) -> Option<&Pin> {
        let only = NonZeroU16::new(played.pass).map(Pass::Only);
        let find = |pass: Pass| {
            let key = |pin: &Pin| (pin.at.index, pin.pass);
            let found = self.pins.binary_search_by_key(&(played.index, pass), key);
            self.pins.get(found.ok()?)
        };
        let pin = only.and_then(find).or_else(|| find(Pass::Every))?;
        (pin.at.symbol == symbol(&played.chord)).then_some(pin)
    }

    /// The scale that is chosen where a chord is played. None if it was chosen for another chord.
    #[must_use]
    pub fn scale_of(&self, played: &ChordPlayed) -> Option<&ScaleName> {
        let key = |scale: &ChosenScale| scale.at.index;
        let found = self.scales.binary_search_by_key(&played.index, key).ok()?;
        let chosen = self.scales.get(found)?;
        (chosen.at.symbol == symbol(&played.chord)).then_some(&chosen.scale)
    }

    /// The pinned voicings of a chart, each with the change where it sounds, in their order.
    /// `chords` are the chords of the chart in their keys, and `hand` is the player's.
    #[must_use]
    pub fn pinned(
        &self,
        chart: &Chart,
        chords: &[Option<ChordInKey>],
        hand: Hand,
    ) -> Vec<(usize, Voiced)> {
        if self.pins.is_empty() {
            return Vec::new();
        }
        let played = ChordPlayed::of(chart).into_iter().zip(chords).enumerate();
        let pinned = played.filter_map(|(change, (played, placed))| {
            let pin = self.pin_of(&played?)?;
            Some((change, pin.notes.over(placed.as_ref()?, hand)))
        });
        pinned.collect()
    }

    /// About how much memory they take, in bytes.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.pins.len() * size_of::<Pin>() + self.scales.len() * size_of::<ChosenScale>()
    }
}

/// Picks in the order of their keys. Of several with one key the last one counts.
fn in_order<T, K: Ord>(mut picks: Vec<T>, key: impl Fn(&T) -> K) -> Vec<T> {
    picks.reverse();
    picks.sort_by_key(&key);
    picks.dedup_by_key(|pick| key(pick));
    picks
}
