//! One note of a chord that sounds, moved at the next strike. Imports `rub`, and `tension` and
//! `voicing`.

use super::rub::{Rub, rubs};
use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::pitch::MidiNote;
use crate::plan::Voiced;
use crate::tension::{self, Above, Choices, Outcome, Tensions, Yield};
use crate::voicing::{Voice, Voicing};

/// The chord that sounds, with each note that the melody speaks against moved to the nearest key
/// of what takes its place, and what yields. The other notes stay. A note that nothing can replace
/// is left out. None if nothing that could yield speaks against the melody: then the chord is
/// struck as it was. Nothing allocates.
#[must_use]
pub fn revoice(
    sounding: &Voiced,
    chord: &Chord,
    above: Above,
) -> Option<(Voiced, tension::Yields)> {
    let choices: Choices = std::iter::once(sounding.tensions).collect();
    let agreed = tension::agree(&choices, chord, above);
    let tensions = *agreed.choices.first()?;
    let yields = agreed.yields(&tensions);
    let mut voicing = sounding.voicing;
    let mut told = tension::Yields::default();
    for rub in rubs(&sounding.voicing, chord, above) {
        let known = yields.iter().find(|y| y.degree == rub.voice.degree);
        // A guide tone moves only where its exchange is known.
        if known.is_none() && tension::names_the_chord(rub.voice.degree) {
            continue;
        }
        let to = place(&rub, known, &tensions, &voicing, chord, above);
        voicing = without(&voicing, rub.voice, to)?;
        let outcome = match (known.map(|y| y.outcome), to) {
            (Some(Outcome::WrittenLeftOut(_)), to) => {
                Outcome::WrittenLeftOut(to.map(|voice| voice.degree))
            }
            (_, Some(voice)) => Outcome::To(voice.degree),
            (_, None) => Outcome::LeftOut,
        };
        let _full = told.try_push(Yield {
            degree: rub.voice.degree,
            outcome,
            melody: tension::name_over(chord, rub.melody.class()),
            against: rub.against,
            place: known.map_or(0, |y| y.place),
        });
    }
    (!told.is_empty()).then_some((Voiced { voicing, tensions }, told))
}

/// The voice that takes the place of one that yields: what yields to the melody in the chord's
/// tensions says which degree, and the nearest free key has it, the lower of two.
fn place(
    rub: &Rub,
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
    let sounding: DegreeSet = voicing.degrees().without(rub.voice.degree);
    let others = tensions.others.iter().copied();
    let wanted = named.into_iter().chain(others);
    let mut wanted = wanted.filter(|d: &Degree| !sounding.contains(*d));
    wanted.find_map(|degree| nearest(rub, degree, voicing, chord, above))
}

fn nearest(
    rub: &Rub,
    degree: Degree,
    voicing: &Voicing,
    chord: &Chord,
    above: Above,
) -> Option<Voice> {
    let class = degree.class(chord.root);
    let from = rub.voice.note;
    let up = class.above(from.class());
    let keys = [i32::from(up) - 12, i32::from(up)].map(|by| from.semitones() + by);
    let free = |note: &MidiNote| {
        let alone = Voice {
            note: *note,
            degree,
        };
        let mut voice = Voicing::empty(voicing.position);
        let under = above.lowest().is_none_or(|low| from >= low || *note < low);
        voice.push(alone.note, alone.degree)
            && under
            && !voicing.notes().any(|other| other == *note)
            && rubs(&voice, chord, above).next().is_none()
    };
    let keys = keys
        .into_iter()
        .filter_map(|key| MidiNote::new(u8::try_from(key).ok()?));
    let note = keys
        .filter(free)
        .min_by_key(|note| note.number().abs_diff(from.number()))?;
    Some(Voice { note, degree })
}

/// A voicing without one of its voices, and with another one. None if nothing is left.
fn without(voicing: &Voicing, out: Voice, new: Option<Voice>) -> Option<Voicing> {
    let kept = voicing.voices().iter().copied().filter(|v| *v != out);
    let mut voices: tinyvec::ArrayVec<[Voice; crate::voicing::MOST_NOTES]> = kept.collect();
    if let Some(new) = new {
        let _full = voices.try_push(new);
    }
    voices.sort_unstable_by_key(|voice| voice.note);
    let mut changed = Voicing::empty(voicing.position);
    for voice in &voices {
        changed.push(voice.note, voice.degree);
    }
    let gone = voicing.voices().len() - voices.len();
    let in_left = voicing
        .voices()
        .iter()
        .take(usize::from(voicing.left_hand))
        .any(|v| *v == out);
    let fewer = u8::try_from(gone).unwrap_or(0) * u8::from(in_left);
    changed.left_hand = voicing.left_hand.saturating_sub(fewer);
    (!voices.is_empty()).then_some(changed)
}
