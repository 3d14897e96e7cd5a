//! Whether the melody allows a proposal. Each of its notes must be a chord tone, or a note in a
//! scale of the chord that is not an avoid note. Imports `proposal`, `reason`, `span` and
//! `scale`.

use super::proposal::Proposal;
use super::reason::ClashingNote;
use super::span::{Note, Span};
use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::key::{self, Function};
use crate::pitch::PitchClass;
use crate::scale;
use crate::tension::{self, TensionRequests};

/// The notes that clash. None do if the melody allows the proposal.
pub(super) fn clashes(spans: &[Span], proposal: &Proposal, melody: &[Note]) -> Vec<ClashingNote> {
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
                let clash = clash(&part.chord, &function, note.class);
                if !found.contains(&clash) {
                    found.push(clash);
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

/// Whether the note fits the chord: it is a chord tone, or the scale of some choice of tensions
/// contains it and does not avoid it.
fn bears(chord: &Chord, function: &Function, class: PitchClass) -> bool {
    if chord.degrees().iter().any(|d| d.class(chord.root) == class) {
        return true;
    }
    let choices = tension::resolve(chord, function, TensionRequests::default());
    choices.iter().any(|choice| {
        let guides = choice.third.into_iter().chain(choice.seventh);
        let sounding: DegreeSet = guides.chain(choice.others).collect();
        // Scales after the first one are further colours, or belong to other tensions.
        let scales = scale::suggest(chord, sounding, function);
        scales.first().is_some_and(|s| {
            let rests = s.scale.set().minus(s.avoid);
            rests.iter().any(|d| d.class(s.root) == class)
        })
    })
}

fn clash(chord: &Chord, function: &Function, class: PitchClass) -> ClashingNote {
    let below = |d: &Degree| d.class(chord.root).up(1) == class;
    ClashingNote {
        note: function.key.name(class),
        chord: *chord,
        above: chord.quality.degrees().iter().find(below),
    }
}
