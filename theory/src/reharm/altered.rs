//! Altered dominants: other tensions on the same root.

use super::run::{FALLS_A_FIFTH, FALLS_A_HALF_STEP, Run, Sort, rise, text};
use super::{Kind, Proposal};
use crate::chord::Chord;
use crate::degree::Degree::{self, Flat9, Flat13, Sharp9, Sharp11, Thirteen};
use crate::quality::Quality;

/// A colour by its name and what it writes.
type Row = (&'static str, &'static [Degree]);

pub(super) const FLAT_NINE: &str = "b9 and 13";
pub(super) const DARK: &str = "b9 and b13";

/// Common practice, no published source.
const TO_MAJOR: &[Row] = &[
    (FLAT_NINE, &[Flat9, Thirteen]),
    ("#11", &[Sharp11]),
    (DARK, &[Flat9, Flat13]),
];
const TO_MINOR: &[Row] = &[(DARK, &[Flat9, Flat13]), ("#9 and b13", &[Sharp9, Flat13])];
const BY_HALF_STEP: &[Row] = &[("#11", &[Sharp11])];

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    let coloured = chord.written.iter().any(Degree::is_altered);
    if chord.quality != Quality::Dominant || coloured || chord.upper.is_some() {
        return;
    }
    let (rows, way) = match (rise(chord, run.next), Sort::of(run.next)) {
        (FALLS_A_FIFTH, Sort::Minor | Sort::HalfDiminished) => (TO_MINOR, "falls a fifth to minor"),
        (FALLS_A_FIFTH, Sort::Major | Sort::Dominant) => (TO_MAJOR, "falls a fifth"),
        (FALLS_A_HALF_STEP, _) => (BY_HALF_STEP, "falls a half step"),
        _ => return,
    };
    let reason = |rest: &str| format!("{} {way}{rest}", text(chord));
    for (name, degrees) in rows {
        let mut new = Chord::new(chord.root, Quality::Dominant).with(degrees);
        new.bass = chord.bass;
        let parts = run.in_place(&[new.normal()]);
        let reason = reason(" and bears tensions that lead on");
        run.offer(out, Kind::AlteredDominant, name, parts, reason);
    }
    if rise(chord, run.next) == FALLS_A_FIFTH {
        let parts = run.in_place(&[Chord::new(chord.root, Quality::Altered)]);
        let reason = reason(", so all its tensions may be altered");
        run.offer(out, Kind::AlteredDominant, "altered", parts, reason);
    }
}
