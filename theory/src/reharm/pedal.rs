//! Pedals: one bass note under all selected chords. Only `proposals` imports this.

use super::interval::{is_tonic, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::chord::Chord;

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let plain = run.chords.iter().all(|c| c.upper.is_none());
    if !run.whole || run.chords.len() < 2 || !run.one_key || !plain {
        return;
    }
    let ends_home = run.chords.last().is_some_and(|c| is_tonic(c, run.key));
    for (name, step) in [(Name::DominantPedal, step::V), (Name::TonicPedal, step::I)] {
        // A dominant pedal leads home and does not lie under the tonic at its end.
        if ends_home && name == Name::DominantPedal {
            continue;
        }
        let bass = run.degree(step);
        let over = |chord: &Chord| Chord {
            bass: (chord.root.class() != bass.class()).then_some(bass),
            ..*chord
        };
        let chords: Vec<Chord> = run.chords.iter().map(over).collect();
        let reason = Reason::StaysInBass { bass };
        run.offer(
            out,
            Substitution::Pedal,
            name,
            run.in_place(&chords),
            reason,
        );
    }
}
