//! The tritone substitute: the dominant a tritone away has the same guide tones. `related`,
//! `secondary` and `proposals` import this.

use super::interval::{FALLS_A_FIFTH, FALLS_A_HALF_STEP, HALF_STEP_UP, rise, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::quality::{ChordFamily, Quality};

/// The dominant a half step above the chord that the run leads to.
pub(super) fn substitute(run: &Run) -> Chord {
    run.chord(run.next.root, HALF_STEP_UP, Quality::Dominant)
}

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    if chord.quality.family() != ChordFamily::Dominant
        || run.next.quality.family() == ChordFamily::Diminished
    {
        return;
    }
    let (five, next) = (*chord, *run.next);
    match rise(chord, run.next) {
        FALLS_A_FIFTH => {
            let new = substitute(run);
            let reason = Reason::SameGuideTones { new, five, next };
            let whole = run.in_place(&[new]);
            let name = Name::Substitute;
            run.offer(out, Substitution::TritoneSubstitute, name, whole, reason);
            let name = Name::ThenSubstitute;
            let reason = Reason::FallsHalfStep { new, next };
            let halves = run.divided(&[1, 1], &[five, new]);
            run.offer(out, Substitution::TritoneSubstitute, name, halves, reason);
        }
        FALLS_A_HALF_STEP => {
            let new = run.chord(run.next.root, step::V, Quality::Dominant);
            let name = Name::ForSubstitute;
            let reason = Reason::FallsFifth { new, next };
            let whole = run.in_place(&[new]);
            run.offer(out, Substitution::TritoneSubstitute, name, whole, reason);
        }
        _ => {}
    }
}
