//! What varies: which pattern a bar has, how long its chords are, and how loud. Everything is common
//! practice, no published source. Imports `bar`, `chance`, `groove`, `pattern`, `styles` and
//! `ticks`.

use super::bar::{Ends, LONGEST_EIGHTHS, PlayedBar, half_of, is_off_beat};
use super::chance;
use super::groove::Groove;
use super::pattern::{Cell, Rhythm};
use super::styles::{self, Curve, cell};
use crate::engine::ticks::EIGHTH_TICKS;
use fastrand::Rng;

/// The end of a section: a small fill, or a chord that is held.
const SECTION_ENDS: [&[Cell]; 3] = [
    &[cell(0, 3, 0), cell(3, 1, 1), cell(5, 1, 1), cell(7, 1, 1)],
    &[cell(0, 2, 0), cell(3, 1, 1), cell(4, 1, 0), cell(5, 2, 1)],
    &[cell(0, LONGEST_EIGHTHS, 0)],
];

/// How many bars stand before the last one of the shortest section that has an end of its own.
const SHORTEST: u32 = 3;

/// The end of the song: held, held after a short chord, or short.
const ENDINGS: [&[Cell]; 3] = [
    &[cell(0, LONGEST_EIGHTHS, 0)],
    &[cell(0, 1, 1), cell(3, LONGEST_EIGHTHS, 0)],
    &[cell(0, 2, 1)],
];

/// How readily each bar of eight leaves the usual pattern. The bars that answer do so more readily
/// than those that state, and the last of four and of eight most.
const READINESS: [f64; 8] = [0.3, 0.6, 0.4, 0.9, 0.3, 0.7, 0.5, 1.0];

/// The pattern that a bar has in place of the usual one, if it has another.
pub(super) fn pattern(groove: &Groove, bar: &PlayedBar) -> Option<&'static [Cell]> {
    let by_hand = matches!(groove.rhythm, Rhythm::Drawn | Rhythm::Played);
    if groove.variation <= 0.0 || by_hand || groove.rhythm.by_changes() {
        return None;
    }
    let mut chance = chance::of_bar(groove, bar);
    let roll = chance.f64();
    match bar.form.ends {
        Ends::Song => one_of(ENDINGS.iter(), &mut chance),
        Ends::Section if bar.form.in_section >= SHORTEST && roll < 2.0 * groove.variation => {
            one_of(SECTION_ENDS.iter(), &mut chance)
        }
        _ => {
            let [.., last] = READINESS;
            let eighth_bar = usize::try_from(bar.form.in_section % 8).ok();
            let readiness = eighth_bar.and_then(|at| READINESS.get(at)).unwrap_or(&last);
            if roll >= groove.variation * readiness {
                return None;
            }
            let others = styles::others(groove.rhythm).iter();
            one_of(
                others.filter(|other| differs(groove, bar, other)),
                &mut chance,
            )
        }
    }
}

/// One of several patterns; none of none.
fn one_of<'a>(
    mut patterns: impl Iterator<Item = &'a &'static [Cell]> + Clone,
    chance: &mut Rng,
) -> Option<&'static [Cell]> {
    let at = chance.usize(0..patterns.clone().count().max(1));
    patterns.nth(at).copied()
}

/// Whether a pattern strikes elsewhere than the usual one, as far as the bar is long.
fn differs(groove: &Groove, bar: &PlayedBar, other: &[Cell]) -> bool {
    let usual = styles::cells(groove.rhythm, groove.drawn, bar.nth, bar.meter);
    let length = bar.length_ticks();
    let other = other.iter().map(|cell| cell.place_ticks());
    let other = other.filter(|place| *place < length);
    other.ne(usual.map(Cell::place_ticks))
}

/// How a strike stands in its bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stands {
    /// On a beat.
    OnBeat,
    /// Off the beat.
    OffBeat,
    /// Off the beat, with the chord of the next one.
    Ahead,
    /// Added by the density.
    Added,
}

/// What varies of one strike.
pub(super) struct Varied {
    /// A factor for its length.
    pub(super) length: f64,
    /// A factor for its velocity.
    pub(super) loudness: f64,
}

/// The velocity that the curves are written for: 70 % of the full range.
const USUAL: f64 = 89.0;
/// The softest and the loudest strike at the usual velocity.
const RANGE: [f64; 2] = [40.0, 105.0];
/// How much louder or softer each bar of four is, in steps of MIDI.
const ARC: [f64; 4] = [-2.0, 0.0, 3.0, 1.0];
/// How far a strike may be off its curve, in steps of MIDI.
const LOOSE: f64 = 4.0;

/// Varies a strike that stands at a place of its bar. `loudness` is what it has at exact.
pub(super) fn vary(
    groove: &Groove,
    bar: &PlayedBar,
    place_ticks: f64,
    stands: Stands,
    loudness: f64,
) -> Varied {
    let amount = groove.variation;
    if amount <= 0.0 {
        return Varied {
            length: 1.0,
            loudness,
        };
    }
    let mut chance = chance::of_strike(groove, bar, bar.start_ticks + place_ticks);
    let mut either = || 2.0 * chance.f64() - 1.0;
    // Off-beats are short, and chords that come early are long.
    let lean = match stands {
        Stands::OnBeat => 0.0,
        Stands::OffBeat | Stands::Added => -0.3,
        Stands::Ahead => 0.4,
    };
    let length = 1.0 + amount * (lean + 0.15 * either());
    let curve = step(&styles::curve(groove.rhythm), bar, place_ticks, stands);
    let arc = usize::try_from(bar.form.in_section % 4).ok();
    let arc = arc.and_then(|at| ARC.get(at)).unwrap_or(&0.0);
    let accented = USUAL + (curve - USUAL) * 2.0 * groove.accents;
    let [softest, loudest] = RANGE;
    let velocity = (accented + arc + LOOSE * either()).clamp(softest, loudest);
    Varied {
        length,
        loudness: loudness + (velocity / USUAL - loudness) * amount,
    }
}

/// The step of the curve for a place of a bar.
fn step(curve: &Curve, bar: &PlayedBar, place_ticks: f64, stands: Stands) -> f64 {
    let steps = match stands {
        Stands::Added => curve.added,
        Stands::Ahead => curve.ahead,
        Stands::OffBeat => curve.off_beat,
        Stands::OnBeat if is_strong(bar, place_ticks) => curve.strong,
        Stands::OnBeat => curve.weak,
    };
    f64::from(steps)
}

/// Whether a place on the beat is strong: the first beat, and the one in the middle except in bars
/// of six.
fn is_strong(bar: &PlayedBar, place_ticks: f64) -> bool {
    let middle = half_of(bar.meter).filter(|_| bar.meter.beats != 6);
    let middle = middle.map(|eighths| f64::from(eighths) * EIGHTH_TICKS);
    place_ticks == 0.0 || middle == Some(place_ticks)
}

/// How a place of the pattern stands in its bar.
pub(super) fn stands(bar: &PlayedBar, place_ticks: f64, ahead: bool) -> Stands {
    if ahead {
        Stands::Ahead
    } else if is_off_beat(place_ticks, bar.meter) {
        Stands::OffBeat
    } else {
        Stands::OnBeat
    }
}
