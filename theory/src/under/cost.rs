//! What a block chord costs, in integers. Imports `block`.

use super::block::Block;
use crate::pitch::MidiNote;

/// The price of each rule. A semitone of motion costs ten.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weights {
    /// For each semitone that a voice below the melody moves.
    pub motion: u32,
    /// For the second choice of tensions. The third adds twice as much, the fourth three times as
    /// much.
    pub rank: u32,
    /// For each step from the degree that a slot takes first.
    pub option: u32,
    /// For each chord tone that finds no place, because it would lie a half step under the melody.
    pub without: u32,
    /// For a voice a half step above the doubled melody.
    pub under_its_neighbour: u32,
    /// For a #9 that lies a half step below the third.
    pub sharp_nine_inside: u32,
    /// For other tensions than before over the same chord, in a single step.
    pub redress: u32,
    /// For a melody note that is another tension than its dressing has.
    pub against_dressing: u32,
    /// For each voice that is left out because it would lie too low.
    pub left_out: u32,
    /// For another style than was asked for.
    pub other_style: u32,
}

impl Weights {
    /// The weights that ship.
    pub const DEFAULT: Weights = Weights {
        motion: 10,
        rank: 30,
        option: 25,
        without: 60,
        under_its_neighbour: 40,
        sharp_nine_inside: 15,
        redress: 100,
        against_dressing: 300,
        left_out: 60,
        other_style: 30,
    };
}

impl Default for Weights {
    fn default() -> Weights {
        Weights::DEFAULT
    }
}

/// What a block costs by its notes alone.
pub(super) fn of_notes(block: &Block, weights: &Weights) -> u32 {
    let notes = block.voicing.voices();
    let doubled = match notes {
        [low, next, ..] if block.melody().is_some_and(|m| m.class() == low.note.class()) => {
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
    let apart = |(a, b): (MidiNote, MidiNote)| {
        u32::from(a.number().abs_diff(b.number()))
    };
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
