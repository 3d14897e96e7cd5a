//! A note of a chord, as the reports show it. Imports the theory.

use guidehand_theory::pitch::NoteName;
use guidehand_theory::voicing::{Voice, Voicing};
use serde::Serialize;

/// One note of a chord.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct NoteRow {
    /// The MIDI note, 60 for middle C.
    pub midi: u8,
    /// The name, spelled by degree, with its octave: `Eb4`.
    pub name: String,
    /// The degree over the root: `b13`.
    pub degree: &'static str,
}

impl NoteRow {
    /// The notes of a voicing over a root, from the lowest.
    pub(crate) fn all(voicing: &Voicing, root: NoteName) -> Vec<NoteRow> {
        let voices = voicing.voices().iter();
        voices.map(|voice| NoteRow::new(voice, root)).collect()
    }

    /// One note over a root.
    pub(crate) fn new(voice: &Voice, root: NoteName) -> NoteRow {
        NoteRow {
            midi: voice.note.number(),
            name: voice.degree.over(root).at(voice.note).to_string(),
            degree: voice.degree.name(),
        }
    }
}
