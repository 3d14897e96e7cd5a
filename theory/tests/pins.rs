//! Pinned voicings: plans around them against exhaustive search, notes by degree, what is told of
//! a voicing, whether it fits a chord that has been edited, and where its notes lie in another key.

#[path = "pins/around.rs"]
mod around;
#[path = "pins/by_degree.rs"]
mod by_degree;
#[path = "pins/check.rs"]
mod check;
#[path = "data/mod.rs"]
mod data;
#[path = "pins/fit.rs"]
mod fit;
#[path = "pins/transposed.rs"]
mod transposed;

use guidehand_theory::candidates::Hand;
use guidehand_theory::chord::Chord;
use guidehand_theory::pin;
use guidehand_theory::pitch::{MidiNote, SpelledPitch};
use guidehand_theory::symbol;
use guidehand_theory::voicing::Voicing;

/// The keys, as fifths from C, and the half steps up to them from C.
fn keys() -> impl Iterator<Item = (i8, i32)> {
    (-6..6).map(|fifths| (fifths, (7 * i32::from(fifths)).rem_euclid(12)))
}

fn chord(text: &str) -> Chord {
    symbol::parse(text).unwrap()
}

fn notes(text: &str) -> Vec<MidiNote> {
    let pitches = text.split_whitespace().map(SpelledPitch::parse);
    pitches.map(|p| p.unwrap().midi().unwrap()).collect()
}

fn moved(notes: &[MidiNote], half_steps: i32) -> Vec<MidiNote> {
    let moved = |note: &MidiNote| MidiNote::clamp(note.semitones() + half_steps);
    notes.iter().map(moved).collect()
}

fn voicing(text: &str, over: &Chord) -> Voicing {
    pin::by_degree(&notes(text), over, Hand::DEFAULT).unwrap()
}

fn degrees(voicing: &Voicing) -> String {
    let names: Vec<_> = voicing.voices().iter().map(|v| v.degree.name()).collect();
    names.join(" ")
}
