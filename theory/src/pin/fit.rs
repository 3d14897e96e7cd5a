//! Whether a voicing still fits a chord that has been edited. Imports `by_degree`.

use super::by_degree::{held, named};
use crate::chord::Chord;
use crate::degree::Degree::{self, DoubleFlat7, Eleven, Flat7, Flat9, Seven, Sharp9, Six};
use crate::degree::DegreeSet;
use crate::pitch::SpelledPitch;
use crate::quality::Quality;
use crate::shape::Need;
use crate::voicing::{Voice, Voicing};

/// Why a voicing does not fit a chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Misfit {
    /// The third of the chord does not sound, or the degree in its place.
    NoThird(Degree),
    /// The seventh of the chord does not sound, or the degree in its place.
    NoSeventh(Degree),
    /// The chord has no place for a note.
    NoPlace(SpelledPitch),
    /// A note contradicts a degree of the chord.
    Against {
        /// The note.
        note: SpelledPitch,
        /// Its degree.
        degree: Degree,
        /// What the symbol has instead.
        written: Degree,
    },
}

/// Whether a voicing fits a chord: its guide tones are those of the chord, and no note contradicts
/// what the symbol writes. The notes are read by degree over this chord, whatever they were.
///
/// # Errors
/// The first thing that does not fit.
pub fn fits(voicing: &Voicing, chord: &Chord) -> Result<(), Misfit> {
    misfits(voicing, chord).next().map_or(Ok(()), Err)
}

/// Whether a voicing that was chosen over one chord fits another that has taken its place. What did
/// not fit before need not fit now, because the player has chosen it. If it fits, the same notes
/// are returned with their degrees over the new chord.
///
/// # Errors
/// The first thing that does not fit, and that did before.
pub fn still_fits(voicing: &Voicing, was: &Chord, now: &Chord) -> Result<Voicing, Misfit> {
    if was == now {
        return Ok(*voicing);
    }
    let at = |misfit: &Misfit| match misfit {
        Misfit::NoThird(_) => Where::Third,
        Misfit::NoSeventh(_) => Where::Seventh,
        Misfit::NoPlace(note) | Misfit::Against { note, .. } => {
            Where::Note(note.midi().map_or(0, |note| note.number()))
        }
    };
    let known = |misfit: &Misfit| misfits(voicing, was).any(|other| at(&other) == at(misfit));
    if let Some(misfit) = misfits(voicing, now).find(|misfit| !known(misfit)) {
        return Err(misfit);
    }
    let mut fitting = named(voicing.notes(), now);
    fitting.left_hand = voicing.left_hand;
    Ok(fitting)
}

/// Where something does not fit.
#[derive(PartialEq, Eq)]
enum Where {
    Third,
    Seventh,
    Note(u8),
}

/// All that does not fit.
pub(super) fn misfits(voicing: &Voicing, chord: &Chord) -> impl Iterator<Item = Misfit> {
    let over = named(voicing.notes(), chord);
    let chord = *chord;
    let voices = (0..over.voices().len()).filter_map(move |at| over.voices().get(at).copied());
    let notes = voices.filter_map(move |voice| {
        let note = voice.degree.over(chord.root).at(voice.note);
        if held(voice.note, &chord).is_none() {
            return Some(Misfit::NoPlace(note));
        }
        let degree = voice.degree;
        contradicted(voice, &chord).map(|written| Misfit::Against {
            note,
            degree,
            written,
        })
    });
    missing(over.degrees(), &chord).chain(notes)
}

/// The guide tones of a chord that are not among the degrees that sound. The third yields to an
/// eleventh that the symbol writes.
fn missing(sounding: DegreeSet, chord: &Chord) -> impl Iterator<Item = Misfit> + use<> {
    let silent = |degree: &Degree| !sounding.contains(*degree);
    let yields = sounding.contains(Eleven) && chord.degrees().contains(Eleven);
    let third = chord.third().filter(silent).filter(|_| !yields);
    let third = third.map(Misfit::NoThird);
    let seventh = chord.seventh().filter(silent).map(Misfit::NoSeventh);
    third.into_iter().chain(seventh)
}

/// The degree of the chord that a note contradicts: another seventh, or a written tension of the
/// same family. A b9 and a #9 agree.
fn contradicted(voice: Voice, chord: &Chord) -> Option<Degree> {
    let (degree, stated) = (voice.degree, chord.degrees());
    if stated.contains(degree) {
        return None;
    }
    if matches!(degree, Flat7 | Seven | DoubleFlat7 | Six) {
        // The major seventh is a tension of a diminished chord.
        let tension = degree == Seven && chord.quality == Quality::DiminishedSeventh;
        return chord.seventh().filter(|_| !tension);
    }
    let family = degree.family()?;
    let altered_ninth = |d: Degree| matches!(d, Flat9 | Sharp9);
    stated.iter().find(|other| {
        other.family() == Some(family)
            && Need::of(*other, chord) < Need::Unwritten
            && !(altered_ninth(degree) && altered_ninth(*other))
    })
}
