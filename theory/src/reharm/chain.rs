//! Extended dominants: each is the dominant of the next, by fifths or, with
//! every second one substituted, by half steps.

use super::run::{FALLS_A_FIFTH, HALF_STEP_UP, Run, Sort, rise, step, text};
use super::secondary::is_target;
use super::{Kind, Proposal};
use crate::chord::Chord;
use crate::quality::Quality;

pub(super) const OF_TWO: &str = "two dominants by fifths";

/// Dominants before what the run leads to, each one `fifths` along from its goal.
fn chain(run: &Run, count: usize, fifths: i8) -> Vec<Chord> {
    let mut chords = Vec::with_capacity(count);
    let mut root = run.next.root;
    for _ in 0..count {
        root = run.along(root, fifths);
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
    let leads = Sort::of(chord) == Sort::Dominant && rise(chord, run.next) == FALLS_A_FIFTH;
    if leads || rise(chord, run.next) == 0 {
        return;
    }
    let next = text(run.next);
    for (name, weights, fifths) in [
        (OF_TWO, &[2, 1, 1][..], step::V),
        ("three dominants by fifths", &[1, 1, 1, 1], step::V),
        ("two dominants by half steps", &[2, 1, 1], HALF_STEP_UP),
        ("three dominants by half steps", &[1, 1, 1, 1], HALF_STEP_UP),
    ] {
        let mut chords = chain(run, weights.len() - 1, fifths);
        chords.insert(0, *chord);
        let reason = format!("each dominant leads to the next one, the last to {next}");
        run.offer(
            out,
            Kind::Chain,
            name,
            run.divided(weights, &chords),
            reason,
        );
    }
}

/// Chords whose roots fall by fifths already, turned into dominants.
fn falling(run: &Run, out: &mut Vec<Proposal>) {
    let after = run.chords.iter().skip(1).chain([run.next]);
    let mut pairs = run.chords.iter().zip(after);
    if !pairs.all(|(a, b)| rise(a, b) == FALLS_A_FIFTH) {
        return;
    }
    let next = text(run.next);
    let fifths = chain(run, run.chords.len(), step::V);
    let reason = format!("the roots fall by fifths to {next}, so each may be a dominant");
    let parts = run.in_place(&fifths);
    run.offer(out, Kind::Chain, "dominants by fifths", parts, reason);
    let steps = chain(run, run.chords.len(), HALF_STEP_UP);
    let reason =
        format!("every second dominant substituted: the roots fall by half steps to {next}");
    let parts = run.in_place(&steps);
    run.offer(out, Kind::Chain, "dominants by half steps", parts, reason);
}
