//! The lines of a score that can be its melody: the staves of its parts. Imports `document`, `tree`
//! and `melodies`.

use super::document::Part;
use super::tree::Element;
use crate::melodies::Line;
use guidehand_theory::pitch::{Letter, MidiNote, NoteName};
use std::collections::BTreeMap;

/// A staff with notes.
pub struct Stave {
    /// The part, as an index.
    pub part: usize,
    /// Its number in the part, from 1.
    pub number: i64,
    /// What it is called, and what is on it.
    pub line: Line,
}

/// The staves that have notes, in the order of the score. A part's first one has the name of the
/// part. `with_symbols` is the part whose chords are read.
pub fn of(parts: &[Part], with_symbols: Option<usize>) -> Vec<Stave> {
    let mut staves = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        let mut lines: BTreeMap<i64, Line> = BTreeMap::new();
        let measures = part.measures.iter();
        let notes = measures
            .flat_map(|measure| measure.content.children("note"))
            .filter(|note| is_of_line(note));
        for note in notes {
            let Some((_, half_steps)) = pitch(note) else {
                continue;
            };
            let line = lines.entry(staff(note)).or_default();
            line.notes += 1;
            line.below += usize::from(note.child("chord").is_some());
            line.keys += u64::try_from(half_steps).unwrap_or(0);
        }
        for (nth, (number, line)) in lines.into_iter().enumerate() {
            let name = match nth {
                0 => part.name.clone(),
                _ => format!("{}, staff {number}", part.name),
            };
            staves.push(Stave {
                part: index,
                number,
                line: Line {
                    name,
                    has_symbols: nth == 0 && with_symbols == Some(index),
                    ..line
                },
            });
        }
    }
    staves
}

/// The number of the staff that a note or rest stands on, from 1.
pub fn staff(note: &Element) -> i64 {
    note.number("staff").unwrap_or(1)
}

/// Whether a note has a time of its own and is to be played.
pub fn is_of_line(note: &Element) -> bool {
    note.child("grace").is_none() && note.child("cue").is_none()
}

/// The written pitch of a note: its name, and half steps from the lowest key of MIDI. None for a
/// rest, and where there is no such pitch.
pub fn pitch(note: &Element) -> Option<(NoteName, i32)> {
    let pitch = note.child("pitch")?;
    let mut letters = pitch.child("step")?.text().chars();
    let letter = Letter::from_char(letters.next()?).filter(|_| letters.next().is_none())?;
    let alter = pitch.child("alter").map_or(Some(0), |alter| {
        let text = alter.text();
        text.strip_suffix(".0").unwrap_or(text).parse().ok()
    });
    let alter: i8 = alter.filter(|alter: &i8| alter.abs() <= 2)?;
    let octave = i32::try_from(pitch.number("octave")?).ok()?;
    let of_octave = octave.checked_add(1)?.checked_mul(12)?;
    let natural = i32::from(NoteName::new(letter, 0).class().number());
    let half_steps = of_octave.checked_add(natural + i32::from(alter))?;
    let lowest_and_highest = -24..=i32::from(MidiNote::MAX.number()) + 24;
    lowest_and_highest
        .contains(&half_steps)
        .then_some((NoteName::new(letter, alter), half_steps))
}
