//! The keys of a performance, and what is asked over it. Imports the theory.

use guidehand_theory::judge::Question;
use guidehand_theory::pitch::MidiNote;

/// Ticks within which a chord is on time: a quarter of a beat before its beat and after it, where a
/// beat is a quarter note.
pub const ON_TIME_TICKS: u32 = 240;

/// A key that was struck.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlayedKey {
    /// The key.
    pub note: MidiNote,
    /// When it was struck, in ticks from the start of the file.
    pub start_ticks: u32,
    /// When it rose, in ticks.
    pub released_ticks: u32,
    /// When it ceased to sound, in ticks: with the pedal down later than it rose.
    pub end_ticks: u32,
    /// When it was struck, in seconds.
    pub start_s: f64,
}

/// A chord that is asked for over a performance, or silence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AskedChord {
    /// The change of the chart.
    pub change: usize,
    /// The time round, from 0.
    pub round: u32,
    /// When it falls, in ticks from the start of the file.
    pub start_ticks: u32,
    /// Ticks until the next one.
    pub length_ticks: u32,
    /// The question; none where silence is written, or nothing can be asked.
    pub question: Option<Question>,
}

impl AskedChord {
    /// Where the next one begins.
    pub const fn end_ticks(&self) -> u32 {
        self.start_ticks.saturating_add(self.length_ticks)
    }

    /// How many notes are asked for.
    pub fn asked_notes(&self) -> usize {
        let question = self.question.as_ref();
        question.map_or(0, |question| question.voiced.voicing.voices().len())
    }
}
