//! The families of substitutions. Imports nothing; the folder of `reharm` imports it.

/// The families of substitutions, in the order that breaks ties.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Substitution {
    /// Alterations of a dominant on its own root.
    AlteredDominant,
    /// A dominant a tritone away, on the same guide tones.
    TritoneSubstitute,
    /// The ii before a dominant.
    RelatedTwo,
    /// The dominant of the chord that follows.
    SecondaryDominant,
    /// Suspended dominants for ii and V.
    Suspension,
    /// bVII7, with or without iv before it, for V.
    Backdoor,
    /// Passing, common-tone and leading-tone diminished sevenths.
    Diminished,
    /// An inner line by half steps over one root.
    LineCliche,
    /// Chords that step to the next one.
    Approach,
    /// The stock of the blues.
    Blues,
    /// Another chord where the dominant promises the tonic.
    Deceptive,
    /// Chords of the key that share most of their notes.
    Relative,
    /// Chords of the parallel key, the minor plagal among them.
    Interchange,
    /// Dominants that fall by fifths, or by half steps.
    Chain,
    /// ii-V a half step off and back.
    SideSlip,
    /// Four chords that lead back to the tonic.
    Turnaround,
    /// Tonics a major third apart, each with its dominant.
    ThirdsCycle,
    /// One bass note under a run of chords.
    Pedal,
}

impl Substitution {
    /// Every family, in order.
    pub const ALL: [Substitution; 18] = [
        Substitution::AlteredDominant,
        Substitution::TritoneSubstitute,
        Substitution::RelatedTwo,
        Substitution::SecondaryDominant,
        Substitution::Suspension,
        Substitution::Backdoor,
        Substitution::Diminished,
        Substitution::LineCliche,
        Substitution::Approach,
        Substitution::Blues,
        Substitution::Deceptive,
        Substitution::Relative,
        Substitution::Interchange,
        Substitution::Chain,
        Substitution::SideSlip,
        Substitution::Turnaround,
        Substitution::ThirdsCycle,
        Substitution::Pedal,
    ];
}
