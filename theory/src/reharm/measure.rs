//! How far a proposal leads from what was written, as a whole number. Imports `interval` and
//! `span`; only `run` imports this.
//!
//! Common practice, no published source: changes that the ear notices first cost most.

use super::interval::rise;
use super::span::TimedChord;
use crate::chord::Chord;
use crate::degree::Degree;
use crate::key::{self, Key};
use crate::pcset::PcSet;
use crate::pitch::PitchClass;
use crate::quality::Quality;

/// Points for each note of the new chord that the old one lacks.
const NOTE: i32 = 6;
/// Points for another bass.
const BASS: i32 = 4;
/// Points for each point of strangeness of a new root or quality in the key.
const STRANGER: i32 = 3;
/// Points for each point by which the root motion is rougher than it was.
const MOTION: i32 = 2;
/// Points for each chord more or fewer.
const CHORD: i32 = 2;

/// Points of root motion, by semitones upwards. Falling fifths and falling half steps lead on
/// their own, steps lead on, thirds less so, and a tritone leaps.
const MOTIONS: [i32; 12] = [0, 1, 1, 2, 2, 0, 3, 1, 2, 2, 1, 0];

/// The distance between two rows of chords of the same length, before `next`.
pub(super) fn distance(old: &[TimedChord], new: &[TimedChord], next: &Chord, key: Key) -> u16 {
    let mut points = 0;
    let mut total = 0;
    for (a, b, ticks) in overlaps(old, new) {
        points += i64::from(change(a, b, key)) * i64::from(ticks);
        total += i64::from(ticks);
    }
    let mean = (points + total / 2) / total.max(1);
    let rougher = (motion(new, next) - motion(old, next)).max(0);
    let count = |parts: &[TimedChord]| i32::try_from(parts.len()).unwrap_or(i32::MAX);
    let more = (count(new) - count(old)).abs();
    let joints = i64::from(MOTION * rougher) + i64::from(CHORD) * i64::from(more);
    u16::try_from(mean + joints).unwrap_or(u16::MAX)
}

/// Points for one chord in the place of another.
fn change(old: &Chord, new: &Chord, key: Key) -> i32 {
    let added = notes(new).minus(notes(old)).len();
    let mut points = NOTE * i32::try_from(added).unwrap_or(i32::MAX);
    if bass(old) != bass(new) {
        points += BASS;
    }
    if old.root.class() != new.root.class() || old.quality != new.quality {
        points += STRANGER * key::strangeness(new, key);
    }
    points
}

/// The notes that the symbol states. `alt` counts as b9 and b13.
fn notes(chord: &Chord) -> PcSet {
    let degrees = match chord.quality {
        Quality::Altered => chord.degrees().with(Degree::Flat9).with(Degree::Flat13),
        _ => chord.degrees(),
    };
    PcSet::of_degrees(chord.root.class(), degrees)
}

fn bass(chord: &Chord) -> PitchClass {
    chord.bass.unwrap_or(chord.root).class()
}

/// Points of root motion through a row of chords and on to the next.
fn motion(parts: &[TimedChord], next: &Chord) -> i32 {
    let from = parts.iter().map(|p| &p.chord);
    let to = from.clone().skip(1).chain([next]);
    from.zip(to)
        .map(|(a, b)| MOTIONS.get(usize::from(rise(a, b))).copied().unwrap_or(0))
        .sum()
}

/// The chords that sound at the same time, and for how many ticks.
fn overlaps<'a>(old: &'a [TimedChord], new: &'a [TimedChord]) -> Vec<(&'a Chord, &'a Chord, u32)> {
    let (mut a, mut b) = (old.iter(), new.iter());
    let mut found = Vec::new();
    let mut here = a.next().map(|p| (&p.chord, p.length_ticks));
    let mut there = b.next().map(|p| (&p.chord, p.length_ticks));
    while let (Some((one, left)), Some((other, left_there))) = (here, there) {
        let ticks = left.min(left_there);
        found.push((one, other, ticks));
        here = match left - ticks {
            0 => a.next().map(|p| (&p.chord, p.length_ticks)),
            rest => Some((one, rest)),
        };
        there = match left_there - ticks {
            0 => b.next().map(|p| (&p.chord, p.length_ticks)),
            rest => Some((other, rest)),
        };
    }
    found
}
