//! What the notes of the chord on show are. Pure; the panel's thread. Regions and
//! widgets import it.

use super::signs::{degree_name, note_name, words};
use crate::engine::snapshot::{Snapshot, Sounding};
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::tension::{self, Reason};

/// Why a chord has tensions that nobody asked for, where its place says nothing of them.
pub const USUAL: &str = "usual on this kind of chord";

/// What a note is in its chord, told apart by colour and by shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoteKind {
    /// Third or seventh, or what stands for them.
    Guide,
    /// Another note of the plain chord.
    ChordTone,
    /// A natural tension.
    Natural,
    /// An altered tension or fifth.
    Altered,
    /// The bass note.
    Bass,
}

impl NoteKind {
    /// Every kind, in the order of the legend.
    pub const ALL: [NoteKind; 5] = [
        NoteKind::Guide,
        NoteKind::ChordTone,
        NoteKind::Natural,
        NoteKind::Altered,
        NoteKind::Bass,
    ];

    /// Its name in the legend.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            NoteKind::Guide => "guide tone",
            NoteKind::ChordTone => "chord tone",
            NoteKind::Natural => "natural tension",
            NoteKind::Altered => "altered tension",
            NoteKind::Bass => "bass",
        }
    }
}

/// A note that is marked on the keyboard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MarkedNote {
    /// The key.
    pub note: u8,
    /// Its degree; for the bass, its name.
    pub label: String,
    /// What it is.
    pub kind: NoteKind,
}

/// What a degree is in the chord that sounds.
#[must_use]
pub fn kind(sounding: &Sounding, degree: Degree) -> NoteKind {
    let tensions = &sounding.voiced.tensions;
    let chord = &sounding.placed.chord;
    if tensions.third == Some(degree) || tensions.seventh == Some(degree) {
        NoteKind::Guide
    } else if chord.quality.degrees().contains(degree) {
        NoteKind::ChordTone
    } else if degree.is_altered() {
        NoteKind::Altered
    } else if degree.family().is_some() {
        NoteKind::Natural
    } else {
        NoteKind::ChordTone
    }
}

/// The notes that sound, from the lowest.
#[must_use]
pub fn marks(sounding: &Sounding) -> Vec<MarkedNote> {
    let chord = &sounding.placed.chord;
    let bass = sounding.bass.map(|note| MarkedNote {
        note: note.number(),
        label: note_name(chord.bass.unwrap_or(chord.root)),
        kind: NoteKind::Bass,
    });
    let voices = sounding.voiced.voicing.voices().iter();
    let voices = voices.map(|voice| MarkedNote {
        note: voice.note.number(),
        label: degree_name(voice.degree),
        kind: kind(sounding, voice.degree),
    });
    bass.into_iter().chain(voices).collect()
}

/// The tensions among the sounding degrees, without the notes of the plain chord.
#[must_use]
pub fn added(sounding: &Sounding) -> DegreeSet {
    let sounding_degrees = sounding.voiced.voicing.degrees();
    tension::of(sounding_degrees).minus(sounding.placed.chord.quality.degrees())
}

/// Why a chord sounds as it does: how a player's notes are read, or else why it has
/// these tensions.
#[must_use]
pub fn reason(sounding: &Sounding) -> String {
    match (sounding.read, sounding.voiced.tensions.reason) {
        (Some(read), _) => words(&read),
        // It is told of the sixth, with what yields.
        (None, Reason::RootInMelody) => USUAL.to_owned(),
        (None, reason) => words(&reason),
    }
}

/// The chord that sounds, or the last one that did.
#[must_use]
pub fn on_show(snapshot: &Snapshot) -> Option<Sounding> {
    snapshot.sounding.or(snapshot.last)
}
