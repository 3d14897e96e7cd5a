//! The parts that chords play in a key, and where dominants go. Imports nothing; the folder of
//! `key` imports it.

/// How a numeral is written for the chord on its degree.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Case {
    /// Upper case: a major third, or none.
    Upper,
    /// Lower case: a minor third.
    Lower,
    /// Lower case with a slashed circle: half-diminished.
    HalfDiminished,
    /// Lower case with a circle: diminished.
    Diminished,
    /// As [`Case::Diminished`], on a degree that is raised on its way up. It is `#i°`, which
    /// would be `bii°` on its way down.
    RaisedDiminished,
}

/// A degree of a key in Roman numerals: `ii`, `bVI`, `viiø`, `#iv°`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Numeral {
    /// Semitones above the tonic, 0 to 11.
    pub above: u8,
    /// How it is written.
    pub case: Case,
}

/// A chord's part in its key. The numerals of targets count from the tonic. They have the case
/// of the target chord, or of the key's own chord if no such chord follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// The tonic. In the blues it may be a dominant seventh.
    Tonic,
    /// The ii of the key, on its way to V or to the substitute of V.
    Two,
    /// The dominant of the key.
    Dominant,
    /// A chord of the key on its own degree.
    Diatonic,
    /// A dominant seventh at rest on I or IV, a colour of the blues.
    Home,
    /// The dominant of another degree, even if it goes elsewhere.
    SecondaryDominant(Numeral),
    /// The ii beside the dominant of another degree.
    RelatedTwo(Numeral),
    /// A dominant a half step above its target.
    TritoneSubstitute(Numeral),
    /// The ii beside a dominant that is a tritone substitute.
    SubstituteTwo,
    /// bVII7 that steps up to I, or leads to the iii that stands for I. After iv it is this
    /// even if it goes elsewhere.
    Backdoor,
    /// The iv before that bVII7.
    BackdoorTwo,
    /// bVI7 before V or ii.
    FlatSix,
    /// A diminished chord a half step below or above the next root, or #iv° before I.
    PassingDiminished,
    /// A diminished chord on the root of the chord it goes to.
    CommonToneDiminished,
    /// The diminished chord on the leading tone.
    LeadingTone,
    /// A chord of the parallel key.
    Borrowed,
    /// A chord from further away.
    Chromatic,
}

/// Where a chord goes, as far as the tensions of a dominant depend on it. All chords that are
/// not dominants rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Resolution {
    /// Down a fifth to a major chord.
    FifthToMajor,
    /// Down a fifth to a minor or half-diminished chord.
    FifthToMinor,
    /// Down a fifth to a diminished chord.
    FifthToDiminished,
    /// Down a fifth to a chord that has no third.
    FifthToBare,
    /// Down a fifth to another dominant, in a chain.
    FifthToDominant,
    /// Down a half step.
    HalfStep,
    /// bVII7 up a step to I.
    Backdoor,
    /// bVII7 to the iii that stands for I.
    BackdoorToThree,
    /// bVI7 to V or ii.
    FlatSix,
    /// II7 to ii or V in major.
    ToTheDominant,
    /// II7 to V in minor.
    ToTheMinorDominant,
    /// To another chord than the major chord of which it is the dominant.
    DeceptiveFromMajor,
    /// To another chord than the minor chord of which it is the dominant.
    DeceptiveFromMinor,
    /// A dominant on II that goes elsewhere.
    DeceptiveFromTwo,
    /// A dominant that goes elsewhere from a degree that promises nothing: bII, bIII, #IV, bVI,
    /// bVII.
    Elsewhere,
    /// The I7 of a blues before its IV7, at the end of the first line.
    ToFour,
    /// It stays on IV, or returns to I from there.
    RestOnFour,
    /// It stays.
    Rest,
}

impl Resolution {
    /// Every resolution.
    pub const ALL: [Resolution; 18] = [
        Resolution::FifthToMajor,
        Resolution::FifthToMinor,
        Resolution::FifthToDiminished,
        Resolution::FifthToBare,
        Resolution::FifthToDominant,
        Resolution::HalfStep,
        Resolution::Backdoor,
        Resolution::BackdoorToThree,
        Resolution::FlatSix,
        Resolution::ToTheDominant,
        Resolution::ToTheMinorDominant,
        Resolution::DeceptiveFromMajor,
        Resolution::DeceptiveFromMinor,
        Resolution::DeceptiveFromTwo,
        Resolution::Elsewhere,
        Resolution::ToFour,
        Resolution::RestOnFour,
        Resolution::Rest,
    ];

    /// Whether the root falls a fifth.
    #[must_use]
    pub const fn falls_a_fifth(self) -> bool {
        matches!(
            self,
            Resolution::FifthToMajor
                | Resolution::FifthToMinor
                | Resolution::FifthToDiminished
                | Resolution::FifthToBare
                | Resolution::FifthToDominant
                | Resolution::ToFour
        )
    }
}
