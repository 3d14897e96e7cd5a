//! Extended dominants: each is the dominant of the next one. The roots fall by fifths, or by
//! half steps if every second dominant is substituted. Imports `secondary`; only `proposals`
//! imports this.

use super::interval::{FALLS_A_FIFTH, HALF_STEP_UP, rise, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::secondary::is_target;
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::quality::{ChordFamily, Quality};

/// A tritone as fifths.
const TRITONE: i8 = 6;

/// Dominants before the chord that the run leads to, each `fifths` along the line of fifths
/// from its goal.
fn chain(run: &Run, count: usize, fifths: i8) -> Vec<Chord> {
    let mut chords = Vec::with_capacity(count);
    let mut root = run.next.root;
    for _ in 0..count {
        root = run.chord(root, fifths, Quality::Dominant).root;
        // A tritone from the tonic has one name in chains of both sorts: F#7 in C, as it falls
        // to B7. Only the substitute before the goal keeps its flat.
        let far = root.fifths() - run.key.tonic.fifths() == -TRITONE;
        if far && !chords.is_empty() {
            root = root.along_fifths(2 * TRITONE).readable();
        }
        chords.push(Chord::new(root, Quality::Dominant));
    }
    chords.reverse();
    chords
}

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    if !is_target(run.next) {
        return;
    }
    if run.chords.len() >= 3 {
        falling(run, out);
    }
    let Some(chord) = run.one() else {
        return;
    };
    let leads =
        chord.quality.family() == ChordFamily::Dominant && rise(chord, run.next) == FALLS_A_FIFTH;
    if leads || rise(chord, run.next) == 0 {
        return;
    }
    let next = *run.next;
    for (name, weights, fifths) in [
        (Name::TwoByFifths, &[2, 1, 1][..], step::V),
        (Name::ThreeByFifths, &[1, 1, 1, 1], step::V),
        (Name::TwoByHalfSteps, &[2, 1, 1], HALF_STEP_UP),
        (Name::ThreeByHalfSteps, &[1, 1, 1, 1], HALF_STEP_UP),
    ] {
        let mut chords = chain(run, weights.len() - 1, fifths);
        chords.insert(0, *chord);
        run.offer(
            out,
            Substitution::Chain,
            name,
            run.divided(weights, &chords),
            Reason::EachLeads { next },
        );
    }
}

/// Turns chords whose roots already fall by fifths into dominants.
fn falling(run: &Run, out: &mut Vec<Proposal>) {
    let after = run.chords.iter().skip(1).chain([run.next]);
    let mut pairs = run.chords.iter().zip(after);
    if !pairs.all(|(a, b)| rise(a, b) == FALLS_A_FIFTH) {
        return;
    }
    let next = *run.next;
    let fifths = chain(run, run.chords.len(), step::V);
    let reason = Reason::RootsFallByFifths { next };
    let parts = run.in_place(&fifths);
    run.offer(out, Substitution::Chain, Name::ByFifths, parts, reason);
    let steps = chain(run, run.chords.len(), HALF_STEP_UP);
    let reason = Reason::RootsFallByHalfSteps { next };
    let parts = run.in_place(&steps);
    run.offer(out, Substitution::Chain, Name::ByHalfSteps, parts, reason);
}
