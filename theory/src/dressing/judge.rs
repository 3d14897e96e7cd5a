//! How usual a dressing is in its place, why, and how well it suits where the chord goes.
//! Imports `place`, `reason`, `step` and `tones`.

use super::place::Place;
use super::reason::{Fit, Reason};
use super::step::{Step, Taken};
use super::tones::Tones;
use crate::chord::Chord;
use crate::degree::Degree::{
    self, DoubleFlat7, Five, Flat3, Flat5, Flat7, Four, Nine, Seven, Sharp11, Six, Thirteen, Three,
};
use crate::degree::DegreeSet;
use crate::key::Role;
use crate::pcset::PcSet;
use crate::quality::{ChordFamily, Quality};
use crate::scale;
use crate::shape::Need;
use crate::tension::{self, TensionRequests, Tensions};

/// How a dressing fits.
pub(super) struct Verdict {
    pub fit: Fit,
    pub reason: Reason,
    /// Its place among dressings that fit as well, the lowest first.
    pub order: u8,
}

const fn verdict(fit: Fit, reason: Reason, order: u8) -> Verdict {
    Verdict { fit, reason, order }
}

/// After the choices of the table of tensions come those that fit everywhere, then lines.
const PLAIN_FIFTH: u8 = 10;
const PLAIN: u8 = 11;
const LINE: u8 = 12;

/// A row of the table that is no inner line.
pub(super) fn row(place: &Place, tones: &Tones, is_plain: bool) -> Verdict {
    match place.placed.chord.quality.family() {
        ChordFamily::Dominant | ChordFamily::Suspended if is_plain => {
            verdict(Fit::Usual, Reason::ChordTones, PLAIN)
        }
        ChordFamily::Dominant | ChordFamily::Suspended => dominant(place, tones),
        _ if is_plain => verdict(Fit::Usual, Reason::ChordTones, 0),
        ChordFamily::Diminished => diminished(place, tones),
        _ => by_scale(place, tones),
    }
}

/// An inner line. It is usual where the chord falls a fifth, and elsewhere only the suspension is
/// offered.
pub(super) fn line(place: &Place, from: Degree) -> Verdict {
    let resolution = place.placed.function.resolution;
    let falls = resolution.falls_a_fifth();
    match from {
        Four if falls || place.placed.chord.quality.is_suspended() => {
            verdict(Fit::Usual, Reason::Resolves, LINE)
        }
        Four => verdict(Fit::Bold, Reason::Unusual(resolution), LINE),
        Thirteen => verdict(Fit::Usual, Reason::LeadsTo(Nine), LINE),
        _ => verdict(Fit::Usual, Reason::LeadsTo(Five), LINE),
    }
}

/// What overrules how usual a dressing is: the melody, and what the symbol writes.
pub(super) fn overruled(place: &Place, steps: &[Step], taken: &Taken) -> Option<(Fit, Reason)> {
    if let Some(reason) = steps.iter().find_map(|step| against_melody(place, step)) {
        return Some((Fit::AgainstMelody, reason));
    }
    let reason = if taken.alt {
        Reason::NotAltered
    } else {
        Reason::TakesAway(taken.tensions)
    };
    taken.is_against_the_symbol().then_some((Fit::Bold, reason))
}

/// A degree that lies a half step from a note of the melody. Third, fifth and minor seventh are
/// the chord itself, and stay.
fn against_melody(place: &Place, step: &Step) -> Option<Reason> {
    const STAY: DegreeSet = DegreeSet::of(&[Three, Flat3, Four, Five, Flat7, DoubleFlat7]);
    let symbol = step.symbol();
    let flat_five = symbol
        .quality
        .degrees()
        .intersection(DegreeSet::of(&[Flat5]));
    let stay = STAY.union(flat_five);
    step.voicing
        .degrees()
        .minus(stay)
        .iter()
        .find_map(|degree| {
            let class = degree.class(symbol.root);
            let half_steps = [class.up(1), class.up(-1)];
            let note = half_steps.into_iter().find(|c| place.melody.contains(*c))?;
            let name = place.placed.function.key.name(note);
            Some(Reason::Melody(degree, name))
        })
}

/// Dominants: what the tensions of the symbol, in its place, can be, in their order.
fn dominant(place: &Place, tones: &Tones) -> Verdict {
    let (chord, function) = (&place.placed.chord, &place.placed.function);
    let choices = tension::resolve(chord, function, TensionRequests::default());
    let wanted = bright(DegreeSet::of(&tones.others).union(tones.also.into_iter().collect()));
    let two = |choice: &Tensions| -> DegreeSet { choice.others.iter().copied().take(2).collect() };
    let is_this = |c: &Tensions| c.third == Some(tones.third) && bright(two(c)) == wanted;
    if let Some(at) = choices.iter().position(is_this)
        && let Some(choice) = choices.get(at)
    {
        let reason = match at {
            0 => Reason::FirstChoice(choice.reason),
            _ => Reason::Choice(choice.reason),
        };
        return verdict(Fit::Usual, reason, choice.rank);
    }
    let nine = choices.iter().find(|c| two(c).contains(Nine));
    match nine {
        Some(choice) if wanted == DegreeSet::of(&[Nine, Five]) => {
            verdict(Fit::Usual, Reason::PlainFifth(choice.reason), PLAIN_FIFTH)
        }
        _ => verdict(Fit::Bold, Reason::Unusual(function.resolution), 0),
    }
}

/// A #11 goes with 13 and without it.
const fn bright(degrees: DegreeSet) -> DegreeSet {
    if degrees.contains(Sharp11) {
        degrees.without(Thirteen)
    } else {
        degrees
    }
}

/// Each tone of a diminished chord may rise a whole step. What rises to a note of the key comes
/// first.
fn diminished(place: &Place, tones: &Tones) -> Verdict {
    let Verdict { fit, reason, order } = by_scale(place, tones);
    let key = place.placed.function.key;
    let raised = tones.all().minus(Quality::DiminishedSeventh.degrees());
    let root = place.placed.chord.root;
    if raised.iter().all(|d| key.notes().contains(d.class(root))) {
        verdict(Fit::Usual, Reason::InKey(key), 0)
    } else {
        verdict(fit, reason, order + 1)
    }
}

/// Chords that are no dominants: what their scale or the key holds is usual.
fn by_scale(place: &Place, tones: &Tones) -> Verdict {
    let (chord, function) = (&place.placed.chord, &place.placed.function);
    let minor = chord.quality.family() == ChordFamily::Minor;
    let sixth_or_seventh = DegreeSet::of(&[Six, Seven, Flat7]);
    let exchanged = tones.all().intersection(sixth_or_seventh);
    let tonic = minor && function.role == Role::Tonic;
    let changed = !exchanged.contains(Flat7) && minor;
    let in_line = changed && !tonic && is_in_line(place);
    if changed && function.is_two && exchanged.contains(Six) && !in_line {
        return verdict(Fit::Bold, Reason::ThirdOfDominant, 0);
    }
    let scales = scale::suggest(chord, DegreeSet::EMPTY, function);
    let first = scales.first().copied().unwrap_or_default();
    let scale = PcSet::of_degrees(first.root.class(), first.scale.set());
    let key = function.key;
    let free = if tonic || in_line {
        sixth_or_seventh
    } else {
        DegreeSet::EMPTY
    };
    let outside = |known: PcSet| {
        let degrees = tones.all().minus(free);
        let mut strangers = degrees.iter();
        strangers.find(|d| !known.contains(d.class(chord.root)))
    };
    let (fit, reason) = match (outside(scale), outside(key.notes())) {
        (None, _) if in_line => (Fit::Usual, Reason::MinorLine),
        (None, _) if tonic && changed => (Fit::Usual, Reason::MinorTonic),
        (None, _) => (Fit::Usual, Reason::InScale(first.scale)),
        (_, None) => (Fit::Usual, Reason::InKey(key)),
        (Some(degree), _) => (Fit::Bold, Reason::OutsideScale(degree, first.scale)),
    };
    verdict(fit, reason, 0)
}

/// Whether a minor chord on the same root stands before or after, so that a voice may move
/// through root, major seventh, minor seventh and sixth.
fn is_in_line(place: &Place) -> bool {
    let root = place.placed.chord.root.class();
    let neighbours = place.before.iter().chain(&place.after);
    neighbours
        .filter(|c| c.quality.family() == ChordFamily::Minor)
        .any(|c| c.root.class() == root)
}

/// What the symbol says and these steps do not.
pub(super) fn taken(chord: &Chord, steps: &[Step]) -> Taken {
    let keys = |degrees| PcSet::of_degrees(chord.root.class(), degrees);
    let lost = |degree: &Degree| {
        let class = degree.class(chord.root);
        steps.iter().any(|step| {
            let kept = step.symbol().degrees().union(step.voicing.degrees());
            !keys(kept).contains(class)
        })
    };
    let own = chord.quality.degrees();
    let written = chord.degrees().minus(own).iter();
    let tensions = written.filter(|d| Need::of(*d, chord) < Need::Unwritten);
    let natural = DegreeSet::of(&[Five, Nine, Thirteen]);
    let alt = chord.quality == Quality::Altered
        && steps
            .iter()
            .any(|step| step.voicing.degrees().intersects(natural));
    Taken {
        tensions: tensions.filter(lost).collect(),
        seventh: chord.seventh().into_iter().filter(lost).collect(),
        alt,
    }
}

/// Whether one of these tones, which the symbol does not say, lies a half step from its bass.
pub(super) fn is_against_the_bass(chord: &Chord, tones: &Tones) -> bool {
    let new = tones.set().minus(chord.degrees());
    new.iter().any(|d| tension::is_against(chord, d))
}
