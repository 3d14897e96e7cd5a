//! Why the tensions of a chord are what they are. `words` puts it into words. Imports `key`;
//! the folder of `tension` imports it.

use crate::key::Resolution;

/// Why a chord has these tensions.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Reason {
    /// The symbol states all of them.
    #[default]
    AsWritten,
    /// The symbol states most of them, and the chord takes the rest by itself.
    AsUsual,
    /// A major triad takes sixth and ninth.
    MajorTriad,
    /// A minor triad that is the tonic takes sixth and ninth.
    MinorTonic,
    /// Any other minor triad takes seventh and ninth.
    MinorTriad,
    /// A diminished triad takes its seventh.
    DiminishedTriad,
    /// A suspended second takes a sixth.
    SuspendedSecond,
    /// The melody holds the root of a major chord, so its seventh gives way to a sixth.
    RootInMelody,
    /// The player asks for the sixth of a tonic.
    AskedSixth,
    /// The player asks for the seventh of a major tonic.
    AskedSeventh,
    /// The player asks for the minor seventh of a minor tonic.
    AskedMinorSeventh,
    /// The player asks for the major seventh of a minor tonic.
    AskedMajorSeventh,
    /// The player has pinned the voicing.
    Pinned,
    /// The symbol asks for an altered dominant.
    Altered,
    /// A dominant goes to this resolution.
    Goes(Resolution),
}

impl Reason {
    /// Whether the quality of the chord settles its tensions: the symbol writes them,
    /// or they are usual on such a chord.
    #[must_use]
    pub const fn is_as_written(self) -> bool {
        matches!(self, Reason::AsWritten | Reason::AsUsual)
    }
}
