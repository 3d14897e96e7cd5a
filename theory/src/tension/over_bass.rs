//! Tensions over a bass that is not the root, and under the triad of a slash
//! chord. Imports `choices`.

use super::choices::{Tensions, append};
use crate::chord::Chord;
use crate::degree::Degree::{self, Five, Flat5, Flat9, Flat13, Root, Sharp5};
use crate::degree::DegreeSet;
use crate::quality::Quality;
use tinyvec::ArrayVec;

/// Whether a degree lies a half step from the bass of a chord, so that the two clash. A
/// bass that is the root does not count.
pub(crate) fn is_against(chord: &Chord, degree: Degree) -> bool {
    chord.bass.is_some_and(|bass| {
        let over_root = bass.class() == chord.root.class();
        let above = degree.class(chord.root).above(bass.class());
        !over_root && matches!(above, 1 | 11)
    })
}

/// Puts the triad of a slash chord first, so that it sounds as a whole, and drops degrees that
/// clash with the bass. Degrees that the symbol writes beyond root and fifth stay.
pub(super) fn agree(chord: &Chord, choice: &mut Tensions) {
    let Some(bass) = chord.bass else {
        return;
    };
    if let Some(upper) = chord.upper {
        let notes = upper.notes().filter_map(|note| chord.name(note));
        whole(chord, notes.collect(), choice);
        if bass.class() == chord.root.class() {
            choice.others.retain(|d| *d != Root);
        }
    }
    let kept = chord.degrees().minus(DegreeSet::of(&[Root, Five]));
    choice
        .others
        .retain(|d| kept.contains(*d) || !is_against(chord, *d));
}

fn whole(chord: &Chord, triad: DegreeSet, choice: &mut Tensions) {
    let guides = [choice.third, choice.seventh].into_iter().flatten();
    let mut rest = triad.minus(guides.collect());
    let mut displaced = None;
    // Only two slots are left beside the guide tones, so a third note takes the seventh's slot.
    if rest.len() > 2
        && let Some(natural) = rest.iter().find(|d| !d.is_altered())
    {
        displaced = choice.seventh.replace(natural);
        rest = rest.without(natural);
    }
    let mut others = ArrayVec::default();
    append(&mut others, rest.iter().filter(|d| d.is_altered()));
    append(&mut others, rest.iter().filter(|d| !d.is_altered()));
    append(&mut others, displaced);
    let stated = chord.degrees();
    let against = |degree: Degree| {
        let by_five = triad.contains(Five) && matches!(degree, Flat5 | Sharp5 | Flat13);
        let by_root = triad.contains(Root) && degree == Flat9;
        (by_five || by_root) && !stated.contains(degree)
    };
    // A diminished chord with a major seventh has no room beside its triad.
    if chord.quality != Quality::Diminished {
        let more = choice.others.iter().copied();
        append(&mut others, more.filter(|d| !against(*d)));
    }
    others.retain(|d| Some(*d) != choice.third && Some(*d) != choice.seventh);
    choice.others = others;
}
