//! Tensions that agree with a melody. Imports `above`, `yields`, `choices`, `substitutes`, `guides`,
//! `over_bass` and `reason`.
//!
//! A degree yields for one of two reasons. The melody lies a half step above it, which makes a
//! minor ninth; only a b9 over the root of a dominant is allowed. Or the melody plays another
//! degree of the same kind a half step below it, such as b9 over 9, so that the chord would say
//! something else than the melody. What takes its place is a degree of its kind that agrees, first
//! of all the one that the melody plays, and else a tone that fills its slot (common practice, no
//! published source). Guide tones stay, but for the major seventh: it gives way to the sixth under
//! the root, as players take maj7 and 6/9 for one another. A minor seventh lies a whole step below
//! the root and stays.

use super::above::Above;
use super::choices::{Choices, Tensions};
use super::guides;
use super::over_bass;
use super::reason::Reason;
use super::substitutes::Substitutes;
use super::yields::{Against, Outcome, SLOTS, Yield, Yields};
use crate::chord::Chord;
use crate::degree::Degree::{
    self, DoubleFlat7, Eleven, Five, Flat3, Flat5, Flat7, Flat9, Flat13, Four, Nine, Root, Seven,
    Sharp5, Sharp9, Sharp11, Six, Thirteen, Three, Two,
};
use crate::degree::DegreeSet;
use crate::pitch::{NoteName, PitchClass};
use crate::quality::{ChordFamily, Quality};
use tinyvec::ArrayVec;

/// The choices for a chord under a melody, with what yields in each.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Agreed {
    /// The choices, the best first. There is one at least.
    pub choices: Choices,
    /// What yields in each of them.
    yields: ArrayVec<[Yields; 6]>,
}

impl Agreed {
    /// What yields in one of the choices.
    #[must_use]
    pub fn yields(&self, choice: &Tensions) -> Yields {
        let place = self.choices.iter().position(|c| c == choice);
        let found = place.and_then(|place| self.yields.get(place));
        found.copied().unwrap_or_default()
    }

    fn push(&mut self, choice: Tensions, yields: Yields) {
        let same = |c: &Tensions| {
            (c.third, c.seventh, c.others) == (choice.third, choice.seventh, choice.others)
        };
        if !self.choices.iter().any(same) && self.choices.try_push(choice).is_none() {
            let _full = self.yields.try_push(yields);
        }
    }
}

/// The choices for a chord as they agree with a melody. Choices that agree by themselves stay as
/// they are. One with a degree that yields stays only if all before it have such a degree too.
/// Without a melody nothing changes. Nothing allocates.
#[must_use]
pub fn agree(choices: &Choices, chord: &Chord, above: Above) -> Agreed {
    agreed(choices, |choice| yielded(choice, chord, above, false))
}

/// As [`agree`], but third and seventh yield as well, to notes that have not ended. The third gives
/// way to the fourth, with it the major seventh to the sixth, and a seventh to another one that the
/// chord can have. One that nothing can replace is left out.
#[must_use]
pub fn agree_wholly(choices: &Choices, chord: &Chord, above: Above) -> Agreed {
    agreed(choices, |choice| yielded(choice, chord, above, true))
}

fn agreed(choices: &Choices, yielded: impl Fn(&Tensions) -> (Tensions, Yields)) -> Agreed {
    let mut agreed = Agreed::default();
    let mut settled = false;
    for choice in choices {
        let (changed, yields) = yielded(choice);
        // What only fills up a voicing may change.
        let whole = changed.seventh == choice.seventh && !yields.iter().any(Yield::in_a_slot);
        if whole || !settled {
            agreed.push(changed, yields);
        }
        settled |= whole;
    }
    agreed
}

/// What the melody has against a degree of a chord, and the class of its note.
#[must_use]
pub fn against(chord: &Chord, degree: Degree, above: Above) -> Option<(Against, PitchClass)> {
    let class = degree.class(chord.root);
    let (higher, lower) = (class.up(1), class.up(-1));
    let flat_nine = degree == Root && chord.quality.is_dominant();
    if above.holds(higher) && !flat_nine {
        return Some((Against::HalfStep, higher));
    }
    let kind = match degree {
        Nine | Sharp9 | Sharp11 | Five | Thirteen => true,
        Sharp5 | Flat13 => !is_written(chord, degree),
        Flat5 => !chord.quality.is_minor(),
        _ => false,
    };
    (kind && above.holds(lower)).then_some((Against::OtherOfItsKind, lower))
}

/// The name of a note of the melody, by its degree over the chord.
#[must_use]
pub fn name_over(chord: &Chord, class: PitchClass) -> NoteName {
    let stated = chord.degrees();
    let own = |own, other| if stated.contains(own) { own } else { other };
    let degree = match class.above(chord.root.class()) {
        0 => Root,
        1 => Flat9,
        2 => Nine,
        3 => own(Flat3, Sharp9),
        4 => Three,
        5 => Eleven,
        6 if chord.quality.is_minor() => Flat5,
        6 => own(Flat5, Sharp11),
        7 => Five,
        8 => own(Sharp5, Flat13),
        9 => own(DoubleFlat7, Thirteen),
        10 => Flat7,
        _ => Seven,
    };
    degree.over(chord.root).readable()
}

/// Whether the symbol writes a degree, so that it is not replaced. Root and fifth are tones that
/// any voicing may do without. `alt` writes all that is altered.
fn is_written(chord: &Chord, degree: Degree) -> bool {
    let altered = DegreeSet::of(&[Flat9, Sharp9, Sharp11, Flat13]);
    let by_name = chord.quality == Quality::Altered && altered.contains(degree);
    let tone = matches!(degree, Root | Five);
    !tone && (by_name || chord.degrees().contains(degree))
}

/// Whether two degrees do not sound together in a chord.
const fn excludes(one: Degree, other: Degree) -> bool {
    const fn either(one: Degree, other: Degree) -> bool {
        match one {
            Flat9 => matches!(other, Nine | Sharp9 | Root),
            Nine => matches!(other, Sharp9),
            Sharp9 => matches!(other, Flat3),
            Eleven => matches!(other, Sharp11 | Three),
            Five => matches!(other, Flat5 | Sharp5 | Flat13 | Sharp11),
            Thirteen | Six => matches!(other, Sharp5 | Flat13 | Six | DoubleFlat7),
            _ => false,
        }
    }
    either(one, other) || either(other, one)
}

/// Whether the degree is one of those that name the chord. It stands wherever it is.
#[must_use]
pub const fn names_the_chord(degree: Degree) -> bool {
    matches!(
        degree,
        Two | Flat3 | Three | Four | Six | DoubleFlat7 | Flat7 | Seven
    )
}

/// Whether another degree of its kind may take its place. `alt` leaves open which of two altered
/// degrees sounds.
fn is_replaced(chord: &Chord, degree: Degree) -> bool {
    let by_name = chord.quality == Quality::Altered && !chord.written.contains(degree);
    by_name || !is_written(chord, degree)
}

/// A choice as it agrees, with what yields in it. Third and seventh yield if it agrees `wholly`.
fn yielded(choice: &Tensions, chord: &Chord, above: Above, wholly: bool) -> (Tensions, Yields) {
    let mut changed = *choice;
    let mut yields = Yields::default();
    if above.is_empty() {
        return (changed, yields);
    }
    if let Some((seventh, told)) = exchange(choice, chord, above) {
        changed.seventh = Some(seventh);
        if seventh == Six && told.degree == Seven {
            changed.reason = Reason::RootInMelody;
        }
        let stays = |d: Degree| d != seventh && !(seventh == Six && d == Thirteen);
        changed.others.retain(|d| stays(*d));
        let _full = yields.try_push(told);
    }
    if wholly {
        let third = suspended(&mut changed, chord, above);
        let seventh = other_seventh(&mut changed, chord, above)
            .or_else(|| third.and_then(|third| no_tritone(&mut changed, &third, chord, above)));
        for told in third.into_iter().chain(seventh) {
            let _full = yields.try_push(told);
        }
    }
    let mut place = 0;
    while let Some(degree) = changed.others.get(place).copied() {
        let found = against(chord, degree, above).filter(|_| !names_the_chord(degree));
        let Some((why, class)) = found else {
            place += 1;
            continue;
        };
        let to = substitute(degree, &changed, place, chord, above);
        // What takes the place may have stood behind it.
        changed.others.retain(|d| Some(*d) != to);
        match (to, changed.others.get_mut(place)) {
            (Some(to), Some(slot)) => *slot = to,
            _ => changed.others.retain(|d| *d != degree),
        }
        let _full = yields.try_push(Yield {
            degree,
            outcome: outcome(chord, degree, to),
            melody: name_over(chord, class),
            against: why,
            place: u8::try_from(place).unwrap_or(u8::MAX),
        });
    }
    (changed, yields)
}

fn outcome(chord: &Chord, degree: Degree, to: Option<Degree>) -> Outcome {
    let of_its_kind = |to: Degree| to.family() == degree.family();
    let open = |to| !is_written(chord, degree) || is_replaced(chord, degree) && of_its_kind(to);
    match to {
        Some(to) if open(to) => Outcome::To(to),
        None if !is_written(chord, degree) => Outcome::LeftOut,
        to => Outcome::WrittenLeftOut(to),
    }
}

/// The degree that takes the place of the seventh or sixth: the sixth under the root in place of a
/// major seventh, and another one in place of one that the symbol does not write.
fn exchange(choice: &Tensions, chord: &Chord, above: Above) -> Option<(Degree, Yield)> {
    let degree = choice.seventh?;
    let (why, class) = against(chord, degree, above)?;
    let under_root = degree == Seven && above.holds(chord.root.class());
    let written = chord.degrees().contains(degree);
    let in_bass = |bass: NoteName| bass.class() == degree.class(chord.root);
    if !names_the_chord(degree) || chord.upper.is_some() || chord.bass.is_some_and(in_bass) {
        return None;
    }
    let candidates: &[Degree] = match chord.quality.family() {
        _ if under_root => &[Six],
        _ if written => &[],
        ChordFamily::Minor if above.holds(Flat7.class(chord.root)) => &[Flat7],
        ChordFamily::Minor if above.holds(Seven.class(chord.root)) => &[Seven, Six],
        ChordFamily::Diminished => &[Flat7, Root],
        _ => &[Root],
    };
    let fits = |d: &Degree| {
        let mut kept = choice.others.iter().filter(|o| **o != Thirteen);
        against(chord, *d, above).is_none()
            && !over_bass::is_against(chord, *d)
            && !chord.omitted.contains(*d)
            && !kept.any(|other| excludes(*d, *other))
    };
    let to = candidates.iter().copied().find(fits)?;
    let told = Yield {
        degree,
        outcome: Outcome::To(to),
        melody: name_over(chord, class),
        against: why,
        place: 0,
    };
    Some((to, told))
}

/// Exchanges the third if the melody speaks against it.
fn suspended(choice: &mut Tensions, chord: &Chord, above: Above) -> Option<Yield> {
    let degree = choice.third.filter(|d| names_the_chord(*d))?;
    let (why, class) = against(chord, degree, above.held())?;
    let candidates = guides::instead_of_third(degree).iter().copied();
    choice.third = candidates
        .into_iter()
        .find(|to| fits_as_guide(*to, choice.seventh, chord, above));
    Some(exchanged_guide(
        choice,
        (degree, choice.third),
        chord,
        (why, class),
    ))
}

/// Exchanges the seventh, or what stands in its place, if the melody speaks against it.
fn other_seventh(choice: &mut Tensions, chord: &Chord, above: Above) -> Option<Yield> {
    let degree = choice.seventh.filter(|d| names_the_chord(*d))?;
    let (why, class) = against(chord, degree, above.held())?;
    let candidates = guides::instead_of_seventh(degree, chord.quality.family())
        .iter()
        .copied();
    choice.seventh = candidates
        .into_iter()
        .find(|to| fits_as_guide(*to, choice.third, chord, above));
    Some(exchanged_guide(
        choice,
        (degree, choice.seventh),
        chord,
        (why, class),
    ))
}

/// Exchanges the major seventh for the sixth beside the fourth that has taken the place of the third:
/// with their tritone the chord would sound as a dominant.
fn no_tritone(choice: &mut Tensions, third: &Yield, chord: &Chord, above: Above) -> Option<Yield> {
    let degree = choice.seventh.filter(|d| *d == Seven)?;
    choice.third.filter(|d| *d == Four)?;
    if !fits_as_guide(Six, choice.third, chord, above) {
        return None;
    }
    choice.seventh = Some(Six);
    choice.others.retain(|d| !excludes(Six, *d));
    Some(Yield {
        degree,
        outcome: Outcome::To(Six),
        ..*third
    })
}

/// Whether a degree can stand in the place of a guide tone beside the other one.
fn fits_as_guide(to: Degree, other: Option<Degree>, chord: &Chord, above: Above) -> bool {
    against(chord, to, above).is_none()
        && !over_bass::is_against(chord, to)
        && !chord.omitted.contains(to)
        && chord.upper.is_none()
        && other.is_none_or(|other| other.class(chord.root) != to.class(chord.root))
}

/// What is told of a guide tone that has been exchanged. What stood beside it and is the same key,
/// or does not sound beside what has come, goes.
fn exchanged_guide(
    choice: &mut Tensions,
    (degree, to): (Degree, Option<Degree>),
    chord: &Chord,
    (against, class): (Against, PitchClass),
) -> Yield {
    let beside = |d: &Degree| {
        let same = |to: Degree| to.class(chord.root) == d.class(chord.root);
        to.is_none_or(|to| !same(to) && !excludes(to, *d))
    };
    choice.others.retain(beside);
    Yield {
        degree,
        outcome: to.map_or(Outcome::LeftOut, Outcome::To),
        melody: name_over(chord, class),
        against,
        place: 0,
    }
}

/// The degree that takes the place of one that yields, if there is one that agrees with the melody,
/// the chord and what stands before it.
fn substitute(
    degree: Degree,
    choice: &Tensions,
    place: usize,
    chord: &Chord,
    above: Above,
) -> Option<Degree> {
    let dark = choice.others.iter().any(|d| matches!(d, Flat13 | Sharp5));
    let substitutes = Substitutes::of(degree, chord, dark);
    let replaced = is_replaced(chord, degree);
    let played = substitutes.of_its_kind.iter().filter(|_| replaced);
    let played = played.filter(|d| above.holds(d.class(chord.root)));
    let (before, behind) = choice.others.split_at_checked(place)?;
    let guides = || choice.third.into_iter().chain(choice.seventh);
    // Root and fifth that stand behind only fill up.
    let needed = |d: &Degree| *d != degree && !matches!(d, Root | Five);
    let stated = chord.degrees().iter().filter(needed);
    let rest: DegreeSet = before
        .iter()
        .copied()
        .chain(guides())
        .chain(stated)
        .collect();
    let rest = rest.union(behind.iter().copied().filter(needed).collect());
    // The root fills a slot, but it is no fifth note, and none over itself.
    let over_root = chord.bass.is_some_and(|b| b.class() == chord.root.class());
    let no_root = over_root || place >= SLOTS;
    let fits = |d: &Degree| {
        let tone = matches!(d, Root | Five);
        (replaced || tone || behind.contains(d))
            && !before.contains(d)
            && !guides().any(|guide| guide == *d)
            && against(chord, *d, above).is_none()
            && !over_bass::is_against(chord, *d)
            && !chord.omitted.contains(*d)
            && !(*d == Root && no_root)
            && !rest.iter().any(|other| excludes(*d, other))
    };
    played.chain(substitutes.otherwise).copied().find(fits)
}
