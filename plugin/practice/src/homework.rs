//! Homework: a performance that was recorded over a chart, judged chord by chord. Imports the theory.
//!
//! The beats of the file are taken as they are. A chord is judged on its first strike: on the notes
//! that are struck together or one after the other, and on those that the hand holds on from before.
//! What the pedal holds does not count, but while it sounds, a chord that lacks notes may be
//! completed. A strike of fewer than half the notes that are asked for is passed over where a fuller
//! one follows. A chord that is not struck is right if the degrees that are asked for are held on from
//! before.

mod follow;
mod hands;
mod keys;
mod mark;
mod place;
mod strikes;
mod ways;

pub use keys::{AskedChord, ON_TIME_TICKS, PlayedKey};
pub use mark::{Answer, Later, Marked, Struck};
pub use ways::{RightHand, Ways};

use guidehand_theory::chart::Chart;
use guidehand_theory::judge::Question;
use guidehand_theory::pitch::MidiNote;

/// Homework that has been judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Homework {
    /// The tick of the file at which the chart begins.
    pub start_ticks: u32,
    /// The note from which on the right hand plays; none if no right hand was found.
    pub split: Option<MidiNote>,
    /// The chords in the order in which they are asked for, without silence.
    pub chords: Vec<Marked>,
    /// How many strikes come before the chart or after its end.
    pub beside: usize,
}

/// Judges what was played over a chart. There is one question for each of its changes, none where
/// silence is written. The keys may come in any order.
#[must_use]
pub fn judge(
    chart: &Chart,
    questions: &[Option<Question>],
    keys: &[PlayedKey],
    ways: &Ways,
) -> Homework {
    let mut keys = in_order(keys);
    let split = match ways.right_hand {
        RightHand::From(note) => Some(note),
        RightHand::Found => hands::split(&keys, most_notes(questions)),
    };
    keys.retain(|key| split.is_none_or(|split| key.note < split));
    let strikes = strikes::strikes(&keys);
    let start = ways.start_ticks;
    let start_ticks = start.unwrap_or_else(|| place::start(chart, questions, &strikes));
    let asked = place::rounds(chart, questions, start_ticks, &strikes);
    let owners = follow::follow(&strikes, &asked);
    Homework {
        start_ticks,
        split,
        chords: mark::all(&asked, &strikes, &owners, &keys, ways),
        beside: owners.iter().filter(|owner| owner.is_none()).count(),
    }
}

/// How many strikes are chords: two thirds of so many notes, or more, and two at least. It tells
/// which of several parts plays the chords. The keys may come in any order.
#[must_use]
pub fn chords_in(keys: &[PlayedKey], chord_notes: usize) -> usize {
    let strikes = strikes::strikes(&in_order(keys));
    let enough = (2 * chord_notes).div_ceil(3).max(2);
    let chords = strikes.iter().filter(|strike| strike.keys.len() >= enough);
    chords.count()
}

/// The keys in the order in which they are struck, those that are struck together from the lowest.
fn in_order(keys: &[PlayedKey]) -> Vec<PlayedKey> {
    let mut keys = keys.to_vec();
    keys.sort_by_key(|key| (key.start_ticks, key.note));
    keys
}

/// The most notes of a chord that is asked for.
fn most_notes(questions: &[Option<Question>]) -> usize {
    let questions = questions.iter().flatten();
    let notes = questions.map(|question| question.voiced.voicing.voices().len());
    notes.max().unwrap_or(0)
}

#[cfg(test)]
mod tests;
