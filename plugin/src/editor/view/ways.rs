//! The ways to play a chord, in words. Pure; the panel's thread. The region of the chord in hand
//! imports it.

use super::notes::{NoteKind, kind};
use super::signs::{note_name, symbol, with_signs, words};
use crate::engine::snapshot::Sounding;
use guidehand_exchange::own_voicings::OwnVoicing;
use guidehand_theory::dressing::{Dressing, Finger, Step};
use guidehand_theory::other_voicings::{Motion, OtherVoicing};
use guidehand_theory::pipeline::{ChordInKey, Taste};
use guidehand_theory::plan::{Origin, Voiced};
use guidehand_theory::voicing::Voice;

/// A row: one way to play the chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// What it is called.
    pub name: String,
    /// What it means: the symbols to write and the fingers that move, or the notes.
    pub does: String,
    /// What stands at the right: how usual a dressing is.
    pub aside: String,
    /// Why, or how the hand moves.
    pub why: String,
    /// What a screen reader tells.
    pub spoken: String,
    /// The notes on the keys, with what they are and whether their finger moves.
    pub notes: Vec<(u8, NoteKind, bool)>,
}

/// A dressing as a row.
#[must_use]
pub fn dressing(dressing: &Dressing, taste: &Taste) -> Row {
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
    let (name, symbols) = (words(&dressing.name), symbols.join(" "));
    let fingers = fingers.join(", ");
    let spoken = match dressing.fingers {
        0 => format!("{name}, {symbols}: sounds now"),
        1 => format!("{name}, {symbols}: one finger, {fingers}"),
        count => format!("{name}, {symbols}: {count} fingers, {fingers}"),
    };
    let moves = if dressing.sounds_now {
        "sounds now"
    } else {
        &fingers
    };
    Row {
        does: format!("{symbols}   {moves}"),
        name,
        aside: words(&dressing.fit),
        why: why.join("; "),
        spoken,
        notes: first.map_or_else(Vec::new, |step| notes(step, taste)),
    }
}

/// Another voicing as a row. `own` are the player's own voicings, one of which it may be.
#[must_use]
pub fn voicing(placed: &ChordInKey, other: &OtherVoicing, own: &[OwnVoicing]) -> Row {
    let voiced = &other.voiced;
    let voicing = &voiced.voicing;
    let texture = match other.origin {
        Origin::Texture(texture) => texture.name().to_owned(),
        Origin::Own(number) => {
            let name = own.get(usize::from(number)).map(|voicing| &voicing.name);
            name.map_or_else(String::new, |name| format!("my voicing {name}"))
        }
    };
    let name = match super::now::form(placed, voicing) {
        Some(form) => format!("{texture}, form {form}"),
        None => texture,
    };
    let spelled = voicing.spelled(placed.chord.root);
    let spelled: Vec<String> = spelled.map(|pitch| words(&pitch)).collect();
    let does = spelled.join("  ");
    let way = |way: &str, motion: Option<Motion>| match motion {
        Some(Motion { semitones: 0, .. }) => Some(format!("{way} without a move")),
        Some(Motion { semitones: 1, .. }) => Some(format!("{way} by a half step")),
        Some(Motion { semitones, .. }) => Some(format!("{way} by {semitones} half steps")),
        None => None,
    };
    let ways = [way("in", other.motion_in), way("out", other.motion_out)];
    let ways: Vec<String> = ways.into_iter().flatten().collect();
    let marked = marked(&sounding(placed, *voiced)).into_iter();
    Row {
        spoken: format!("{name}: {}", spelled.join(" ")),
        name,
        does,
        aside: String::new(),
        why: ways.join(", "),
        notes: marked.map(|(key, kind)| (key, kind, false)).collect(),
    }
}

/// The fingers that move in a step, each by the names of its notes.
fn moved(step: &Step) -> Vec<String> {
    let root = step.placed.chord.root;
    let name = |voice: &Voice| note_name(voice.degree.over(root));
    let one = |finger: &Finger| match (&finger.from, &finger.to) {
        (Some(from), Some(to)) => format!("{} to {}", name(from), name(to)),
        (None, Some(to)) => format!("{} comes in", name(to)),
        (Some(from), None) => format!("{} goes", name(from)),
        (None, None) => String::new(),
    };
    step.fingers.iter().map(one).collect()
}

fn notes(step: &Step, taste: &Taste) -> Vec<(u8, NoteKind, bool)> {
    let sounding = sounding(&step.placed, step.voiced(taste));
    let moves = |key: u8| {
        let to = |finger: &Finger| finger.to.map(|voice| voice.note.number());
        step.fingers.iter().any(|finger| to(finger) == Some(key))
    };
    let marked = marked(&sounding).into_iter();
    marked.map(|(key, kind)| (key, kind, moves(key))).collect()
}

/// The notes with what they are.
fn marked(sounding: &Sounding) -> Vec<(u8, NoteKind)> {
    let voices = sounding.voiced.voicing.voices().iter();
    let voices = voices.map(|voice| (voice.note.number(), kind(sounding, voice.degree)));
    voices.collect()
}

const fn sounding(placed: &ChordInKey, voiced: Voiced) -> Sounding {
    Sounding {
        placed: *placed,
        voiced,
        bass: None,
        read: None,
    }
}
