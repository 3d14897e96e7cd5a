//! Approaches by step: the next chord's own shape a half step off, or the chords of the key
//! between two roots. Only `proposals` imports this.

use super::interval::{FALLS_A_FIFTH, FALLS_A_HALF_STEP, HALF_STEP_DOWN, HALF_STEP_UP, rise, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::quality::ChordFamily;
use crate::quality::Quality::{self, Dominant, HalfDiminished, MajorSeventh, MinorSeventh};

/// The chords of a key, by step.
type ScaleRow = [(i8, Quality); 7];

const IN_MAJOR: &[ScaleRow] = &[[
    (step::I, MajorSeventh),
    (step::II, MinorSeventh),
    (step::III, MinorSeventh),
    (step::IV, MajorSeventh),
    (step::V, Dominant),
    (step::VI, MinorSeventh),
    (step::VII, HalfDiminished),
]];
const IN_MINOR: &[ScaleRow] = &[[
    (step::I, MinorSeventh),
    (step::II, HalfDiminished),
    (step::FLAT_III, MajorSeventh),
    (step::IV, MinorSeventh),
    (step::V, MinorSeventh),
    (step::FLAT_VI, MajorSeventh),
    (step::FLAT_VII, Dominant),
]];

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    let rests = match chord.quality.family() {
        ChordFamily::Major | ChordFamily::Minor => true,
        ChordFamily::Dominant => {
            !matches!(rise(chord, run.next), FALLS_A_FIFTH | FALLS_A_HALF_STEP)
        }
        _ => false,
    };
    if !rests {
        return;
    }
    if matches!(
        run.next.quality.family(),
        ChordFamily::Major | ChordFamily::Minor
    ) {
        beside(run, chord, out);
    }
    walk(run, chord, out);
}

/// The shape of the next chord, a half step above or below it.
fn beside(run: &Run, chord: &Chord, out: &mut Vec<Proposal>) {
    let next = *run.next;
    for (name, fifths) in [
        (Name::ApproachFromAbove, HALF_STEP_UP),
        (Name::ApproachFromBelow, HALF_STEP_DOWN),
    ] {
        let new = run.chord(next.root, fifths, next.quality);
        if rise(chord, &new) == 0 || rise(chord, &next) == 0 {
            continue;
        }
        let parts = run.divided(&[1, 1], &[*chord, new]);
        let reason = Reason::HalfStepBeside { new, next };
        run.offer(out, Substitution::Approach, name, parts, reason);
    }
}

/// The chords of the key between a chord of the key and one that stands a third or a fourth
/// away.
fn walk(run: &Run, chord: &Chord, out: &mut Vec<Proposal>) {
    let [scale] = run.by_mode(IN_MAJOR, IN_MINOR) else {
        return;
    };
    let scale = run.of_the_key(scale);
    let place = |chord: &Chord| {
        let here = |c: &Chord| {
            c.root.class() == chord.root.class() && c.quality.family() == chord.quality.family()
        };
        scale.iter().position(here)
    };
    let (Some(from), Some(to)) = (place(chord), place(run.next)) else {
        return;
    };
    let count = scale.len();
    let up = (to + count - from) % count;
    let (name, steps, by) = match up {
        2 | 3 => (Name::WalkUp, up, 1),
        4 | 5 => (Name::WalkDown, count - up, count - 1),
        _ => return,
    };
    let between = (1..steps).filter_map(|i| scale.get((from + i * by) % count));
    let chords: Vec<Chord> = [*chord].iter().chain(between).copied().collect();
    let weights: &[u32] = if steps == 2 { &[1, 1] } else { &[2, 1, 1] };
    let parts = run.divided(weights, &chords);
    let reason = Reason::StepsThroughKey { next: *run.next };
    run.offer(out, Substitution::Approach, name, parts, reason);
}
