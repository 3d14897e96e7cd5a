//! Why notes are read as a chord. `words` puts it into words. Imports nothing; the folder of
//! `read` imports it.

/// Why notes are read as a chord: what speaks for it most.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Reason {
    /// Nothing is known but the notes.
    #[default]
    NotesAlone,
    /// Its place in the key.
    AtHome,
    /// It is the chord before again.
    StruckAgain,
    /// It follows the chord before in this way.
    After(Progression),
    /// It leads to the chord after in this way.
    Before(Progression),
    /// Its root is in the bass.
    RootInBass,
    /// The chart has this chord here.
    AsCharted,
}

/// How the second of two chords follows the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Progression {
    /// A ii and its V.
    TwoFive,
    /// A dominant and the chord that it falls to.
    Goal,
    /// A dominant and another chord a fifth below that leads on.
    Chain,
    /// A fifth down.
    Fifth,
    /// A suspension and its resolution.
    Resolves,
    /// A line over one minor root.
    Line,
    /// The same root.
    SameRoot,
    /// A half step down.
    HalfStep,
    /// A ii and the substitute of its V.
    Substitute,
    /// A diminished chord that passes up a half step.
    PassesUp,
    /// A diminished chord that passes down a half step.
    PassesDown,
    /// A diminished chord and the chord that it leads to.
    DiminishedGoal,
    /// A chord and a diminished chord that passes on from it.
    ToDiminished,
    /// A tritone.
    Tritone,
    /// The backdoor dominant and the tonic.
    Backdoor,
    /// A fourth down.
    Fourth,
    /// A third up.
    Third,
    /// A third down.
    ThirdDown,
    /// A step.
    Step,
    /// A tonic and a chord of its key.
    OfTheTonic,
}
