//! What can be picked for a single chord: a voicing that is pinned, a scale that is chosen. Plain
//! values on any thread but the audio thread. Imports `place` and the theory; the folder of
//! `document` imports it.

use super::place::ChordAt;
use guidehand_theory::candidates::{Hand, Register};
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::{self, Key, Mode};
use guidehand_theory::pin::{self, NotesError};
use guidehand_theory::pipeline::{self, ChordInKey};
use guidehand_theory::pitch::{MidiNote, PitchClass};
use guidehand_theory::plan::Voiced;
use guidehand_theory::scale::{self, Scale, Suggestion};
use guidehand_theory::slash;
use guidehand_theory::voicing::MOST_NOTES;
use serde_json::{Map, Value};
use std::fmt;
use std::num::NonZeroU16;
use tinyvec::ArrayVec;

/// What this version does not know of something that is saved. It is kept as it is, and saved
/// again.
pub type Unknown = Map<String, Value>;

/// Which times a pin holds that its chord is played.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Pass {
    /// Every time.
    #[default]
    Every,
    /// This time only, from 1.
    Only(NonZeroU16),
}

impl fmt::Display for Pass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Pass::Only(number) = self else {
            return f.write_str("every time");
        };
        let number = number.get();
        let ending = match (number % 100, number % 10) {
            (11..=13, _) => "th",
            (_, 1) => "st",
            (_, 2) => "nd",
            (_, 3) => "rd",
            _ => "th",
        };
        write!(f, "{number}{ending} time")
    }
}

/// The notes of a pin: at least one, ascending.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PinNotes(ArrayVec<[MidiNote; MOST_NOTES]>);

impl PinNotes {
    /// These notes, in any order. A note that is given twice counts once.
    ///
    /// # Errors
    /// There is no note, or there are more than a voicing holds.
    pub fn new(notes: impl IntoIterator<Item = MidiNote>) -> Result<PinNotes, NotesError> {
        let mut all: Vec<MidiNote> = notes.into_iter().collect();
        all.sort_unstable();
        all.dedup();
        if all.len() > MOST_NOTES {
            return Err(NotesError::TooMany(all.len()));
        }
        if all.is_empty() {
            return Err(NotesError::NoNotes);
        }
        Ok(PinNotes(all.into_iter().collect()))
    }

    /// The notes, from the lowest.
    #[must_use]
    pub fn notes(&self) -> &[MidiNote] {
        &self.0
    }

    /// The same notes so many half steps higher, within the register if they lie in it now. None
    /// where MIDI has no place for them.
    #[must_use]
    pub fn transposed(&self, half_steps: i8, register: &Register) -> Option<PinNotes> {
        let notes = pin::transposed(&self.0, half_steps, register)?;
        PinNotes::new(notes).ok()
    }

    /// Whether the notes fit a chord that has taken the place of another one. What did not fit
    /// there need not fit here.
    #[must_use]
    pub fn fit(&self, was: &Chord, now: &Chord) -> bool {
        let (was, now) = (slash::meant(was), slash::meant(now));
        let voicing = pin::by_degree(&self.0, &was, Hand::DEFAULT);
        voicing.is_ok_and(|voicing| pin::still_fits(&voicing, &was, &now).is_ok())
    }

    /// The notes as the voicing of a chord, shared between two hands.
    #[must_use]
    pub fn over(&self, placed: &ChordInKey, hand: Hand) -> Voiced {
        // There is a note, and not one too many.
        let voicing = pin::by_degree(&self.0, &placed.chord, hand).unwrap_or_default();
        pipeline::pinned(placed, &voicing)
    }
}

/// A voicing that is pinned to a chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pin {
    /// The chord.
    pub at: ChordAt,
    /// Which times it holds.
    pub pass: Pass,
    /// The notes, exactly as they sound.
    pub notes: PinNotes,
    /// What a later version has saved with it.
    pub later: Unknown,
}

/// A scale by the name that the table of scales gives it, on a note above the root of its chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScaleName {
    /// The name in the table: `Lydian dominant`.
    pub name: String,
    /// How many half steps its root lies above that of the chord, 0 to 11.
    pub above: u8,
}

impl ScaleName {
    /// The name of a scale that is suggested over a chord. The chord is what the symbol means.
    #[must_use]
    pub fn of(suggestion: &Suggestion, chord: &Chord) -> ScaleName {
        ScaleName {
            name: suggestion.scale.name.to_owned(),
            above: suggestion.root.class().above(chord.root.class()),
        }
    }

    /// Its place among the scales that are suggested over a chord, if it is one of them.
    #[must_use]
    pub fn among(&self, suggestions: &[Suggestion], chord: &Chord) -> Option<usize> {
        suggestions.iter().position(|suggestion| {
            suggestion.scale.name == self.name
                && suggestion.root.class().above(chord.root.class()) == self.above
        })
    }

    /// Whether it is suggested over a written chord, in any key and with any tensions of the scale:
    /// it depends neither on the chords around it nor on how it is voiced.
    #[must_use]
    pub fn fits(&self, chord: &Chord) -> bool {
        let meant = slash::meant(chord);
        let named = || scale::all().filter(|scale| scale.name == self.name);
        let guides: DegreeSet = [meant.third(), meant.seventh()]
            .into_iter()
            .flatten()
            .collect();
        let tonics = (0..12).map(PitchClass::wrapping);
        let modes = [Mode::Major, Mode::Minor, Mode::Blues];
        let modes = |tonic| modes.map(|mode| Key::usual(tonic, mode));
        tonics.flat_map(modes).any(|key| {
            let function = key::live(&meant, key);
            let is_among = |sounding| {
                let suggestions = scale::suggest(&meant, sounding, &function);
                self.among(&suggestions, &meant).is_some()
            };
            named().any(|scale| colours(scale).any(|colour| is_among(guides.union(colour))))
        })
    }
}

/// The degrees in which two notes of a scale may colour a chord: one of the ninth, one of the fifth
/// or the thirteenth, or neither.
fn colours(scale: &'static Scale) -> impl Iterator<Item = DegreeSet> {
    const NINTHS: DegreeSet = DegreeSet::of(&[Degree::Flat9, Degree::Nine, Degree::Sharp9]);
    const FIFTHS: DegreeSet = DegreeSet::of(&[
        Degree::Sharp11,
        Degree::Flat5,
        Degree::Five,
        Degree::Sharp5,
        Degree::Flat13,
        Degree::Thirteen,
    ]);
    let one_of = |degrees: DegreeSet| {
        let held = scale.set().intersection(degrees);
        let each = held.iter().map(|degree| DegreeSet::of(&[degree]));
        each.chain([DegreeSet::EMPTY])
    };
    one_of(NINTHS).flat_map(move |ninth| one_of(FIFTHS).map(move |fifth| ninth.union(fifth)))
}

/// A scale that is chosen for a chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChosenScale {
    /// The chord.
    pub at: ChordAt,
    /// The scale.
    pub scale: ScaleName,
    /// What a later version has saved with it.
    pub later: Unknown,
}
