//! The block chord for a melody note that is played now, without knowledge of the next one. The
//! audio thread runs it: it is bounded, and nothing allocates. Imports `offers` and `passing`.

use super::block::Block;
use super::cost;
use super::offers::{Draft, Harmony, each, made};
use super::passing::diminished;
use super::rule::{Rule, Why};
use super::style::Taste;
use crate::pitch::MidiNote;

/// A melody note that is struck.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Struck {
    /// The key.
    pub note: MidiNote,
    /// Whether it follows the one before so soon that it is part of a fast line.
    pub fast: bool,
}

impl Struck {
    /// A note that follows the one before after so many milliseconds, or is the first one. A line
    /// whose notes follow each other sooner than `single_under_ms` is left single.
    #[must_use]
    pub const fn after(note: MidiNote, after_ms: Option<u32>, single_under_ms: u32) -> Struck {
        let fast = match after_ms {
            Some(after) => after < single_under_ms,
            None => false,
        };
        Struck { note, fast }
    }
}

/// The block for a struck note, after the block that sounded last. A note that the chord bears
/// takes the chord, in the cheapest dressing. Any other takes a diminished seventh chord. A note
/// that is struck again over the same chord keeps what it has. Without a chord, and in a fast line,
/// the melody sounds alone. The work is bounded and nothing allocates.
#[must_use]
pub fn step(
    taste: &Taste,
    before: Option<&Block>,
    struck: Struck,
    harmony: Option<&Harmony>,
) -> Block {
    let Some(harmony) = harmony else {
        return Block::single(struck.note, Why::NoChord, None);
    };
    let chord = &harmony.placed.chord;
    // What sounded last over the same chord.
    let same_chord = before.filter(|b| b.chord == Some(*chord));
    let dressing = same_chord.and_then(|b| b.dressing);
    if struck.fast {
        return Block {
            dressing,
            ..Block::single(struck.note, Why::Fast, Some(chord))
        };
    }
    if let Some(again) = same_chord.filter(|b| repeats(b, struck.note, taste)) {
        return Block {
            rule: Rule::Repeated,
            ..*again
        };
    }
    let choices = harmony.choices(taste);
    let mut best: Option<(u32, Draft)> = None;
    each(taste, harmony, &choices, struck.note, |draft| {
        let moved = before.map_or(0, |b| {
            cost::between(&b.voicing, &draft.laid.voicing, &taste.weights)
        });
        let dressed = match dressing {
            Some(held) if draft.choice == held => 0,
            Some(_) => draft.dressing + taste.weights.redress,
            None => draft.dressing,
        };
        let price = draft.alone + moved + dressed;
        if best.is_none_or(|(least, _)| price < least) {
            best = Some((price, draft));
        }
    });
    let best = best.and_then(|(_, draft)| made(taste, harmony, &choices, &draft));
    match best {
        Some(offer) => offer.block,
        None => Block {
            dressing,
            ..diminished(taste.style, &harmony.placed, struck.note)
        },
    }
}

/// Whether a note is struck again, and has a chord to keep.
fn repeats(before: &Block, note: MidiNote, taste: &Taste) -> bool {
    let lies_so = before.asked == taste.style;
    before.melody() == Some(note) && !before.is_single() && lies_so
}
