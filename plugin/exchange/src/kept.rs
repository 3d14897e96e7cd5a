//! What a player has picked for single chords of a chart, as files keep it: pinned voicings and
//! chosen scales, each with the written chord that it is for. Imports the theory.
//!
//! In JSON it has this form, in which a state keeps them too:
//!
//! ```json
//! {
//!   "chart": "|: Dm7 | G7 :|",
//!   "pins": [{"chord": 1, "symbol": "G7", "pass": 2, "notes": [53, 57, 59, 64]}],
//!   "scales": [{"chord": 1, "symbol": "G7", "scale": "altered"}]
//! }
//! ```
//!
//! `chord` counts the chords of the text from 0. `pass` is the time for which a pin holds, from 1;
//! without it the pin holds every time. `above` says how many half steps the root of a scale lies
//! above that of its chord, and `names` is `german` where the notes of the text have their German
//! names. Fields that this version does not know are kept and written again.

use guidehand_theory::candidates::Hand;
use guidehand_theory::chart::{self, Chart, ChartError, ChordPass};
use guidehand_theory::chord::Chord;
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pin;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::pitch::{MidiNote, NoteNames};
use guidehand_theory::scale::{self, Suggestion};
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::voicing::{MOST_NOTES, Voicing};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use std::collections::BTreeMap;
use std::num::NonZeroU16;

/// The most pins of a chart, and the most scales.
pub const MOST_KEPT: usize = 4096;

/// A pinned voicing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptPin {
    /// The place of its chord among those of the text, from 0.
    pub chord: usize,
    /// The symbol of the chord, in ASCII, with English names.
    pub symbol: String,
    /// The time that it holds for, from 1; every time if there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pass: Option<NonZeroU16>,
    /// MIDI notes.
    pub notes: Vec<u8>,
    /// Fields of other versions.
    #[serde(flatten)]
    pub later: Map<String, Value>,
}

/// A chosen scale.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptScale {
    /// The place of its chord among those of the text, from 0.
    pub chord: usize,
    /// The symbol of the chord, in ASCII, with English names.
    pub symbol: String,
    /// Its name in the table of scales.
    pub scale: String,
    /// How many half steps its root lies above that of the chord, 0 to 11.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub above: u8,
    /// Fields of other versions.
    #[serde(flatten)]
    pub later: Map<String, Value>,
}

// Serde passes a reference.
#[expect(clippy::trivially_copy_pass_by_ref)]
const fn is_zero(number: &u8) -> bool {
    *number == 0
}

/// A chart, and what was picked for its chords.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Kept {
    /// The text of the chart.
    pub chart: String,
    /// How its notes are named.
    pub names: NoteNames,
    /// The pinned voicings, in the order of the text.
    pub pins: Vec<KeptPin>,
    /// The chosen scales, in the order of the text.
    pub scales: Vec<KeptScale>,
}

impl KeptPin {
    /// A pin for one time that a chord is played.
    #[must_use]
    pub fn new(played: &ChordPass, chord: &Chord, notes: Vec<u8>) -> KeptPin {
        KeptPin {
            chord: played.index,
            symbol: symbol(chord),
            pass: NonZeroU16::new(played.pass),
            notes,
            later: Map::new(),
        }
    }

    /// The notes, from the lowest; none if they make no voicing.
    #[must_use]
    pub fn midi(&self) -> Option<Vec<MidiNote>> {
        let notes = self.notes.iter().map(|number| MidiNote::new(*number));
        let mut notes: Vec<MidiNote> = notes.collect::<Option<_>>()?;
        notes.sort_unstable();
        notes.dedup();
        (1..=MOST_NOTES).contains(&notes.len()).then_some(notes)
    }

    /// Whether both say the same, but for the time that they hold for.
    fn is_like(&self, other: &KeptPin) -> bool {
        let KeptPin { notes, later, .. } = self;
        (notes, later) == (&other.notes, &other.later)
    }
}

impl KeptScale {
    /// The scale among those that are suggested over a chord, if it is one of them. The chord is
    /// what the symbol means.
    #[must_use]
    pub fn among<'a>(
        &self,
        suggestions: &'a [Suggestion],
        chord: &Chord,
    ) -> Option<&'a Suggestion> {
        suggestions.iter().find(|suggestion| {
            suggestion.scale.name == self.scale
                && suggestion.root.class().above(chord.root.class()) == self.above
        })
    }

    /// Its root and its name, such as `G altered`. The root is spelled as it is suggested where
    /// the chord sounds in this voicing, or else by its usual name.
    #[must_use]
    pub fn words(&self, placed: &ChordInKey, voicing: &Voicing) -> String {
        let root = placed.chord.root;
        let suggestions = placed.scales(voicing);
        let root = match self.among(&suggestions, &placed.chord) {
            Some(suggestion) => suggestion.root,
            None if self.above == 0 => root,
            None => Key::usual(root.class().up(self.above.cast_signed()), Mode::Major).tonic,
        };
        format!("{root} {}", self.scale)
    }

    /// Whether the table of scales has it.
    #[must_use]
    pub fn is_known(&self) -> bool {
        self.above < 12 && scale::all().any(|scale| scale.name == self.scale)
    }
}

/// The symbol of a chord, as pins and scales hold it.
#[must_use]
pub fn symbol(chord: &Chord) -> String {
    Symbol(chord, Sign::Ascii).to_string()
}

/// What was picked where a change of a chart is played.
#[derive(Clone, Copy, Debug, Default)]
pub struct Picked<'a> {
    /// The pin that holds there.
    pub pin: Option<&'a KeptPin>,
    /// The scale that is chosen there.
    pub scale: Option<&'a KeptScale>,
}

impl Picked<'_> {
    /// Whether nothing was picked there.
    #[must_use]
    pub const fn is_nothing(&self) -> bool {
        self.pin.is_none() && self.scale.is_none()
    }
}

impl Kept {
    /// A text for whose chords nothing was picked.
    #[must_use]
    pub fn of(chart: &str) -> Kept {
        Kept {
            chart: chart.to_owned(),
            ..Kept::default()
        }
    }

    /// Whether nothing was picked.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.pins.is_empty() && self.scales.is_empty()
    }

    /// The chart.
    ///
    /// # Errors
    /// What cannot be read in its text.
    pub fn read(&self) -> Result<Chart, Vec<ChartError>> {
        chart::parse_with(&self.chart, self.names)
    }

    /// What was picked for each change of the chart. A pin for one time goes before one for every
    /// time, and what was picked for another chord than the one in its place does not count.
    #[must_use]
    pub fn played(&self, chart: &Chart) -> Vec<Picked<'_>> {
        let at = |pin: &KeptPin| (pin.chord, pin.pass.map(NonZeroU16::get));
        // Of several for one place the last one counts.
        let pins: BTreeMap<_, &KeptPin> = self.pins.iter().map(|pin| (at(pin), pin)).collect();
        let scales: BTreeMap<usize, &KeptScale> =
            self.scales.iter().map(|one| (one.chord, one)).collect();
        let passes = chart.passes().into_iter().zip(&chart.changes);
        let picked = passes.map(|(pass, change)| {
            let Some((played, chord)) = pass.zip(change.chord) else {
                return Picked::default();
            };
            let own = |pass: Option<u16>| pins.get(&(played.index, pass)).copied();
            let pin = own(Some(played.pass)).or_else(|| own(None));
            let scale = scales.get(&played.index).copied();
            if pin.is_none() && scale.is_none() {
                return Picked::default();
            }
            let symbol = symbol(&chord);
            Picked {
                pin: pin.filter(|pin| pin.symbol == symbol),
                scale: scale.filter(|scale| scale.symbol == symbol),
            }
        });
        picked.collect()
    }

    /// The pinned voicings of the chart, each with the change where it sounds, as a plan takes
    /// them. `placed` are the chords of the chart in their keys.
    #[must_use]
    pub fn voicings(
        &self,
        chart: &Chart,
        placed: &[Option<ChordInKey>],
        hand: Hand,
    ) -> Vec<(usize, Voicing)> {
        let picked = self.played(chart).into_iter().zip(placed).enumerate();
        let voicings = picked.filter_map(|(change, (picked, placed))| {
            let notes = picked.pin?.midi()?;
            let voicing = pin::by_degree(&notes, &placed.as_ref()?.chord, hand).ok()?;
            Some((change, voicing))
        });
        voicings.collect()
    }

    /// The words of the chosen scales, each at the ticks of the change that plays its chord.
    /// `sounding` says for a change what sounds there.
    #[must_use]
    pub fn scale_words(
        &self,
        chart: &Chart,
        sounding: impl Fn(usize) -> Option<(ChordInKey, Voicing)>,
    ) -> Vec<(u32, String)> {
        if self.scales.is_empty() {
            return Vec::new();
        }
        let picked = self.played(chart).into_iter().zip(&chart.changes);
        let words = picked.zip(0..).filter_map(|((picked, change), index)| {
            let scale = picked.scale?;
            let (placed, voicing) = sounding(index)?;
            Some((change.start_ticks, scale.words(&placed, &voicing)))
        });
        words.collect()
    }

    /// The JSON of it, on one line and without control characters.
    #[must_use]
    pub fn to_json(&self) -> String {
        let row = Row {
            chart: &self.chart,
            names: (self.names == NoteNames::German).then_some(GERMAN),
            pins: &self.pins,
            scales: &self.scales,
        };
        let json = serde_json::to_string(&row).unwrap_or_default();
        let mut out = String::with_capacity(json.len());
        for character in json.chars() {
            // XML 1.0 has no form for these. In JSON they only stand in strings.
            if character.is_control() || matches!(character, '\u{fffe}' | '\u{ffff}') {
                out.push_str(&format!("\\u{:04x}", u32::from(character)));
            } else {
                out.push(character);
            }
        }
        out
    }
}

/// How German note names are written.
const GERMAN: &str = "german";

/// The language of note names that is written so, if it is one; English if nothing is.
pub(crate) fn note_names(written: Option<&Value>) -> Option<NoteNames> {
    match written.map(Value::as_str) {
        None => Some(NoteNames::English),
        Some(Some(GERMAN)) => Some(NoteNames::German),
        Some(_) => None,
    }
}

#[derive(Serialize)]
struct Row<'a> {
    chart: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    names: Option<&'static str>,
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    pins: &'a [KeptPin],
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    scales: &'a [KeptScale],
}

/// What is picked for the chords of another chart, from what is played there.
#[derive(Default)]
pub(crate) struct Gathering {
    pins: BTreeMap<(usize, u16), (KeptPin, u16)>,
    scales: BTreeMap<usize, KeptScale>,
}

impl Gathering {
    /// These notes are pinned where a chord is played.
    pub(crate) fn pin(&mut self, played: &ChordPass, chord: &Chord, of: &KeptPin, notes: Vec<u8>) {
        let pin = KeptPin {
            chord: played.index,
            symbol: symbol(chord),
            pass: NonZeroU16::new(played.pass),
            notes,
            later: of.later.clone(),
        };
        self.pins
            .insert((played.index, played.pass), (pin, played.passes));
    }

    /// A scale is chosen for the chord that is played; the first one counts.
    pub(crate) fn scale(&mut self, played: &ChordPass, chord: &Chord, of: &KeptScale) {
        self.scales
            .entry(played.index)
            .or_insert_with(|| KeptScale {
                chord: played.index,
                symbol: symbol(chord),
                ..of.clone()
            });
    }

    /// All of it, with the text of the chart. Where each time that a chord is played has the same
    /// notes, one pin says so.
    pub(crate) fn finish(self, chart: String) -> Kept {
        let all: Vec<(KeptPin, u16)> = self.pins.into_values().collect();
        let mut pins = Vec::with_capacity(all.len());
        for of_chord in all.chunk_by(|(one, _), (other, _)| one.chord == other.chord) {
            let alike = of_chord
                .windows(2)
                .all(|pair| matches!(pair, [(one, _), (other, _)] if one.is_like(other)));
            match of_chord {
                [(pin, passes), ..] if alike && of_chord.len() == usize::from(*passes) => {
                    pins.push(KeptPin {
                        pass: None,
                        ..pin.clone()
                    });
                }
                _ => pins.extend(of_chord.iter().map(|(pin, _)| pin.clone())),
            }
        }
        Kept {
            chart,
            names: NoteNames::English,
            pins,
            scales: self.scales.into_values().collect(),
        }
    }
}
