//! Why a scale is suggested. `words` puts it into words. The folder of `scale`
//! imports it.

/// Why a scale is suggested.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Reason {
    /// It holds the chord and its tensions.
    Fits {
        /// Whether it is the suggestion rather than a further choice.
        first: bool,
        /// Whether all its notes are in the key.
        in_key: bool,
    },
    /// It holds the chord with a passing note more.
    PassingNote,
    /// No scale of the chord's family holds the chord, and of the others this one is
    /// nearest to the key.
    NearestToKey,
    /// No scale holds all that sounds.
    NoneHolds,
    /// The written b5 of a major chord is the scale's #11.
    Flat5IsSharp11,
    /// A tonic of minor, or of its relatives.
    AtHomeInMinor,
    /// A minor tonic with raised sixth or seventh.
    RaisedInMinor,
    /// The chord is the ii of a ii-V.
    TwoOfTwoFive,
    /// The scale adds a note a whole step above each tone of a diminished chord.
    WholeStepsAbove,
    /// The scale is the harmonic minor of the chord that a diminished chord leads to.
    HarmonicMinorAbove,
    /// The scale holds 9 beside a written #5.
    NineBesideSharp5,
    /// I7 or IV7 of a blues.
    AtHomeInBlues,
    /// IV7 of a blues takes #11 too.
    FourTakesSharp11,
    /// A dominant falls a half step.
    FallsHalfStep,
    /// A dominant steps up from bVII.
    StepsUpFromFlat7,
    /// A dominant leads to iii in the place of I.
    LeadsToThree,
    /// bVI7 takes #11.
    Flat6TakesSharp11,
    /// A dominant leads to the dominant and takes #11.
    Sharp11ToTheDominant,
    /// The chord is a tritone substitute.
    TritoneSubstitute,
    /// The chord is the backdoor dominant.
    Backdoor,
    /// An augmented chord on bIII of a minor key.
    Flat3OfMinor,
    /// The iv of a minor key.
    FourOfMinor,
    /// A minor chord from outside the key.
    MinorFromOutside,
    /// A dominant leads to minor.
    LeadsToMinor,
    /// A dominant leads to the dominant of a minor key.
    LeadsToDominantOfMinor,
    /// A dominant promises a minor chord and goes elsewhere.
    PromisesMinor,
    /// The dominant of a minor key, at rest.
    DominantOfMinor,
    /// A major pentatonic on the root.
    WithoutFourthAndSeventh,
    /// A major pentatonic a whole step above the root.
    WholeStepUp,
    /// A major pentatonic a tritone away from the root.
    TritoneAway,
    /// A minor pentatonic a fifth above the root of a suspended dominant.
    FifthUpSuspended,
    /// A minor pentatonic on the root.
    WithoutNinthAndThirteenth,
    /// A minor pentatonic a fifth above the root.
    FifthUp,
    /// The blues scale of the key, over a dominant.
    BluesThatRubs,
    /// The blues scale of the key, over a minor tonic.
    Blues,
}

impl Default for Reason {
    fn default() -> Self {
        Reason::Fits {
            first: false,
            in_key: false,
        }
    }
}
