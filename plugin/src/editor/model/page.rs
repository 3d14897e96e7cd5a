//! The pages to work on. The panel's thread reads it; all of the editor may import it. It imports
//! nothing.

/// A page.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Page {
    /// The chart over the whole width, and how it plays.
    #[default]
    Chart,
    /// The chord in hand.
    Chord,
    /// How all chords are voiced, other chords than dominants, and the hand.
    Voicing,
    /// Other harmonies.
    Harmonies,
    /// When chords are struck, and how.
    Rhythm,
    /// What the right hand's melody changes in the chords, and what sounds under it.
    Melody,
    /// The bass that sounds, and the bass that is followed.
    Bass,
    /// What is practised, and what has come of it.
    Practice,
    /// Files and practice sheets.
    InAndOut,
    /// The audition tone and the velocity.
    Sound,
}
