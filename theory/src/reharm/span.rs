//! Chords and notes in time. Imports `key`, `melody` and what is above them; the folder of `reharm`
//! imports it.

use crate::chart::Chart;
use crate::chord::Chord;
use crate::key::Function;
use crate::melody::{Melody, MelodyNote};
use crate::pitch::PitchClass;

/// A chord in time. Spans follow each other without gaps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// The chord, or none for silence, which is never replaced.
    pub chord: Option<Chord>,
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Ticks until the next span.
    pub length_ticks: u32,
    /// The chord's function, as [`analyse`](super::analyse) finds it. There are no proposals
    /// for chords without one.
    pub function: Option<Function>,
}

/// A note of the melody, in any octave. Every note given here counts, so leave out
/// passing notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Note {
    /// The key that sounds.
    pub class: PitchClass,
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Its length in ticks.
    pub length_ticks: u32,
}

impl From<&MelodyNote> for Note {
    fn from(note: &MelodyNote) -> Note {
        Note {
            class: note.note.class(),
            start_ticks: note.start_ticks,
            length_ticks: note.length_ticks,
        }
    }
}

impl Note {
    /// The notes of a melody that the chords of a chart must bear: all but those that pass, see
    /// [`Melody::that_matter`].
    #[must_use]
    pub fn all_of(melody: &Melody, chart: &Chart) -> Vec<Note> {
        let bare = melody.without_passing(chart);
        bare.notes().iter().map(Note::from).collect()
    }
}

/// A chord of a proposal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct TimedChord {
    /// The chord.
    pub chord: Chord,
    /// Ticks until the next part or the end of the proposal. This is a beat or more, unless the
    /// chord replaces a shorter one.
    pub length_ticks: u32,
}
