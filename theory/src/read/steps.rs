//! How common progressions continue: pairs of chords that follow each other more often
//! than by chance. Imports `chord` and `harmonic_type`.

use super::harmonic_type::HarmonicType::{
    self, Diminished, Dominant, HalfDiminished, Major, Minor, MinorTonic, MinorTriad, Suspended,
};
use super::reason::Progression::{
    self, Backdoor, Chain, DiminishedGoal, Fifth, Fourth, Goal, HalfStep, Line, OfTheTonic,
    PassesDown, PassesUp, Resolves, SameRoot, Step, Substitute, Third, ThirdDown, ToDiminished,
    Tritone, TwoFive,
};
use super::reason::Reason;
use crate::chord::Chord;
use crate::quality::Quality;

/// The points for a pair whose second root lies `up` semitones above the first: ten if the pair
/// is twice as usual as its chords are elsewhere (common practice, no published source).
const fn pair(from: HarmonicType, up: u8, to: HarmonicType) -> Option<(i32, Progression)> {
    Some(match (up, from, to) {
        // Down a fifth.
        (5, Minor | MinorTriad | HalfDiminished, Dominant) => (20, TwoFive),
        (5, Minor | MinorTriad | HalfDiminished, Suspended) => (9, TwoFive),
        (5, Dominant, MinorTonic) => (24, Goal),
        (5, Dominant, Major | Minor | MinorTriad) => (20, Goal),
        (5, Suspended, Major | Minor | MinorTriad | MinorTonic) => (16, Goal),
        (5, Dominant | Suspended, Dominant) => (14, Chain),
        (5, Dominant | Suspended, Suspended) => (10, Chain),
        (5, Dominant | Suspended, HalfDiminished) => (8, Chain),
        (5, HalfDiminished, HalfDiminished) => (10, Fifth),
        (5, Minor | MinorTriad, Minor | MinorTriad) => (10, Fifth),
        (5, MinorTonic, Minor | MinorTriad | MinorTonic) => (8, Fifth),
        (5, MinorTonic, Dominant) => (-10, Fifth),
        (5, Major, Major | HalfDiminished | MinorTonic) => (8, Fifth),
        // On the same root.
        (0, Suspended, Dominant) => (26, Resolves),
        (0, MinorTriad | MinorTonic, MinorTonic) => (16, Line),
        (0, MinorTonic, MinorTriad) => (10, Line),
        (0, MinorTriad | MinorTonic, Minor) => (8, Line),
        (0, Minor, MinorTonic) => (8, Line),
        (0, Minor, HalfDiminished) => (18, SameRoot),
        (0, Major, Minor | MinorTriad | MinorTonic | Dominant) => (12, SameRoot),
        (0, Dominant, Minor) => (8, SameRoot),
        (0, Diminished, Major | Dominant) => (16, SameRoot),
        (0, Major, Diminished) => (14, SameRoot),
        (6, Dominant, Dominant) => (8, Tritone),
        // Around diminished chords.
        (1, Diminished, _) => (24, PassesUp),
        (11, Diminished, Major) => (8, PassesDown),
        (11, Diminished, _) => (22, PassesDown),
        (1, _, Diminished) => (18, ToDiminished),
        (11, _, Diminished) => (16, ToDiminished),
        (3, Major | Dominant, Diminished) => (8, ToDiminished),
        (6, Diminished, Major | Dominant | Minor | MinorTriad | MinorTonic) => (14, DiminishedGoal),
        // Down a half step.
        (11, Dominant, Major | Minor | MinorTriad | MinorTonic) => (18, HalfStep),
        (11, Dominant, Dominant | HalfDiminished) => (12, HalfStep),
        (11, Minor | HalfDiminished, Dominant) => (18, Substitute),
        (11, Major, HalfDiminished) => (10, Step),
        (6, Major, HalfDiminished) => (10, Tritone),
        (11, Minor | MinorTriad | MinorTonic | Major, Minor | MinorTriad) => (6, Step),
        (10, Diminished, Minor | HalfDiminished) => (14, DiminishedGoal),
        // Other progressions within a key.
        (2, Dominant, Major) => (14, Backdoor),
        (7, Dominant, Dominant | Major | Minor | MinorTriad | MinorTonic) => (8, Fourth),
        (10, Dominant, Dominant) => (6, Step),
        (3, Minor | MinorTriad, MinorTonic) => (8, Third),
        (7, MinorTonic, Major) => (16, Fourth),
        (7, Minor | MinorTriad, Major) => (10, Fourth),
        (2, Minor | MinorTriad | MinorTonic, HalfDiminished) => (12, OfTheTonic),
        (7, Minor | MinorTriad | MinorTonic, Dominant) => (8, OfTheTonic),
        (8, Minor | MinorTriad | MinorTonic, Major | Dominant) => (8, OfTheTonic),
        (7, Major, Dominant) => (4, OfTheTonic),
        (7, Major, Suspended) => (8, OfTheTonic),
        (9, Major, Minor | MinorTriad | Dominant) => (8, OfTheTonic),
        (2, Major | Minor | MinorTriad | MinorTonic, Dominant) => (8, Step),
        (5, Major, Dominant) => (8, Fifth),
        (6, Dominant, HalfDiminished | Minor) => (11, Tritone),
        (10, Minor | MinorTriad | MinorTonic, Dominant) => (6, Step),
        (10, Dominant, Major) => (6, Step),
        (2, Dominant, Minor | MinorTriad) => (10, Step),
        (1, Dominant, Major) => (8, Step),
        (9, Dominant, Minor | MinorTriad) => (6, ThirdDown),
        (1, Minor | MinorTriad, Major) | (2, Major, Major) => (8, Step),
        (3, Minor | MinorTriad, Major) => (6, Third),
        (5, MinorTriad, Major) => (10, Fifth),
        (7, Minor | MinorTriad, Minor | MinorTriad) => (6, Fourth),
        (9, Minor | MinorTriad, HalfDiminished) => (8, ThirdDown),
        (11, HalfDiminished, Major) => (8, Step),
        (2, Major, Minor | MinorTriad) => (6, OfTheTonic),
        (4, Major, Minor | Dominant) => (6, OfTheTonic),
        (2, Minor, Minor | Major) | (10, Minor, Minor) => (10, Step),
        _ => return None,
    })
}

fn between(from: &Chord, to: &Chord) -> Option<(i32, Progression)> {
    let up = to.root.class().above(from.root.class());
    let pair = pair(
        HarmonicType::of(from.quality),
        up,
        HarmonicType::of(to.quality),
    )?;
    // A major seventh over a minor root is nearly always part of a line.
    let raised = |chord: &Chord| chord.quality == Quality::MinorMajorSeventh;
    let line = up == 0 && raised(from) != raised(to);
    Some((pair.0 + if line { 10 } else { 0 }, pair.1))
}

/// The points that the chord before gives to this one, and why.
pub(super) fn follows(before: &Chord, chord: &Chord) -> Option<(i32, Reason)> {
    between(before, chord).map(|(points, pair)| (points, Reason::After(pair)))
}

/// The points that the chord after gives to this one, and why.
pub(super) fn leads(chord: &Chord, after: &Chord) -> Option<(i32, Reason)> {
    between(chord, after).map(|(points, pair)| (points, Reason::Before(pair)))
}

/// Whether the ear takes both for the same chord, apart from tensions.
pub(super) fn is_same(one: &Chord, other: &Chord) -> bool {
    one.root.class() == other.root.class() && one.quality == other.quality
}
