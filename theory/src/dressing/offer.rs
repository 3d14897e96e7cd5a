//! All dressings of a chord in its place. Imports the rest of its folder.

use super::judge::{self, Verdict};
use super::lay;
use super::lines;
use super::moves;
use super::name::Name;
use super::place::Place;
use super::reason::{Fit, Reason};
use super::step::{Dressing, Step, Taken};
use super::table::{Row, TABLE};
use super::tones::Tones;
use crate::candidates;
use crate::chord::Chord;
use crate::degree::Degree::{self, Four, Root, Sharp11};
use crate::degree::DegreeSet;
use crate::pipeline::ChordInKey;
use crate::quality::{ChordFamily, Quality};
use crate::tension;
use crate::voicing::Voicing;
use std::cmp::Reverse;

/// The dressings of a chord in its place: those that move the fewest fingers first, then those
/// that suit the place best, then in the order of the table. What sounds now is among them. Their
/// number is bounded by the table.
#[must_use]
pub fn dressings(place: &Place) -> Vec<Dressing> {
    let chord = &place.placed.chord;
    let mut found: Vec<(Dressing, u8)> = Vec::new();
    let mut add = |dressing: Option<(Dressing, u8)>| {
        let known = |new: &Dressing| found.iter().any(|(old, _)| sounds_alike(old, new));
        found.extend(dressing.filter(|(new, _)| !known(new)));
    };
    if is_dressed(chord) {
        for row in TABLE.iter().filter(|r| r.family == chord.quality.family()) {
            add(of_row(place, row));
        }
        if chord.quality.is_dominant() {
            for (from, to) in lines::all() {
                add(of_line(place, from, to));
            }
        }
    }
    if !found.iter().any(|(dressing, _)| dressing.sounds_now) {
        found.insert(0, (as_it_sounds(place), 0));
    }
    found.sort_by_key(|(d, order)| (d.fingers, Reverse(d.sounds_now), d.fit, *order));
    found.into_iter().map(|(dressing, _)| dressing).collect()
}

/// Whether the table knows chords of this kind. It does not know augmented triads and chords
/// without a third.
fn is_dressed(chord: &Chord) -> bool {
    let other = matches!(
        chord.quality,
        Quality::SuspendedSecond | Quality::Augmented | Quality::Power
    );
    !other && chord.third().is_some()
}

fn sounds_alike(a: &Dressing, b: &Dressing) -> bool {
    let mut steps = a.steps.iter().zip(&b.steps);
    a.steps.len() == b.steps.len() && steps.all(|(a, b)| same_notes(&a.voicing, &b.voicing))
}

fn same_notes(a: &Voicing, b: &Voicing) -> bool {
    a.notes().eq(b.notes())
}

fn of_row(place: &Place, row: &Row) -> Option<(Dressing, u8)> {
    let chord = &place.placed.chord;
    let change = |degree| as_written(chord, degree);
    let (name, tones) = (row.name(change), row.tones.map(change));
    // A triad may be plain with a sixth and with a seventh. A chord with one of them keeps it.
    let other = chord.seventh().is_some_and(|own| own != tones.seventh);
    if name == Name::Plain && other {
        return None;
    }
    let step = step(place, &place.now, row.quality, &tones)?;
    let verdict = judge::row(place, &tones, name == Name::Plain);
    Some(made(place, name, vec![step], verdict))
}

fn of_line(place: &Place, from: Degree, to: Degree) -> Option<(Dressing, u8)> {
    let chord = &place.placed.chord;
    let suspension = from == Four;
    let falls = place.placed.function.resolution.falls_a_fifth();
    if !suspension && (!falls || chord.quality.family() != ChordFamily::Dominant) {
        return None;
    }
    let [first, second] = lines::inner(place.now.degrees(), from, to);
    let change = |degree| as_written(chord, degree);
    let before = if suspension {
        Quality::DominantSuspended
    } else {
        Quality::Dominant
    };
    let first = step(place, &place.now, before, &first.map(change))?;
    let second = step(
        place,
        &first.voicing,
        Quality::Dominant,
        &second.map(change),
    )?;
    // One voice moves, and the others hold.
    if second.fingers.len() != 1 {
        return None;
    }
    let verdict = judge::line(place, from);
    let name = Name::Line {
        from,
        to: change(to),
    };
    Some(made(place, name, vec![first, second], verdict))
}

/// The name of a degree as the symbol writes it: #5 for b13 and b5 for #11 in a chord that
/// writes them.
fn as_written(chord: &Chord, degree: Degree) -> Degree {
    match degree {
        Degree::Flat13 if chord.written.contains(Degree::Sharp5) => Degree::Sharp5,
        Sharp11 if chord.written.contains(Degree::Flat5) => Degree::Flat5,
        same => same,
    }
}

fn made(place: &Place, name: Name, steps: Vec<Step>, verdict: Verdict) -> (Dressing, u8) {
    let taken = judge::taken(&place.placed.chord, &steps);
    let (fit, reason) = match judge::overruled(place, &steps, &taken) {
        Some(overruled) => overruled,
        None => (verdict.fit, verdict.reason),
    };
    let moving = steps.iter().flat_map(|step| &step.fingers);
    let voices = moving.fold(0u32, |voices, finger| voices | 1 << finger.voice);
    let sounds = |step: &Step| same_notes(&step.voicing, &place.now);
    let dressing = Dressing {
        name,
        fingers: usize::try_from(voices.count_ones()).unwrap_or(usize::MAX),
        sounds_now: matches!(steps.as_slice(), [step] if sounds(step)),
        fit,
        reason,
        taken,
        steps,
    };
    (dressing, verdict.order)
}

/// A step from a voicing to these tones. None if a hand does not reach them, if the symbol leaves
/// one of them out, or if one rubs against the bass.
fn step(place: &Place, from: &Voicing, quality: Quality, tones: &Tones) -> Option<Step> {
    let chord = &place.placed.chord;
    if tones.set().intersects(chord.omitted) || judge::is_against_the_bass(chord, tones) {
        return None;
    }
    let symbol = tones.symbol(quality, chord);
    let from = Place {
        now: *from,
        ..*place
    };
    let voicing = lay::nearest(&from, tones, &symbol)?;
    let inside = voicing.sharp_nine_inside();
    let clear = inside.then(|| lay::clear_of_the_third(&from, tones, &symbol));
    Some(Step {
        clear_of_the_third: clear.flatten(),
        other_position: lay::moves_hand(place, &voicing),
        fingers: moves::fingers(&from.now, &voicing),
        ..alone(place, symbol, voicing)
    })
}

/// A chord and its voicing, to which no finger has to move.
fn alone(place: &Place, symbol: Chord, voicing: Voicing) -> Step {
    let placed = ChordInKey {
        chord: symbol,
        written: symbol,
        function: place.placed.function,
    };
    Step {
        placed,
        voicing,
        fingers: Vec::new(),
        other_position: false,
        clear_of_the_third: None,
        substitute: substitute(&placed, &voicing),
        needs_pin: needs_pin(place, &placed, &voicing),
    }
}

fn as_it_sounds(place: &Place) -> Dressing {
    let degrees = place.now.degrees();
    let name = Name::AsItSounds(tension::of(degrees).iter().take(4).collect());
    let symbol = place.placed.sounding(&place.now).normal();
    let steps = vec![alone(place, symbol, place.now)];
    let verdict = Verdict {
        fit: Fit::Usual,
        reason: Reason::Sounds,
        order: 0,
    };
    let (dressing, _) = made(place, name, steps, verdict);
    // What sounds is the player's own, or the symbol's.
    if dressing.fit == Fit::AgainstMelody {
        return dressing;
    }
    Dressing {
        fit: Fit::Usual,
        reason: Reason::Sounds,
        taken: Taken::default(),
        ..dressing
    }
}

/// The dominant a tritone away whose notes, without its root, are these. None if it would sound
/// its root, or if these are not rootless.
fn substitute(placed: &ChordInKey, voicing: &Voicing) -> Option<Chord> {
    let chord = &placed.chord;
    let degrees = voicing.degrees();
    let rooted = DegreeSet::of(&[Root, Sharp11, Degree::Flat5]).intersects(degrees);
    if chord.quality != Quality::Dominant || rooted {
        return None;
    }
    let root = Degree::Flat5.over(chord.root).readable();
    let other = Chord::new(root, Quality::Dominant);
    let degrees = degrees.iter().map(|d| other.name(d.over(chord.root)));
    let degrees: Option<DegreeSet> = degrees.collect();
    Some(tension::sounding(&other, degrees?).normal())
}

/// Whether the symbol in a chart would sound other degrees.
fn needs_pin(place: &Place, placed: &ChordInKey, voicing: &Voicing) -> bool {
    let taste = &place.taste;
    let choices = tension::resolve(&placed.chord, &placed.function, taste.requests);
    let Some(first) = choices.first() else {
        return true;
    };
    let mut all = candidates::of(&placed.chord, first, taste.texture, place.reach());
    !all.any(|v| v.degrees() == voicing.degrees())
}
