//! Lays voices under a melody note in a style, as far as they lie high enough to sound clear.
//! Imports `style`.

use super::style::Style;
use crate::degree::{Degree, DegreeSet};
use crate::pitch::{MidiNote, PitchClass};
use crate::voicing::{Position, Voice, Voicing};
use tinyvec::ArrayVec;

/// The notes of a block chord, from the highest: the melody, three voices, and the melody doubled.
type Falling = ArrayVec<[Voice; 5]>;

/// Voices under a melody note.
#[derive(Clone, Copy, Debug)]
pub(super) struct Laid {
    pub voicing: Voicing,
    /// The style in which they lie.
    pub style: Style,
    /// How many voices are left out.
    pub left_out: u8,
}

/// Lays voices of these degrees over `root` directly below the melody, and spreads them in the
/// style. Low interval limits hold: where the style lies too low, four-way close takes its place.
/// Where that lies too low as well, one voice of each unclear pair is left out, a guide tone only
/// if both are guide tones or the other one is the melody.
pub(super) fn lay(
    style: Style,
    melody: Voice,
    below: &[Degree],
    root: PitchClass,
    guides: DegreeSet,
) -> Laid {
    let (close, missing) = close(melody, below, root);
    if style != Style::FourWayClose
        && missing == 0
        && close.len() > 1
        && let Some(spread) = spread(style, close)
        && let Some(voicing) = voicing(&spread, 1)
        && voicing.low_pairs().next().is_none()
    {
        return Laid {
            voicing,
            style,
            left_out: 0,
        };
    }
    let (voicing, left_out) = thinned(close, guides);
    Laid {
        voicing,
        style: Style::FourWayClose,
        left_out: left_out + missing,
    }
}

/// The melody and the voices directly below it, from the highest, and how many of them would lie
/// below the lowest MIDI note.
fn close(melody: Voice, below: &[Degree], root: PitchClass) -> (Falling, u8) {
    let mut falling = Falling::default();
    insert(&mut falling, melody);
    let mut missing = 0;
    for degree in below {
        let class = root.up(degree.interval().semitones);
        let down = match melody.note.class().above(class) {
            0 => 12,
            down => down,
        };
        match melody
            .note
            .number()
            .checked_sub(down)
            .and_then(MidiNote::new)
        {
            Some(note) => insert(
                &mut falling,
                Voice {
                    note,
                    degree: *degree,
                },
            ),
            None => missing += 1,
        }
    }
    (falling, missing)
}

/// Puts a voice in its place.
fn insert(falling: &mut Falling, voice: Voice) {
    let above = falling.iter().filter(|v| v.note > voice.note).count();
    let _full = falling.try_insert(above, voice);
}

/// Four-way close in another style. None if a voice would leave the range of MIDI.
fn spread(style: Style, mut close: Falling) -> Option<Falling> {
    let octave_lower = |voice: Voice| {
        let note = voice
            .note
            .number()
            .checked_sub(12)
            .and_then(MidiNote::new)?;
        Some(Voice { note, ..voice })
    };
    match style {
        Style::FourWayClose => {}
        // With two voices there is none between them and the melody.
        Style::DropTwo if close.len() < 3 => return None,
        Style::DropTwo => {
            let second = *close.get(1)?;
            close.retain(|voice| *voice != second);
            insert(&mut close, octave_lower(second)?);
        }
        Style::DoubleLead => {
            let doubled = octave_lower(*close.first()?)?;
            insert(&mut close, doubled);
        }
    }
    Some(close)
}

/// The voicing of these notes. None if two of them are one.
fn voicing(falling: &[Voice], left_hand: u8) -> Option<Voicing> {
    let mut voicing = Voicing::empty(Position::AsPlayed);
    voicing.left_hand = left_hand;
    for voice in falling.iter().rev() {
        if !voicing.push(voice.note, voice.degree) {
            return None;
        }
    }
    Some(voicing)
}

/// Four-way close without what lies too low, and how many voices are left out.
fn thinned(mut close: Falling, guides: DegreeSet) -> (Voicing, u8) {
    let mut left_out = 0;
    loop {
        let laid = voicing(&close, 0).unwrap_or_default();
        let Some((low, high)) = laid.low_pairs().next() else {
            return (laid, left_out);
        };
        let melody = laid.highest() == Some(high.note);
        let spared = !melody && guides.contains(low.degree) && !guides.contains(high.degree);
        let dropped = if spared { high } else { low };
        close.retain(|voice| *voice != dropped);
        left_out += 1;
    }
}
