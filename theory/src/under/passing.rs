//! Passing chords: diminished seventh chords, and the next chord a half step off. Imports `block`
//! and `lay`.

use super::block::Block;
use super::lay::lay;
use super::rule::{Dominant, Rule, Side, Why};
use super::style::Style;
use crate::degree::Degree::{self, DoubleFlat7, Flat3, Flat5, Root};
use crate::degree::DegreeSet;
use crate::pipeline::ChordInKey;
use crate::pitch::{MidiNote, NoteName, PitchClass};
use crate::voicing::Voice;
use tinyvec::ArrayVec;

const TONES: [Degree; 4] = [Root, Flat3, Flat5, DoubleFlat7];

/// The dominant to which the diminished seventh chord on a note belongs, if the key's or the
/// chord's own dominant does. It is that dominant's seventh chord with b9, without the root, so it
/// stands on the leading tone.
pub(super) fn dominant(placed: &ChordInKey, class: PitchClass) -> Option<(Dominant, NoteName)> {
    let key = placed.function.key;
    let to_key = key.name(key.tonic.class().up(-1));
    let to_chord = Degree::Seven.over(placed.chord.root);
    let holds = |leading: NoteName| class.above(leading.class()).is_multiple_of(3);
    if holds(to_key) {
        Some((Dominant::Key, to_key))
    } else if holds(to_chord) {
        Some((Dominant::Chord, to_chord))
    } else {
        None
    }
}

/// The diminished seventh chord under a melody note: that of the key's dominant if it holds the
/// note, or else that of the chord's own dominant, or else the same shape a half step off. There is
/// one for every note. Nothing allocates.
#[must_use]
pub fn diminished(style: Style, placed: &ChordInKey, melody: MidiNote) -> Block {
    let class = melody.class();
    let (root, rule) = match dominant(placed, class) {
        Some((of, root)) => (root, Rule::Diminished(of)),
        // As the chord on the leading tone of the note above: #i° over C sharp.
        None => {
            let above = placed.function.key.name(class.up(1));
            (Degree::Seven.over(above).readable(), Rule::DiminishedOff)
        }
    };
    let above = class.above(root.class());
    let at = usize::from(above / 3);
    let degree = TONES.get(at).copied().unwrap_or(Root);
    let voice = Voice {
        note: melody,
        degree,
    };
    let below: ArrayVec<[Degree; 4]> = TONES.into_iter().filter(|d| *d != degree).collect();
    passing(style, voice, &below, root, rule, placed)
}

/// The chord of the next note moved a half step to this side, under a melody note that is as far
/// from that one. None if the next melody sounds alone, or if the note leaves the range of MIDI.
/// Nothing allocates.
#[must_use]
pub fn approach(next: &Block, side: Side, placed: &ChordInKey) -> Option<Block> {
    let melody = *next.voicing.voices().last()?;
    if next.is_single() {
        return None;
    }
    let half_step = side.half_steps();
    let note = melody.note.semitones() + i32::from(half_step);
    let note = u8::try_from(note).ok().and_then(MidiNote::new)?;
    let class = next.root?.class().up(half_step);
    let root = placed.function.key.name(class);
    let mut below: ArrayVec<[Degree; 4]> = ArrayVec::default();
    for voice in next.voicing.voices() {
        if voice.degree != melody.degree {
            let _full = below.try_push(voice.degree);
        }
    }
    let voice = Voice { note, ..melody };
    let mut block = passing(
        next.style,
        voice,
        &below,
        root,
        Rule::Approach(side),
        placed,
    );
    block.instead = next.instead;
    let sounding = block.voicing.degrees();
    block.instead.retain(|r| sounding.contains(r.by));
    block.left_out += next.left_out;
    block.asked = next.asked;
    Some(block)
}

fn passing(
    style: Style,
    melody: Voice,
    below: &[Degree],
    root: NoteName,
    rule: Rule,
    placed: &ChordInKey,
) -> Block {
    let laid = lay(style, melody, below, root.class(), DegreeSet::EMPTY);
    let alone = laid.voicing.voices().len() < 2;
    Block {
        voicing: laid.voicing,
        root: Some(root),
        style: laid.style,
        asked: style,
        rule: if alone {
            Rule::Single(Why::TooLow)
        } else {
            rule
        },
        left_out: laid.left_out,
        chord: Some(placed.chord),
        ..Block::default()
    }
}
