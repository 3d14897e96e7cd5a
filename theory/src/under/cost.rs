//! What a block chord costs, in integers. Imports `block` and
//! `weights`.

use super::block::Block;
use super::weights::Weights;
use crate::pitch::MidiNote;

/// What a block costs by its notes alone.
pub(super) fn of_notes(block: &Block, weights: &Weights) -> u32 {
    let notes = block.voicing.voices();
    let doubled = match notes {
        [low, next, ..]
            if block
                .melody()
                .is_some_and(|m| m.class() == low.note.class()) =>
        {
            next.note.number() == low.note.number() + 1
        }
        _ => false,
    };
    weights.under_its_neighbour * u32::from(doubled)
        + weights.sharp_nine_inside * u32::from(block.voicing.sharp_nine_inside())
        + weights.left_out * u32::from(block.left_out)
}

/// What it costs to go from one block to the next: the motion of the voices below the melody. From
/// and to a melody that sounds alone it costs nothing.
#[must_use]
pub fn between(from: &Block, to: &Block, weights: &Weights) -> u32 {
    let apart = |(a, b): (MidiNote, MidiNote)| u32::from(a.number().abs_diff(b.number()));
    let (a, b) = (from.below(), to.below());
    let moved: u32 = if a.len() == 0 || b.len() == 0 {
        0
    } else if a.len() == b.len() {
        a.zip(b).map(apart).sum()
    } else {
        let (small, large) = if a.len() < b.len() { (a, b) } else { (b, a) };
        let nearest = |note| small.clone().map(|other| apart((note, other))).min();
        large.map(|note| nearest(note).unwrap_or(0)).sum()
    };
    weights.motion * moved
}
