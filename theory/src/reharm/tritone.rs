//! The tritone substitute: the dominant a tritone away has the same guide tones.

use super::run::{FALLS_A_FIFTH, FALLS_A_HALF_STEP, HALF_STEP_UP, Run, Sort, rise, step, text};
use super::{Kind, Proposal};
use crate::chord::Chord;
use crate::quality::Quality;

pub(super) const SUBSTITUTE: &str = "tritone substitute";

/// The dominant a half step above what the run leads to.
pub(super) fn substitute(run: &Run) -> Chord {
    Chord::new(run.along(run.next.root, HALF_STEP_UP), Quality::Dominant)
}

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    if Sort::of(chord) != Sort::Dominant || Sort::of(run.next) == Sort::Diminished {
        return;
    }
    let next = text(run.next);
    match rise(chord, run.next) {
        FALLS_A_FIFTH => {
            let new = substitute(run);
            let reason = format!(
                "{} has the guide tones of {} and falls a half step to {next}",
                text(&new),
                text(chord)
            );
            let whole = run.in_place(&[new]);
            run.offer(out, Kind::TritoneSubstitute, SUBSTITUTE, whole, reason);
            let name = "dominant, then its tritone substitute";
            let reason = format!("the bass slips from {} to {next}", text(chord));
            let halves = run.divided(&[1, 1], &[*chord, new]);
            run.offer(out, Kind::TritoneSubstitute, name, halves, reason);
        }
        FALLS_A_HALF_STEP => {
            let new = Chord::new(run.along(run.next.root, step::V), Quality::Dominant);
            let name = "dominant for its tritone substitute";
            let reason = format!("{} falls a fifth to {next}", text(&new));
            let whole = run.in_place(&[new]);
            run.offer(out, Kind::TritoneSubstitute, name, whole, reason);
        }
        _ => {}
    }
}
