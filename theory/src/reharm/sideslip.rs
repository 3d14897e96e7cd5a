//! The side-slip: a ii-V, or a minor chord at rest, a half step off and back. Imports
//! `related`; only `proposals` imports this.

use super::interval::{HALF_STEP_DOWN, HALF_STEP_UP, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::related::foreign;
use super::run::Run;
use super::substitution::Substitution;
use crate::quality::ChordFamily;

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    if let Some((two, five)) = run.two_five() {
        for (from, out_and_back, fifths) in [
            (Name::SlipFromAbove, Name::SlipAboveAndBack, HALF_STEP_UP),
            (Name::SlipFromBelow, Name::SlipBelowAndBack, HALF_STEP_DOWN),
        ] {
            let [a, b] = foreign(run, five.root.along_fifths(fifths));
            let reason = Reason::BesideKey { two: a, five: b };
            let parts = run.divided(&[1, 1, 1, 1], &[a, b, *two, *five]);
            run.offer(out, Substitution::SideSlip, from, parts, reason);
            let there = [*two, *five, a, b, *two, *five];
            let parts = run.divided(&[2, 2, 1, 1, 1, 1], &there);
            run.offer(out, Substitution::SideSlip, out_and_back, parts, reason);
        }
    }
    let Some(chord) = run
        .one()
        .filter(|c| c.quality.family() == ChordFamily::Minor)
    else {
        return;
    };
    // Spelled as the ii of the dominant a fifth below it.
    let [new, _] = foreign(run, chord.root.along_fifths(HALF_STEP_UP + step::IV));
    let reason = Reason::AboveAndBack { new };
    let parts = run.divided(&[2, 1, 1], &[*chord, new, *chord]);
    let name = Name::SlipOnMinor;
    run.offer(out, Substitution::SideSlip, name, parts, reason);
}
