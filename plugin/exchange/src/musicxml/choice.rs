//! Which part of a score is read: the one that is asked for, or else the first with chords that
//! are written as they sound. Imports `document`, `transposition` and `found`.

use super::document;
use super::transposition::Transposition;
use crate::found::{self, ImportError, Misses, Part};

/// The parts with chords, the one that is read, and what is told about the choice.
pub struct Choice {
    /// The part that is read, as an index into all parts.
    pub index: usize,
    /// All parts with chords.
    pub parts: Vec<Part>,
    /// What was done, each in one sentence.
    pub remarks: Vec<String>,
}

/// Chooses a part by its name, in any case, or by itself.
///
/// # Errors
/// No part has chords, or none has this name.
pub fn choose(
    parts: &[document::Part],
    is_concert: bool,
    wish: Option<&str>,
    misses: &mut Misses,
) -> Result<Choice, ImportError> {
    let looked_at = parts.iter().map(look).enumerate();
    let with_chords: Vec<(usize, Look)> = looked_at.filter(|(_, look)| look.chords > 0).collect();
    let chosen = match wish {
        Some(wish) => with_chords
            .iter()
            .position(|(_, look)| look.name.to_lowercase() == wish.trim().to_lowercase())
            .ok_or_else(|| ImportError::NoPart {
                name: wish.trim().chars().take(80).collect(),
                parts: with_chords.iter().map(|(_, l)| l.name.clone()).collect(),
            })?,
        None => with_chords
            .iter()
            .position(|(_, look)| is_concert || look.transpositions.iter().all(|t| t.is_concert()))
            .unwrap_or(0),
    };
    let Some((index, taken)) = with_chords.get(chosen) else {
        return Err(ImportError::NoChords);
    };
    let first = parts.get(*index).and_then(|part| part.measures.first());
    let first = first.and_then(|measure| measure.measure.attribute("number"));
    let first = first.unwrap_or("1");
    let mut remarks = Vec::new();
    let moved = taken.transpositions.iter().find(|t| !t.is_concert());
    match moved.and_then(|t| t.words()) {
        Some(words) if is_concert => misses.tell(
            first,
            "transpose",
            None,
            format!(
                "the part \"{}\" sounds {words}, but the score says that it shows what sounds, so \
                 its chords stay",
                taken.name
            ),
        ),
        Some(words) => remarks.push(format!(
            "The part \"{}\" sounds {words} than it is written; the chords are those that sound.",
            taken.name
        )),
        None => {}
    }
    let others = || with_chords.iter().filter(|(other, _)| other != index);
    if others().next().is_some() {
        let names: Vec<&str> = others().map(|(_, look)| look.name.as_str()).collect();
        let verb = if names.len() == 1 { "has" } else { "have" };
        remarks.push(format!(
            "The part \"{}\" is read; {} {verb} chords too.",
            taken.name,
            found::quoted(&names)
        ));
    }
    for (_, other) in others().filter(|(_, other)| other.chords > taken.chords) {
        let words = format!(
            "it has {} chords, more than the {} of the part \"{}\" that is read",
            other.chords, taken.chords, taken.name
        );
        misses.tell(first, &format!("part \"{}\"", other.name), None, words);
    }
    let parts = with_chords.iter().map(|(other, look)| Part {
        name: look.name.clone(),
        chords: look.chords,
        sounds: match look.transpositions.first() {
            Some(first) if !is_concert => first.half_steps,
            _ => 0,
        },
        is_taken: other == index,
    });
    Ok(Choice {
        index: *index,
        parts: parts.collect(),
        remarks,
    })
}

/// What the choice depends on.
struct Look {
    name: String,
    chords: usize,
    /// The transpositions of the part, in order.
    transpositions: Vec<Transposition>,
}

fn look(part: &document::Part) -> Look {
    let elements = || {
        let measures = part.measures.iter();
        measures.flat_map(|measure| measure.content.elements())
    };
    let attributes = elements().filter(|element| element.name() == "attributes");
    let transposes = attributes.flat_map(|attributes| attributes.children("transpose"));
    Look {
        name: part.name.clone(),
        chords: elements().filter(|e| e.name() == "harmony").count(),
        transpositions: transposes.filter_map(Transposition::of).collect(),
    }
}
