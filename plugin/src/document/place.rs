//! Chords by their place: which written chord a change of the chart plays, and which time that is.
//! Any thread but the audio thread. It imports the theory; the folder of `document` imports
//! it.

use guidehand_theory::chart::{self, Chart, ChordPass};
use guidehand_theory::chord::Chord;
use guidehand_theory::pitch::NoteNames;
use guidehand_theory::symbol::{Sign, Symbol};

/// A chord of a text: which one it is, and what it is. Wherever the text is edited, the symbol
/// tells whether the chord at this place is still the same.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct ChordAt {
    /// Its place among the chords of the text, from 0. Slashes, percent signs and silence do not
    /// count.
    pub index: usize,
    /// Its symbol, as [`symbol`] prints it.
    pub symbol: String,
}

/// The symbol of a chord in the one form in which documents hold it: in ASCII, with English names.
#[must_use]
pub fn symbol(chord: &Chord) -> String {
    Symbol(chord, Sign::Ascii).to_string()
}

/// The chords of a text in their order; none where a word cannot be read.
pub(super) fn chords_of(text: &str, names: NoteNames) -> Vec<Option<Chord>> {
    let chords = chart::chords(text, names).into_iter();
    chords.map(|(_, chord)| chord).collect()
}

/// How many chords of a text lie behind a place in it, in bytes.
pub(super) fn chords_behind(text: &str, at: usize, names: NoteNames) -> usize {
    let chords = chart::chords(text, names);
    chords.iter().filter(|(place, _)| place.start >= at).count()
}

/// The written chord that a change of the chart plays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChordPlayed {
    /// Its place among the chords of the text, from 0.
    pub index: usize,
    /// The chord.
    pub chord: Chord,
    /// Which time this is that it is played, from 1. Repeats, jumps and percent signs play a
    /// chord again.
    pub pass: u16,
    /// How often the chart plays it in all.
    pub passes: u16,
}

impl ChordPlayed {
    /// What each change of a chart plays; none where it is silent.
    #[must_use]
    pub fn of(chart: &Chart) -> Vec<Option<ChordPlayed>> {
        let passes = chart.passes().into_iter().zip(&chart.changes);
        let played = passes.map(|(pass, change)| {
            let ChordPass {
                index,
                pass,
                passes,
            } = pass?;
            Some(ChordPlayed {
                index,
                chord: change.chord?,
                pass,
                passes,
            })
        });
        played.collect()
    }

    /// The written chord.
    #[must_use]
    pub fn at(&self) -> ChordAt {
        ChordAt {
            index: self.index,
            symbol: symbol(&self.chord),
        }
    }
}
