//! The reasons why proposals work, and the notes that rule them out. `words` puts both into words.
//! Imports `key` and what is above it; the folder of `reharm` imports it.

use crate::chord::Chord;
use crate::degree::Degree;
use crate::pitch::NoteName;

/// How a dominant moves on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fall {
    /// Down a fifth.
    Fifth,
    /// Down a fifth to a minor or half-diminished chord.
    FifthToMinor,
    /// Down a half step.
    HalfStep,
}

/// Where a borrowed chord comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Lender {
    /// The parallel major key.
    Major,
    /// The parallel minor key.
    Minor,
    /// Dorian on the same tonic.
    Dorian,
    /// Phrygian on the same tonic.
    Phrygian,
}

/// Why a proposal works.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Reason {
    /// The dominant falls and bears tensions that lead on.
    BearsTensions {
        /// The dominant.
        five: Chord,
        /// How it falls.
        fall: Fall,
    },
    /// The dominant falls, so all its tensions may be altered.
    MayBeAltered {
        /// The dominant.
        five: Chord,
        /// How it falls.
        fall: Fall,
    },
    /// The new chord steps up to the next one.
    StepsUp {
        /// The new chord.
        new: Chord,
        /// The next one.
        next: Chord,
    },
    /// The first chord prepares the second, which steps up to the next one.
    PreparesStepUp {
        /// The first new chord.
        before: Chord,
        /// The second one.
        new: Chord,
        /// The chord after both.
        next: Chord,
    },
    /// Each dominant leads to the next one.
    EachLeads {
        /// The chord after the last.
        next: Chord,
    },
    /// The roots fall by fifths already.
    RootsFallByFifths {
        /// The chord after the last.
        next: Chord,
    },
    /// With every second dominant substituted the roots fall by half steps.
    RootsFallByHalfSteps {
        /// The chord after the last.
        next: Chord,
    },
    /// The chord before promises a tonic that does not come.
    PromisesTonic {
        /// The chord before.
        before: Chord,
        /// The tonic.
        tonic: Chord,
    },
    /// Another chord comes first, and the tonic late.
    TonicComesLate {
        /// The other chord.
        first: Chord,
        /// The tonic.
        tonic: Chord,
    },
    /// The diminished chord is a dominant with b9 without its root.
    WithoutRoot {
        /// The diminished chord.
        new: Chord,
        /// The dominant with its b9.
        five: Chord,
    },
    /// The root of the new chord rises a half step to the fifth of the next one.
    RisesToFifth {
        /// The new chord.
        new: Chord,
        /// The next one.
        next: Chord,
    },
    /// A voice falls by half steps from the root while the chord stays.
    LineFalls {
        /// The minor triad that stays.
        triad: Chord,
    },
    /// The bass falls by half steps from the root while the triad stays.
    BassFalls {
        /// The minor triad that stays.
        triad: Chord,
    },
    /// A voice rises by half steps from the fifth while the chord stays.
    LineRises {
        /// The major triad that stays.
        triad: Chord,
    },
    /// The new chord is the next one, a half step beside it.
    HalfStepBeside {
        /// The new chord.
        new: Chord,
        /// The next one.
        next: Chord,
    },
    /// The roots go through the key by steps.
    StepsThroughKey {
        /// The chord that they reach.
        next: Chord,
    },
    /// A blues leaves its I7 for IV7 and comes back.
    OutAndBackHome {
        /// IV7.
        new: Chord,
    },
    /// The two chords are another road to the tonic.
    RoadHome {
        /// The tonic.
        next: Chord,
    },
    /// Dominants fall by half steps to one that leads on.
    SlidesTo {
        /// The last of them.
        six: Chord,
        /// The chord that it leads to.
        next: Chord,
    },
    /// Each ii lies a half step above the next one.
    TwoFivesDown {
        /// The last ii.
        next: Chord,
    },
    /// The bass moves by half steps.
    BassByHalfSteps {
        /// The chord that it moves to.
        next: Chord,
    },
    /// The new chord falls a half step.
    FallsHalfStep {
        /// The new chord.
        new: Chord,
        /// The chord that it falls to.
        next: Chord,
    },
    /// The new chord falls a fifth.
    FallsFifth {
        /// The new chord.
        new: Chord,
        /// The chord that it falls to.
        next: Chord,
    },
    /// Both chords have one root.
    SharesRoot {
        /// The new chord.
        new: Chord,
        /// The old one.
        old: Chord,
    },
    /// The new chord is borrowed.
    ComesFrom {
        /// The new chord.
        new: Chord,
        /// Where it comes from.
        lender: Lender,
    },
    /// The third falls on its way to the tonic, by a chord of the parallel minor.
    ThirdFalls {
        /// The new chord.
        new: Chord,
    },
    /// One note stays in the bass.
    StaysInBass {
        /// The note.
        bass: NoteName,
    },
    /// The old ii-V moves a tritone away and falls a half step.
    TritoneAway {
        /// The old ii.
        two: Chord,
        /// The old V.
        five: Chord,
        /// The chord after both.
        next: Chord,
    },
    /// The new chord prepares a dominant.
    Prepares {
        /// The new chord.
        new: Chord,
        /// The dominant.
        five: Chord,
    },
    /// The substitute of a dominant comes with a ii of its own.
    SubstituteWithTwo {
        /// The dominant.
        five: Chord,
        /// The chord after it.
        next: Chord,
    },
    /// The two chords have notes in common.
    SharesNotes {
        /// The new chord.
        new: Chord,
        /// The old one, as it was written.
        old: Chord,
        /// How many notes of the new chord the old one states, two to four.
        count: u8,
    },
    /// The new chord leads to the next one.
    LeadsTo {
        /// The new chord.
        new: Chord,
        /// The next one.
        next: Chord,
    },
    /// A ii and a V lead to the next chord.
    TwoFiveLeads {
        /// The ii.
        two: Chord,
        /// The V.
        five: Chord,
        /// The next chord.
        next: Chord,
    },
    /// Two chords lie a half step beside the key.
    BesideKey {
        /// The first chord.
        two: Chord,
        /// The second one.
        five: Chord,
    },
    /// The new chord lies a half step above and falls back.
    AboveAndBack {
        /// The new chord.
        new: Chord,
    },
    /// The suspension holds a ii over the root of its V.
    HoldsOver {
        /// The suspension.
        sus: Chord,
        /// The ii.
        two: Chord,
        /// The V.
        five: Chord,
    },
    /// The fourth of a suspension falls to the third of the V.
    FourthFallsToThirdOf {
        /// The suspension.
        sus: Chord,
        /// The V.
        five: Chord,
    },
    /// A slash chord sounds as a suspension.
    SoundsAs {
        /// The slash chord.
        slash: Chord,
        /// The suspension.
        sus: Chord,
    },
    /// The fourth of a suspension falls to its third.
    FourthFalls {
        /// The suspension.
        sus: Chord,
    },
    /// A suspension keeps the third open.
    KeepsThirdOpen {
        /// The suspension.
        sus: Chord,
    },
    /// Tonics a major third apart lead round to a tonic.
    LeadRound {
        /// The tonic.
        tonic: Chord,
    },
    /// The substitute has the guide tones of the dominant and falls a half step.
    SameGuideTones {
        /// The substitute.
        new: Chord,
        /// The dominant.
        five: Chord,
        /// The chord after it.
        next: Chord,
    },
    /// Four chords lead back to the tonic.
    LeadBack {
        /// The tonic.
        next: Chord,
    },
}

/// A note of the melody that clashes with a chord of a proposal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct ClashingNote {
    /// The note.
    pub note: NoteName,
    /// The chord under it.
    pub chord: Chord,
    /// The chord tone that lies a half step below the note. None if the note is only in no
    /// scale of the chord.
    pub above: Option<Degree>,
}
