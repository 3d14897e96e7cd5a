//! Secondary dominants: a chord gives part of its time, or all of it, to the dominant of the
//! chord that follows. Imports `related` and `tritone`; `chain` and `proposals` import this.

use super::interval::{FALLS_A_FIFTH, FALLS_A_HALF_STEP, rise, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::related::two;
use super::run::Run;
use super::substitution::Substitution;
use super::tritone::substitute;
use crate::chord::Chord;
use crate::quality::{ChordFamily, Quality};

/// Whether a dominant may lead to the chord.
pub(super) fn is_target(chord: &Chord) -> bool {
    !matches!(
        chord.quality.family(),
        ChordFamily::Diminished | ChordFamily::HalfDiminished
    )
}

/// The dominant of the chord that the run leads to.
fn dominant(run: &Run) -> Chord {
    run.chord(run.next.root, step::V, Quality::Dominant)
}

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    let motion = rise(chord, run.next);
    let leads = matches!(motion, FALLS_A_FIFTH | FALLS_A_HALF_STEP)
        && matches!(
            chord.quality.family(),
            ChordFamily::Dominant | ChordFamily::Suspended
        );
    if leads || motion == 0 || !is_target(run.next) {
        return;
    }
    let next = *run.next;
    let five = dominant(run);
    let to = Reason::LeadsTo { new: five, next };
    let halves = run.divided(&[1, 1], &[*chord, five]);
    let name = if run.leads_home() {
        Name::BeforeTonic
    } else {
        Name::BeforeNext
    };
    run.offer(out, Substitution::SecondaryDominant, name, halves, to);
    if motion == FALLS_A_FIFTH {
        let name = Name::OnTheSameRoot;
        run.offer(
            out,
            Substitution::SecondaryDominant,
            name,
            run.in_place(&[five]),
            to,
        );
    }
    let before = two(run, &five, run.leads_to_minor());
    let name = Name::TwoFiveBeforeNext;
    let reason = Reason::TwoFiveLeads {
        two: before,
        five,
        next,
    };
    let parts = run.divided(&[2, 1, 1], &[*chord, before, five]);
    run.offer(out, Substitution::SecondaryDominant, name, parts, reason);
    let new = substitute(run);
    let reason = Reason::FallsHalfStep { new, next };
    let is_minor = matches!(
        chord.quality.family(),
        ChordFamily::Minor | ChordFamily::HalfDiminished
    );
    if motion == FALLS_A_FIFTH && is_minor {
        let name = Name::SubstituteForChord;
        let parts = run.in_place(&[new]);
        run.offer(out, Substitution::SecondaryDominant, name, parts, reason);
    }
    let name = Name::SubstituteBeforeNext;
    let parts = run.divided(&[1, 1], &[*chord, new]);
    run.offer(out, Substitution::SecondaryDominant, name, parts, reason);
}
