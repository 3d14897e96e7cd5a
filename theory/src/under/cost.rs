//! What a block chord costs, in integers. Imports `lay` and `weights`.

use super::lay::Laid;
use super::style::Style;
use super::weights::Weights;
use crate::pitch::MidiNote;
use crate::voicing::Voicing;

/// What a block costs by its notes alone, where this style was asked for.
pub(super) fn of_notes(laid: &Laid, asked: Style, weights: &Weights) -> u32 {
    let voicing = &laid.voicing;
    let under_its_neighbour = match voicing.voices() {
        [low, next, ..] if voicing.span() == 12 => next.note.number() == low.note.number() + 1,
        _ => false,
    };
    weights.under_its_neighbour * u32::from(under_its_neighbour)
        + weights.sharp_nine_inside * u32::from(voicing.sharp_nine_inside())
        + weights.left_out * u32::from(laid.left_out)
        + weights.other_style * u32::from(laid.style != asked)
}

/// What it costs to go from one block to the next: the motion of the voices below the melody. From
/// and to a melody that sounds alone it costs nothing.
#[must_use]
pub fn between(from: &Voicing, to: &Voicing, weights: &Weights) -> u32 {
    let apart = |(a, b): (MidiNote, MidiNote)| u32::from(a.number().abs_diff(b.number()));
    let (a, b) = (below(from), below(to));
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

/// The voices below the melody, from the lowest.
fn below(block: &Voicing) -> impl ExactSizeIterator<Item = MidiNote> + Clone + '_ {
    block.notes().take(block.voices().len().saturating_sub(1))
}
