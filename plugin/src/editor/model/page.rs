//! The pages that share the place beside the chart. The panel's thread reads it; all
//! of the editor may import it. It imports nothing.

/// A page.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Page {
    /// Tensions and the scale.
    #[default]
    Tensions,
    /// The chord in hand.
    Chord,
    /// Other chords than dominants, and the hand.
    Voicing,
    /// Other harmonies.
    Harmonies,
    /// Files and practice sheets.
    InAndOut,
    /// The bass that is followed; it is there while chords come from it.
    Bass,
}
