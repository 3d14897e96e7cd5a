//! The ways to dress a chord, in words. Pure; the panel's thread. The region of the chord in hand
//! imports it.

use super::notes::{NoteKind, kind};
use super::signs::{note_name, symbol, with_signs, words};
use crate::editor::model::dressings::sounding;
use guidehand_theory::dressing::{Dressing, Finger, Fit, Step};
use guidehand_theory::pipeline::Taste;

/// A row: one way to dress the chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// What it is called.
    pub name: String,
    /// The symbols to write.
    pub symbols: String,
    /// Which fingers move: `A to A♭`; empty if it sounds now.
    pub fingers: String,
    /// How many fingers move.
    pub count: usize,
    /// How usual it is: `usual here`.
    pub fit: String,
    /// Whether it is usual.
    pub is_usual: bool,
    /// The first scale, and why.
    pub why: String,
    /// The notes on the keys, with what they are and whether their finger moves.
    pub notes: Vec<(u8, NoteKind, bool)>,
}

impl Row {
    /// What a screen reader tells: the name, and what the hand does.
    #[must_use]
    pub fn spoken(&self) -> String {
        let Row { name, symbols, .. } = self;
        match (self.count, self.fingers.as_str()) {
            (0, _) => format!("{name}, {symbols}: sounds now"),
            (1, fingers) => format!("{name}, {symbols}: one finger, {fingers}"),
            (count, fingers) => format!("{name}, {symbols}: {count} fingers, {fingers}"),
        }
    }
}

/// A dressing as a row.
#[must_use]
pub fn row(dressing: &Dressing, taste: &Taste) -> Row {
    let steps = &dressing.steps;
    let symbols: Vec<String> = steps.iter().map(|step| symbol(step.symbol())).collect();
    let fingers: Vec<String> = steps.iter().flat_map(moved).collect();
    let first = steps.first();
    let mut why = Vec::new();
    if let Some(scale) = first.and_then(|step| step.scales().first().copied()) {
        why.push(format!(
            "{} {}",
            note_name(scale.root),
            with_signs(scale.scale.name)
        ));
    }
    why.push(words(&dressing.reason));
    if first.is_some_and(|step| step.other_position) {
        why.push("in the other position".to_owned());
    }
    if first.is_some_and(Step::sharp_nine_inside) {
        why.push("♯9 lies a half step under the third".to_owned());
    }
    let substitute = first.and_then(|step| step.substitute);
    why.extend(substitute.map(|chord| format!("the notes of {}", symbol(&chord))));
    Row {
        name: words(&dressing.name),
        symbols: symbols.join(" "),
        fingers: fingers.join(", "),
        count: dressing.fingers,
        fit: words(&dressing.fit),
        is_usual: dressing.fit == Fit::Usual,
        why: why.join("; "),
        notes: first.map_or_else(Vec::new, |step| notes(step, taste)),
    }
}

/// The fingers that move in a step, each by the names of its notes.
fn moved(step: &Step) -> Vec<String> {
    let root = step.placed.chord.root;
    let name = |voice: &guidehand_theory::voicing::Voice| note_name(voice.degree.over(root));
    let one = |finger: &Finger| match (&finger.from, &finger.to) {
        (Some(from), Some(to)) => format!("{} to {}", name(from), name(to)),
        (None, Some(to)) => format!("{} comes in", name(to)),
        (Some(from), None) => format!("{} goes", name(from)),
        (None, None) => String::new(),
    };
    step.fingers.iter().map(one).collect()
}

fn notes(step: &Step, taste: &Taste) -> Vec<(u8, NoteKind, bool)> {
    let sounding = sounding(step, taste, false);
    let moves = |key: u8| {
        let to = |finger: &Finger| finger.to.map(|voice| voice.note.number());
        step.fingers.iter().any(|finger| to(finger) == Some(key))
    };
    let voices = step.voicing.voices().iter();
    let voices = voices.map(|voice| (voice.note.number(), kind(&sounding, voice.degree)));
    voices.map(|(key, kind)| (key, kind, moves(key))).collect()
}
