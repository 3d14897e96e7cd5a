//! The voices that a melody speaks against. Imports `tension` and `voicing`.

use crate::chord::Chord;
use crate::degree::Degree;
use crate::pitch::MidiNote;
use crate::tension::{self, Above, Against};
use crate::voicing::{Voice, Voicing};

/// A voice that the melody speaks against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rub {
    /// The voice.
    pub voice: Voice,
    /// The note of the melody.
    pub melody: MidiNote,
    /// What the two have against each other.
    pub against: Against,
}

/// The voices that a melody speaks against, from the lowest. A tension rubs against the melody in
/// any octave. A guide tone, which names the chord, rubs only against a note that has not ended and lies
/// a half step from it or a minor ninth, or octaves more, above it.
pub fn rubs(voicing: &Voicing, chord: &Chord, above: Above) -> impl Iterator<Item = Rub> + use<> {
    let (voicing, chord) = (*voicing, *chord);
    let count = voicing.voices().len();
    (0..count).filter_map(move |at| rub(*voicing.voices().get(at)?, &chord, above))
}

/// What a melody has against one voice.
pub(super) fn rub(voice: Voice, chord: &Chord, above: Above) -> Option<Rub> {
    let found = |melody: MidiNote, against| Rub {
        voice,
        melody,
        against,
    };
    let allowed = voice.degree == Degree::Root && chord.quality.is_dominant();
    let guide = tension::names_the_chord(voice.degree);
    let heard = if guide { above.held() } else { above };
    let near = heard.notes().find(|note| {
        let gap = note.semitones() - voice.note.semitones();
        gap.abs() == 1 || gap > 12 && gap % 12 == 1 && !allowed
    });
    if let Some(near) = near {
        return Some(found(near, Against::HalfStep));
    }
    if guide {
        return None;
    }
    let (against, class) = tension::against(chord, voice.degree, above)?;
    let note = above.notes().find(|note| note.class() == class)?;
    Some(found(note, against))
}

/// How many semitones the highest note of a voicing must come down to lie below the lowest note of
/// a melody: 0 if it lies there.
#[must_use]
pub fn too_high(voicing: &Voicing, above: Above) -> u8 {
    match (voicing.highest(), above.lowest()) {
        (Some(top), Some(lowest)) => (top.number() + 1).saturating_sub(lowest.number()),
        _ => 0,
    }
}
