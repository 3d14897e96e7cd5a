//! The backdoor: bVII7 steps up to a major tonic, with or without iv before it, in the place of
//! V or of IV. Only `proposals` imports this.

use super::interval::step;
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::key::Mode;
use crate::quality::{ChordFamily, Quality};

const DOMINANT: (i8, Quality) = (step::FLAT_VII, Quality::Dominant);
const FOUR: (i8, Quality) = (step::IV, Quality::MinorSeventh);

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    if run.key.mode == Mode::Minor || !run.leads_home() {
        return;
    }
    let alone = run.of_the_key(&[DOMINANT]);
    let pair = run.of_the_key(&[FOUR, DOMINANT]);
    let ([seven], [four, _]) = (alone.as_slice(), pair.as_slice()) else {
        return;
    };
    let (new, next) = (*seven, *run.next);
    let steps = Reason::StepsUp { new, next };
    let name = Name::BackdoorTwoFive;
    let before = *four;
    let reason = Reason::PreparesStepUp { before, new, next };
    if let Some((_, five)) = run.two_five()
        && run.is(five, step::V, ChordFamily::Dominant)
    {
        let parts = run.in_place(&pair);
        run.offer(out, Substitution::Backdoor, name, parts, reason);
        return;
    }
    let on_four = |sort| run.one().filter(|c| run.is(c, step::IV, sort));
    if let Some(written) = on_four(ChordFamily::Minor) {
        let (name_alone, parts) = (Name::BackdoorDominant, run.in_place(&alone));
        run.offer(out, Substitution::Backdoor, name_alone, parts, steps);
        let before = *written;
        let reason = Reason::PreparesStepUp { before, new, next };
        let parts = run.divided(&[1, 1], &[before, new]);
        run.offer(out, Substitution::Backdoor, name, parts, reason);
    }
    if on_four(ChordFamily::Major).is_some() || on_four(ChordFamily::Dominant).is_some() {
        let parts = run.divided(&[1, 1], &pair);
        run.offer(out, Substitution::Backdoor, name, parts, reason);
    }
    let is_five = |sort| run.one().is_some_and(|c| run.is(c, step::V, sort));
    if is_five(ChordFamily::Dominant) || is_five(ChordFamily::Suspended) {
        let (name_alone, parts) = (Name::BackdoorDominant, run.in_place(&alone));
        run.offer(out, Substitution::Backdoor, name_alone, parts, steps);
        let parts = run.divided(&[1, 1], &pair);
        run.offer(out, Substitution::Backdoor, name, parts, reason);
    }
}
