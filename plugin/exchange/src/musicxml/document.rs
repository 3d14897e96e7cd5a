//! A MusicXML document: the elements that are read, its title, and the measures of the first part
//! that has chords, in partwise and timewise scores. Imports `tree` and `found`'s errors.

use super::tree::{self, Element};
use crate::found::ImportError;

/// The elements that matter for chords, bars and lengths.
const KEPT: [&str; 42] = [
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
];

/// Reads a document with the elements that matter.
///
/// # Errors
/// A document that is broken or too large.
pub fn parse(text: &str) -> Result<Element, ImportError> {
    tree::read(text, |name| KEPT.contains(&name))
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

/// The measures of the first part that has a harmony.
///
/// # Errors
/// A document that is no score, or that has no harmonies.
pub fn measures(root: &Element) -> Result<Vec<Measure<'_>>, ImportError> {
    let has_chords = |content: &Element| content.child("harmony").is_some();
    match root.name() {
        "score-partwise" => {
            let mut parts = root.children("part");
            let part = parts.find(|part| part.children("measure").any(has_chords));
            let part = part.ok_or(ImportError::NoChords)?;
            let measures = part.children("measure");
            Ok(measures
                .map(|m| Measure {
                    measure: m,
                    content: m,
                })
                .collect())
        }
        "score-timewise" => {
            let contents = || root.children("measure").flat_map(|m| m.children("part"));
            let part = contents()
                .find(|part| has_chords(part))
                .ok_or(ImportError::NoChords)?;
            let id = part.attribute("id");
            let measures = root.children("measure").filter_map(|measure| {
                let content = measure.children("part").find(|p| p.attribute("id") == id)?;
                Some(Measure { measure, content })
            });
            Ok(measures.collect())
        }
        _ => Err(ImportError::Unknown),
    }
}
