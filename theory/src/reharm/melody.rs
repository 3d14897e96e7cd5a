//! Whether the melody bears a proposal: each of its notes must be a chord tone,
//! or stand in a scale of the chord as no avoid note.

use super::run::text;
use super::{Note, Proposal, Span};
use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::key::{self, Function};
use crate::pitch::PitchClass;
use crate::scale;
use crate::tension::{self, TensionRequests};

/// What clashes, in words; nothing if the melody bears the proposal.
pub(super) fn clashes(spans: &[Span], proposal: &Proposal, melody: &[Note]) -> Vec<String> {
    let Some(first) = spans.get(proposal.span.start) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    let mut start = first.start_ticks;
    for (part, function) in proposal.chords.iter().zip(functions(spans, proposal)) {
        let end = start + part.length_ticks;
        let sounds =
            |n: &&Note| n.start_ticks < end && n.start_ticks.saturating_add(n.length_ticks) > start;
        for note in melody.iter().filter(sounds) {
            if let Some(function) = function
                && !bears(&part.chord, &function, note.class)
            {
                let words = words(&part.chord, &function, note.class);
                if !found.contains(&words) {
                    found.push(words);
                }
            }
        }
        start = end;
    }
    found
}

/// The functions of the new chords in the key of the old ones.
fn functions(spans: &[Span], proposal: &Proposal) -> Vec<Option<Function>> {
    let old = spans.get(proposal.span.clone()).unwrap_or(&[]);
    let key = old.iter().find_map(|s| s.function).map(|f| f.key);
    let coming = spans.iter().skip(proposal.span.end).chain(spans);
    let next = coming.filter_map(|s| s.chord).next();
    let new = proposal.chords.iter().map(|p| p.chord);
    let chords: Vec<Option<Chord>> = new.chain(next).map(Some).collect();
    key::analyse(&chords, key)
}

/// Whether the chord bears the note: its own, or one that the scale of some
/// choice of tensions holds and does not avoid.
fn bears(chord: &Chord, function: &Function, class: PitchClass) -> bool {
    if chord.degrees().iter().any(|d| d.class(chord.root) == class) {
        return true;
    }
    let choices = tension::resolve(chord, function, TensionRequests::default());
    choices.iter().any(|choice| {
        let guides = choice.third.into_iter().chain(choice.seventh);
        let sounding: DegreeSet = guides.chain(choice.others).collect();
        // Scales after the first are further colours, or for other tensions.
        let scales = scale::suggest(chord, sounding, function);
        scales.first().is_some_and(|s| {
            let rests = s.scale.set().minus(s.avoid);
            rests.iter().any(|d| d.class(s.root) == class)
        })
    })
}

fn words(chord: &Chord, function: &Function, class: PitchClass) -> String {
    let note = function.key.name(class);
    let rubs = |d: &Degree| d.class(chord.root).up(1) == class;
    let why = match chord.quality.degrees().iter().find(rubs) {
        Some(tone) => format!("a half step above its {tone}"),
        None => "in none of its scales".to_owned(),
    };
    format!("{note} over {}: {why}", text(chord))
}
