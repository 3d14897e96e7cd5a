//! A MusicXML document: the elements that are read, its title, and its parts with their measures,
//! in partwise and timewise scores. Imports `tree` and `found`'s errors.

use super::tree::{self, Element};
use crate::found::ImportError;
use std::collections::{BTreeMap, BTreeSet};

/// The elements that matter for chords, bars and lengths.
const KEPT: [&str; 69] = [
    "score-partwise",
    "score-timewise",
    "part",
    "measure",
    "attributes",
    "divisions",
    "time",
    "beats",
    "beat-type",
    "senza-misura",
    "note",
    "chord",
    "grace",
    "duration",
    "backup",
    "forward",
    "harmony",
    "root",
    "root-step",
    "root-alter",
    "kind",
    "bass",
    "bass-step",
    "bass-alter",
    "degree",
    "degree-value",
    "degree-alter",
    "degree-type",
    "offset",
    "barline",
    "ending",
    "repeat",
    "direction",
    "direction-type",
    "rehearsal",
    "sound",
    "segno",
    "coda",
    "words",
    "work",
    "work-title",
    "movement-title",
    "defaults",
    "concert-score",
    "part-list",
    "score-part",
    "part-name",
    "key",
    "fifths",
    "transpose",
    "chromatic",
    "diatonic",
    "octave-change",
    "inversion",
    "function",
    "numeral",
    "measure-style",
    "measure-repeat",
    "rest",
    "lyric",
    "metronome",
    "dynamics",
    "figured-bass",
    "frame",
    "identification",
    "creator",
    "miscellaneous",
    "miscellaneous-field",
    "swing",
];

/// The elements that matter for a melody too.
const OF_NOTES: [&str; 9] = [
    "pitch",
    "step",
    "alter",
    "octave",
    "unpitched",
    "tie",
    "voice",
    "staff",
    "cue",
];

/// Reads a document with the elements that matter, and with those of notes if they are asked for.
///
/// # Errors
/// A document that is broken or too large.
pub fn parse(text: &str, with_notes: bool) -> Result<Element, ImportError> {
    if with_notes {
        tree::read(text, |name| {
            KEPT.contains(&name) || OF_NOTES.contains(&name)
        })
    } else {
        tree::read(text, |name| KEPT.contains(&name))
    }
}

/// The title of the work or the movement. It is empty if there is none.
pub fn title(root: &Element) -> String {
    let work = root.child("work").and_then(|w| w.child("work-title"));
    let title = work.or_else(|| root.child("movement-title"));
    title.map_or("", Element::text).trim().to_owned()
}

/// A measure's own element, and its contents for the part.
pub struct Measure<'a> {
    /// Its own element, with its attributes.
    pub measure: &'a Element,
    /// The element with its contents.
    pub content: &'a Element,
}

/// A part with its measures.
pub struct Part<'a> {
    /// Its name. No two parts have the same one.
    pub name: String,
    /// Its measures, in order.
    pub measures: Vec<Measure<'a>>,
}

/// Whether the score shows what sounds, so that no transposition counts.
pub fn is_concert(root: &Element) -> bool {
    let defaults = root.child("defaults");
    defaults.is_some_and(|defaults| defaults.child("concert-score").is_some())
}

/// All parts, in the order of the score.
///
/// # Errors
/// A document that is no score.
pub fn parts(root: &Element) -> Result<Vec<Part<'_>>, ImportError> {
    let mut parts: Vec<(&str, Vec<Measure>)> = Vec::new();
    match root.name() {
        "score-partwise" => parts.extend(root.children("part").map(|part| {
            let measures = part.children("measure").map(|measure| Measure {
                measure,
                content: measure,
            });
            (part.attribute("id").unwrap_or(""), measures.collect())
        })),
        "score-timewise" => {
            let mut places: BTreeMap<&str, usize> = BTreeMap::new();
            for measure in root.children("measure") {
                for content in measure.children("part") {
                    let id = content.attribute("id").unwrap_or("");
                    let place = *places.entry(id).or_insert_with(|| {
                        parts.push((id, Vec::new()));
                        parts.len() - 1
                    });
                    if let Some((_, measures)) = parts.get_mut(place) {
                        measures.push(Measure { measure, content });
                    }
                }
            }
        }
        _ => return Err(ImportError::Unknown),
    }
    let names = names(root);
    let mut taken = BTreeSet::new();
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    let parts = parts.into_iter().zip(1_usize..);
    let parts = parts.map(|((id, measures), number)| {
        let own = names.get(id).cloned();
        let own = own.unwrap_or_else(|| format!("Part {number}"));
        let count = counts.entry(own.to_lowercase()).or_default();
        let name = loop {
            *count += 1;
            let name = match *count {
                1 => own.clone(),
                again => format!("{own} ({again})"),
            };
            if taken.insert(name.to_lowercase()) {
                break name;
            }
        };
        Part { name, measures }
    });
    Ok(parts.collect())
}

/// The names in the list of parts, by the ids of the parts. A part without a name is left out.
fn names(root: &Element) -> BTreeMap<&str, String> {
    let list = root.child("part-list").into_iter();
    let parts = list.flat_map(|list| list.children("score-part"));
    let named = parts.filter_map(|part| {
        let words = part.child("part-name")?.text().split_whitespace();
        let name = words.collect::<Vec<_>>().join(" ");
        Some((part.attribute("id")?, name)).filter(|(_, name)| !name.is_empty())
    });
    named.collect()
}
