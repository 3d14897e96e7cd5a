//! Which rule chose the notes of a block chord. `words` puts it into words. Imports `style`.

use super::style::Style;
use crate::degree::Degree;

/// Why a melody note has its chord.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Rule {
    /// The melody is a chord tone, with the others below it.
    #[default]
    ChordTone,
    /// The melody is a tension and takes the place of a chord tone.
    Tension(Replacement),
    /// The melody is no tone of a chord that has room for one more.
    Added,
    /// The melody passes, or the chord cannot bear it: the diminished seventh chord that holds it
    /// is that of a dominant.
    Diminished(Dominant),
    /// The chord cannot bear the melody, and no dominant that is near holds it: the diminished
    /// seventh chord a half step off.
    DiminishedOff,
    /// The chord of the next note, a half step off on this side.
    Approach(Side),
    /// The note is struck again and keeps its chord.
    Repeated,
    /// The melody sounds alone.
    Single(Why),
}

/// A degree in the place of another one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Replacement {
    /// The degree that sounds.
    pub by: Degree,
    /// The degree in whose place it sounds.
    pub of: Degree,
}

/// The dominant of which a passing chord is the seventh chord with b9, without its root.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Dominant {
    /// The dominant of the key.
    Key,
    /// The dominant of the chord in force.
    Chord,
}

/// The side from which a note is approached.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// From a half step below.
    Below,
    /// From a half step above.
    Above,
}

impl Side {
    /// The half steps from the note that is approached.
    #[must_use]
    pub const fn half_steps(self) -> i8 {
        match self {
            Side::Below => -1,
            Side::Above => 1,
        }
    }
}

/// Why a melody sounds alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Why {
    /// No chord is known.
    NoChord,
    /// It moves too fast.
    Fast,
    /// Every voice below it would lie too low to sound clear.
    TooLow,
}

/// What becomes of a block whose melody lies low.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Low {
    /// It is four-way close, because this style would lie too low to sound clear.
    CloseInsteadOf(Style),
    /// So many voices are left out, because they would lie too low to sound clear.
    Without(u8),
}
