//! Suspended dominants: the fourth delays the third, or ii and V sound as one chord. Only
//! `proposals` imports this.

use super::interval::{FALLS_A_FIFTH, rise};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::degree::Degree;
use crate::quality::{ChordFamily, Extent, Quality};

/// Semitones over the root of a suspended dominant that it may hold: 1 b9 9 4 5 13 b7.
const HELD: [u8; 7] = [0, 1, 2, 5, 7, THIRTEENTH, 10];
const THIRTEENTH: u8 = 9;

/// What the ii states, in semitones over the root of its V.
fn notes_over(two: &Chord, five: &Chord) -> Vec<u8> {
    let degrees = two.degrees();
    let classes = degrees.iter().map(|d| d.class(two.root));
    classes.map(|c| c.above(five.root.class())).collect()
}

/// V7sus4, with b9 before a minor chord.
fn suspended(five: &Chord, run: &Run) -> Chord {
    let sus = Chord::new(five.root, Quality::DominantSuspended);
    if rise(five, run.next) == FALLS_A_FIFTH && run.leads_to_minor() {
        sus.with(&[Degree::Flat9])
    } else {
        sus
    }
}

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    if let Some((two, five)) = run.two_five() {
        let (two, five) = (*two, *five);
        let mut sus = suspended(&five, run);
        let over = notes_over(&two, &five);
        if over.contains(&THIRTEENTH) {
            sus = sus.extended(Extent::Thirteenth);
        }
        let name = Name::SusForTwoFive;
        let held = over.iter().all(|up| HELD.contains(up));
        let reason = if held {
            Reason::HoldsOver { sus, two, five }
        } else {
            Reason::KeepsThirdOpen { sus }
        };
        run.offer(out, Substitution::Suspension, name, run.joined(sus), reason);
        let name = Name::SusThenFive;
        let reason = Reason::FourthFallsToThirdOf { sus, five };
        let parts = run.in_place(&[sus, five]);
        run.offer(out, Substitution::Suspension, name, parts, reason);
        if held && two.upper.is_none() {
            let mut slash = two;
            slash.bass = Some(five.root);
            let name = Name::TwoOverFive;
            let reason = Reason::SoundsAs { slash, sus };
            run.offer(
                out,
                Substitution::Suspension,
                name,
                run.joined(slash),
                reason,
            );
        }
    }
    let Some(five) = run
        .one()
        .filter(|c| c.quality.family() == ChordFamily::Dominant)
    else {
        return;
    };
    let sus = suspended(five, run);
    let reason = Reason::FourthFalls { sus };
    let parts = run.divided(&[1, 1], &[sus, *five]);
    run.offer(
        out,
        Substitution::Suspension,
        Name::SusBeforeFive,
        parts,
        reason,
    );
    let reason = Reason::KeepsThirdOpen { sus };
    let parts = run.in_place(&[sus]);
    run.offer(
        out,
        Substitution::Suspension,
        Name::SusForFive,
        parts,
        reason,
    );
}
