//! Suspended dominants: the fourth waits, or ii and V sound as one chord.

use super::run::{FALLS_A_FIFTH, Run, Sort, rise, text};
use super::{Kind, Proposal};
use crate::chord::Chord;
use crate::degree::Degree;
use crate::quality::Quality;

/// V7sus4, dark where minor follows.
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
        let (ii, v) = (text(two), text(five));
        let sus = suspended(five, run);
        let name = "sus for ii-V";
        let reason = format!("{} holds {ii} over the root of {v}", text(&sus));
        run.offer(out, Kind::Suspension, name, run.joined(sus), reason);
        let name = "sus, then V, for ii-V";
        let reason = format!("the fourth of {} falls to the third of {v}", text(&sus));
        let parts = run.in_place(&[sus, *five]);
        run.offer(out, Kind::Suspension, name, parts, reason);
        if two.upper.is_none() {
            let mut slash = *two;
            slash.bass = Some(five.root);
            let name = "ii over the root of V";
            let reason = format!("{} sounds as {}", text(&slash), text(&sus));
            run.offer(out, Kind::Suspension, name, run.joined(slash), reason);
        }
    }
    let Some(five) = run.one().filter(|c| Sort::of(c) == Sort::Dominant) else {
        return;
    };
    let sus = suspended(five, run);
    let reason = format!("the fourth of {} falls to the third", text(&sus));
    let parts = run.divided(&[1, 1], &[sus, *five]);
    run.offer(out, Kind::Suspension, "sus before its V", parts, reason);
    let reason = format!("{} keeps the third open", text(&sus));
    let parts = run.in_place(&[sus]);
    run.offer(out, Kind::Suspension, "sus for V", parts, reason);
}
