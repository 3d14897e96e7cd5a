//! The melody of the right hand in words and by keys: what yields to it in the chord on show, and the
//! chord under it. Pure; the panel's thread. `now`, `families`, the keyboard and the page of the
//! melody import it.

use super::notes::on_show;
use super::signs::{degree_name, key_name, note_name, words};
use crate::engine::settings::Settings;
use crate::engine::snapshot::{Snapshot, UnderKey, Yielded};
use guidehand_theory::comping::Yielding;
use guidehand_theory::degree::Degree;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::tension::{self, Outcome, Yield};
use guidehand_theory::under::Replacement;

/// What a key of the right hand is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The melody.
    Melody,
    /// A voice of the chord under it.
    Under,
}

impl Part {
    /// Both, in the order of the legend.
    pub const ALL: [Part; 2] = [Part::Melody, Part::Under];

    /// Its name in the legend.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Part::Melody => "melody",
            Part::Under => "chord under it",
        }
    }
}

/// A key of the right hand that is marked on the keyboard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MelodyKey {
    /// The key.
    pub note: u8,
    /// Its degree in the chord under the melody; the name of a melody without one.
    pub label: String,
    /// What it is.
    pub part: Part,
    /// It has ended.
    pub past: bool,
}

/// The keys of the melody with the voices under them, from the lowest: those of the block chord that
/// was struck last, and the other keys that chords have to agree with.
#[must_use]
pub fn keys(snapshot: &Snapshot, settings: &Settings) -> Vec<MelodyKey> {
    let mut keys: Vec<MelodyKey> = Vec::new();
    if !settings.hears_keys() {
        return keys;
    }
    if let Some(UnderKey { block, sounds }) = under(snapshot, settings) {
        let melody = block.melody();
        keys.extend(block.voicing.voices().iter().map(|voice| MelodyKey {
            note: voice.note.number(),
            label: if block.root.is_some() {
                degree_name(voice.degree)
            } else {
                key_name(voice.note)
            },
            part: if Some(voice.note) == melody {
                Part::Melody
            } else {
                Part::Under
            },
            past: !sounds,
        }));
    }
    if settings.right_hand.yielding != Yielding::Off {
        let held = |key: &u8| settings.is_right_hand(*key) && snapshot.held & 1 << *key != 0;
        let others: Vec<MelodyKey> = (0..128)
            .filter(held)
            .filter(|key| !keys.iter().any(|known| known.note == *key && !known.past))
            .map(|note| MelodyKey {
                note,
                label: melody_name(MidiNote::clamp(i32::from(note)), snapshot),
                part: Part::Melody,
                past: false,
            })
            .collect();
        keys.retain(|known| !others.iter().any(|other| other.note == known.note));
        keys.extend(others);
        keys.sort_by_key(|key| key.note);
    }
    keys
}

/// The chord under the key that was struck last. After its end it stays on show with the chord in force
/// that it was made over.
fn under(snapshot: &Snapshot, settings: &Settings) -> Option<UnderKey> {
    let chord = on_show(snapshot).map(|sounding| sounding.placed.chord);
    let wanted = settings.right_hand.under.is_some();
    let under = snapshot.under.filter(|_| wanted);
    under.filter(|under| under.sounds || under.block.chord == chord)
}

/// The name of a note of the melody: as it is spelled over the chord on show.
fn melody_name(note: MidiNote, snapshot: &Snapshot) -> String {
    match on_show(snapshot) {
        Some(sounding) => {
            let name = tension::name_over(&sounding.placed.chord, note.class());
            note_name(name)
        }
        None => key_name(note),
    }
}

/// What yields in the chord on show, what stands against the melody, and whether the chord lies too
/// high for it, each in a few words: `9 for ♭9, under A`.
#[must_use]
pub fn yields(yielded: &Yielded) -> Vec<String> {
    let yields = yielded.yields.iter().map(in_short);
    yields.chain(too_high(yielded)).collect()
}

fn in_short(one: &Yield) -> String {
    let (degree, melody) = (degree_name(one.degree), note_name(one.melody));
    match one.outcome {
        Outcome::To(by) | Outcome::WrittenLeftOut(Some(by)) => {
            let replacement = Replacement { by, of: one.degree };
            format!("{}, under {melody}", words(&replacement))
        }
        Outcome::LeftOut | Outcome::WrittenLeftOut(None) => {
            format!("{degree} left out, under {melody}")
        }
        Outcome::Stands => format!("{degree} stands against {melody}"),
    }
}

fn too_high(yielded: &Yielded) -> Option<String> {
    match yielded.too_high {
        0 => None,
        1 => Some("a half step too high for the melody".to_owned()),
        steps => Some(format!("{steps} half steps too high for the melody")),
    }
}

/// What the melody has put in the place of other degrees.
pub fn agreed(yielded: &Yielded) -> impl Iterator<Item = (Degree, Yield)> {
    yielded
        .yields
        .into_iter()
        .filter_map(|one| match one.outcome {
            Outcome::To(by) | Outcome::WrittenLeftOut(Some(by)) => Some((by, one)),
            Outcome::LeftOut | Outcome::WrittenLeftOut(None) | Outcome::Stands => None,
        })
}

/// All that there is to tell of the melody, in whole sentences: what yields, and why the key that was
/// struck last has its chord.
#[must_use]
pub fn told(snapshot: &Snapshot, settings: &Settings) -> Vec<String> {
    let yielded = sentences(&snapshot.yielded);
    let under = under(snapshot, settings).map(|under| block(&under));
    yielded.into_iter().chain(under).collect()
}

/// What yields in the chord on show, in whole sentences: `♭9 yields to 9: A in the melody`.
#[must_use]
pub fn sentences(yielded: &Yielded) -> Vec<String> {
    let yields = yielded.yields.iter().map(words);
    yields.chain(too_high(yielded)).collect()
}

/// The style of a block chord, and the rule that chose its notes: `A5, drop 2: 9 for 1`.
fn block(UnderKey { block, .. }: &UnderKey) -> String {
    let melody = block.melody().map(|note| match block.root {
        Some(root) => {
            let spelled = block.voicing.spelled(root).last();
            spelled.map_or_else(|| key_name(note), |pitch| words(&pitch))
        }
        None => key_name(note),
    });
    let melody = melody.unwrap_or_default();
    let rule = words(&block.rule);
    if block.is_single() {
        return format!("{melody}, {rule}");
    }
    let instead = block.instead.iter().map(words);
    let low = block.low().map(|low| words(&low));
    let rules: Vec<String> = [rule].into_iter().chain(instead).chain(low).collect();
    format!("{melody}, {}: {}", block.style.name(), rules.join(", "))
}

/// As many of the parts as fit, and how many more there are.
#[must_use]
pub fn fitting(parts: &[String], fits: impl Fn(&str) -> bool) -> String {
    let whole = parts.join("; ");
    if parts.len() < 2 || fits(&whole) {
        return whole;
    }
    let some = |count: usize| {
        let shown = parts.get(..count).unwrap_or(parts).join("; ");
        format!("{shown}; and {} more", parts.len() - count)
    };
    let counts = (1..parts.len()).rev();
    let found = counts.map(some).find(|words| fits(words));
    found.unwrap_or_else(|| some(1))
}

#[cfg(test)]
mod tests;
