//! The names of proposals. `words` puts them into words. Imports `key`; the folder of `reharm`
//! imports it.

use crate::key::Numeral;

/// What a proposal does, as the trade names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Name {
    /// A dominant with b9 and 13.
    Flat9And13,
    /// A dominant with #11.
    Sharp11,
    /// A dominant with b9 and b13.
    Flat9AndFlat13,
    /// A dominant with #9 and b13.
    Sharp9AndFlat13,
    /// An altered dominant.
    Altered,
    /// The backdoor dominant.
    BackdoorDominant,
    /// iv and the backdoor dominant.
    BackdoorTwoFive,
    /// A chord, then two dominants by fifths.
    TwoByFifths,
    /// A chord, then three dominants by fifths.
    ThreeByFifths,
    /// A chord, then two dominants by half steps.
    TwoByHalfSteps,
    /// A chord, then three dominants by half steps.
    ThreeByHalfSteps,
    /// Chords whose roots fall by fifths, as dominants.
    ByFifths,
    /// The same with every second dominant substituted.
    ByHalfSteps,
    /// Another chord in the place of the tonic.
    Deceptive(Numeral),
    /// The tonic, after another chord.
    DelayedBy(Numeral),
    /// The tonic, after two other chords.
    DelayedByTwo(Numeral, Numeral),
    /// A major tonic in a minor key.
    MajorEnding,
    /// A diminished chord between two roots, upwards.
    PassingUp,
    /// A diminished chord between two roots, downwards.
    PassingDown,
    /// #iv° between IV and I.
    RaisedFour,
    /// #iv° for an IV that has sounded.
    RaisedFourForFour,
    /// 1 7 b7 6 over a minor chord.
    ClicheInMinor,
    /// A bass that goes 1 7 b7 6 under a minor triad.
    ClicheInBass,
    /// 5 #5 6 over a major tonic.
    ClicheInMajor,
    /// The shape of the next chord a half step above it.
    ApproachFromAbove,
    /// The shape of the next chord a half step below it.
    ApproachFromBelow,
    /// Chords of the key between two roots, upwards.
    WalkUp,
    /// Chords of the key between two roots, downwards.
    WalkDown,
    /// IV7 in the second bar of a blues.
    QuickChange,
    /// VI7 for I7 before the ii of a blues.
    SixSeven,
    /// iiiø-VI7 for I7 before the ii of a blues.
    TwoFiveOfTwo,
    /// Dominants by half steps from I7 down to VI7.
    DownToSix,
    /// Two ii-Vs for I7 before the ii of a blues, on its third degree and a half step below.
    TwoFivesDown,
    /// V-IV for the ii-V of a blues.
    FiveFourForTwoFive,
    /// ii-V for the V-IV of a blues.
    TwoFiveForFiveFour,
    /// bVI7-V7 for the V-IV of a blues.
    FlatSixFiveForFiveFour,
    /// biii° between I and ii.
    AboveTwo,
    /// The diminished chord on the leading tone, for a dominant.
    LeadingTone,
    /// A diminished chord on the same root before the chord.
    CommonToneDelay,
    /// A diminished chord on the same root in the middle of the chord.
    CommonToneOutAndBack,
    /// One chord of a key, or of its parallel key, for another.
    For {
        /// The chord that is new.
        new: Numeral,
        /// The chord that it replaces.
        old: Numeral,
    },
    /// IV7 for the iv of a minor key.
    FourSeven,
    /// iv in the place of IV on the way to the tonic.
    MinorPlagal,
    /// IV, then iv.
    FourTurnsMinor,
    /// The fifth of the key under all chords.
    DominantPedal,
    /// The tonic under all chords.
    TonicPedal,
    /// The ii before its V.
    TwoBeforeFive,
    /// A half-diminished ii for a ii whose V goes to minor.
    HalfDiminishedTwo,
    /// The ii-V of the tritone substitute.
    SubstituteTwoFive,
    /// The dominant of the next chord.
    BeforeNext,
    /// The dominant of the tonic that follows.
    BeforeTonic,
    /// A dominant on the root of the chord.
    OnTheSameRoot,
    /// The ii-V of the next chord.
    TwoFiveBeforeNext,
    /// The substitute dominant of the next chord.
    SubstituteBeforeNext,
    /// The substitute dominant of the next chord for all of a chord.
    SubstituteForChord,
    /// A ii-V after one a half step above it.
    SlipFromAbove,
    /// A ii-V, one a half step above it, and the first again.
    SlipAboveAndBack,
    /// A ii-V after one a half step below it.
    SlipFromBelow,
    /// A ii-V, one a half step below it, and the first again.
    SlipBelowAndBack,
    /// A minor chord, one a half step above it, and the first again.
    SlipOnMinor,
    /// A suspension for a ii-V.
    SusForTwoFive,
    /// A suspension and its V for a ii-V.
    SusThenFive,
    /// The ii over the root of the V.
    TwoOverFive,
    /// A suspension before its V.
    SusBeforeFive,
    /// A suspension for a V.
    SusForFive,
    /// The thirds cycle for ii-V-I.
    CycleForTwoFiveOne,
    /// The thirds cycle for V-I.
    CycleForFiveOne,
    /// The thirds cycle between two tonics.
    CycleFromOneToOne,
    /// The tritone substitute for a dominant.
    Substitute,
    /// A dominant, then its tritone substitute.
    ThenSubstitute,
    /// A dominant for its tritone substitute.
    ForSubstitute,
    /// Four chords back to the tonic.
    Turnaround(Turnaround),
}

/// The turnarounds, by their chords.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Turnaround {
    /// I-vi-ii-V
    Plain,
    /// I-VI7-ii-V
    WithSecondary,
    /// iii-VI7-ii-V
    FromThree,
    /// I-#i°-ii-V
    RaisedOne,
    /// I-biii°-ii-V
    DiminishedThree,
    /// iii-biii°-ii-V
    FromThreeDiminished,
    /// I-VI7-II7-V7
    Dominants,
    /// III7-VI7-II7-V7
    DominantsFromThree,
    /// I-vi-ii-bII7
    Substitute,
    /// I-bIII7-bVI7-bII7
    Substitutes,
    /// I-bIII-bVI-bII in major sevenths
    MajorSevenths,
    /// i-viø-iiø-V
    PlainInMinor,
    /// i-bVI-iiø-V
    FlatSixInMinor,
    /// i-bIII-bVI-bII
    MajorSeventhsInMinor,
    /// i-bIII7-bVI7-V7
    DominantsInMinor,
}
