//! One note of a chord that sounds, moved at the next strike. Imports `rub`, and `tension` and
//! `voicing`.

use super::rub::{Rub, rub, rubs};
use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::pitch::MidiNote;
use crate::plan::Voiced;
use crate::tension::{self, Above, Choices, Outcome, Tensions, Yield, Yields};
use crate::voicing::{MOST_NOTES, Voice, Voicing};
use tinyvec::ArrayVec;

/// The chord that sounds, with each note that the melody speaks against moved to the nearest key
/// of what takes its place, and what yields. The other notes stay. A note that nothing can replace
/// is left out, unless it is the last one. None if nothing that could yield speaks against the melody:
/// then the chord is struck as it was. Nothing allocates.
#[must_use]
pub fn revoice(sounding: &Voiced, chord: &Chord, above: Above) -> Option<(Voiced, Yields)> {
    let choices: Choices = std::iter::once(sounding.tensions).collect();
    let mut guides = rubs(&sounding.voicing, chord, above);
    let agreed = if guides.any(|rub| tension::names_the_chord(rub.voice.degree)) {
        tension::agree_wholly(&choices, chord, above)
    } else {
        tension::agree(&choices, chord, above)
    };
    let tensions = *agreed.choices.first()?;
    let yields = agreed.yields(&tensions);
    let mut voicing = sounding.voicing;
    let mut told = Yields::default();
    for old in rubs(&sounding.voicing, chord, above) {
        let known = yields.iter().find(|y| y.degree == old.voice.degree);
        let to = place(&old, known, &tensions, &voicing, chord, above);
        let Some(changed) = exchanged(&voicing, old.voice, to) else {
            continue;
        };
        voicing = changed;
        let outcome = match (known.map(|y| y.outcome), to) {
            (Some(Outcome::WrittenLeftOut(_)), to) => {
                Outcome::WrittenLeftOut(to.map(|voice| voice.degree))
            }
            (_, Some(voice)) => Outcome::To(voice.degree),
            (_, None) => Outcome::LeftOut,
        };
        let _full = told.try_push(Yield {
            degree: old.voice.degree,
            outcome,
            melody: tension::name_over(chord, old.melody.class()),
            against: old.against,
            place: known.map_or(0, |y| y.place),
        });
    }
    (!told.is_empty()).then_some((Voiced { voicing, tensions }, told))
}

/// The voice that takes the place of one that yields: what yields to the melody in the chord's
/// tensions says which degree, and the nearest free key has it, the lower of two.
fn place(
    old: &Rub,
    known: Option<&Yield>,
    tensions: &Tensions,
    voicing: &Voicing,
    chord: &Chord,
    above: Above,
) -> Option<Voice> {
    let named = known.and_then(|y| match y.outcome {
        Outcome::To(degree) => Some(degree),
        Outcome::WrittenLeftOut(degree) => degree,
        Outcome::LeftOut | Outcome::Stands => None,
    });
    let sounding: DegreeSet = voicing.degrees().without(old.voice.degree);
    let others = tensions.others.iter().copied();
    let wanted = named.into_iter().chain(others);
    let mut wanted = wanted.filter(|d: &Degree| !sounding.contains(*d));
    wanted.find_map(|degree| nearest(old, degree, voicing, chord, above))
}

/// The nearest free key to a voice that has this degree and agrees. If the voice lay below the
/// melody, it stays there.
fn nearest(
    old: &Rub,
    degree: Degree,
    voicing: &Voicing,
    chord: &Chord,
    above: Above,
) -> Option<Voice> {
    let from = old.voice.note;
    let up = i32::from(degree.class(chord.root).above(from.class()));
    let lowest = above.lowest().filter(|lowest| from < *lowest);
    let at = |by: i32| {
        let note = MidiNote::new(u8::try_from(from.semitones() + by).ok()?)?;
        let voice = Voice { note, degree };
        let free = voicing.notes().all(|other| other != note);
        let below = lowest.is_none_or(|lowest| note < lowest);
        (free && below && rub(voice, chord, above).is_none()).then_some(voice)
    };
    let voices = [up - 12, up].into_iter().filter_map(at);
    voices.min_by_key(|voice| voice.note.number().abs_diff(from.number()))
}

/// A voicing without one of its voices, and with another one if there is one. None if nothing is
/// left.
pub(super) fn exchanged(voicing: &Voicing, old: Voice, new: Option<Voice>) -> Option<Voicing> {
    let kept = voicing.voices().iter().copied().filter(|v| *v != old);
    let mut voices: ArrayVec<[Voice; MOST_NOTES]> = kept.chain(new).collect();
    voices.sort_unstable_by_key(|voice| voice.note);
    let mut changed = Voicing::empty(voicing.position);
    for voice in &voices {
        changed.push(voice.note, voice.degree);
    }
    let mut in_left = voicing.voices().iter().take(usize::from(voicing.left_hand));
    let fewer = new.is_none() && in_left.any(|v| *v == old);
    changed.left_hand = voicing.left_hand.saturating_sub(u8::from(fewer));
    (!voices.is_empty()).then_some(changed)
}
