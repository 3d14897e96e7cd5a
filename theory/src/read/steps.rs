//! How the trade's progressions continue: pairs of chords that follow each other
//! more often than chance would have it. Imports `chord` and `part`.

use super::part::Part::{
    self, Diminished, Dominant, Half, Major, Minor, MinorTonic, MinorTriad, Suspended,
};
use crate::chord::Chord;
use crate::quality::Quality;

/// Why the second chord of a pair stands there, and why the first one does.
struct Why(&'static str, &'static str);

const TWO: Why = Why("a V after its ii", "the ii of the chord after");
const GOAL: Why = Why(
    "the goal of the dominant before",
    "falls a fifth to the chord after",
);
const CHAIN: Why = Why(
    "a fifth below the dominant before",
    "falls a fifth to the chord after",
);
const FIFTH: Why = Why(
    "a fifth below the chord before",
    "a fifth above the chord after",
);
const RESOLVES: Why = Why(
    "the suspension before resolves",
    "resolves into the chord after",
);
const LINE: Why = Why("a line over one minor root", "a line over one minor root");
const SAME: Why = Why("the same root as before", "the same root as after");
const HALF_STEP: Why = Why(
    "a half step below the chord before",
    "falls a half step to the chord after",
);
const SUBSTITUTE: Why = Why(
    "a tritone substitute after its ii",
    "the ii before a tritone substitute",
);
const UP: Why = Why(
    "a half step above the diminished chord before",
    "passes up to the chord after",
);
const DOWN: Why = Why(
    "a half step below the diminished chord before",
    "passes down to the chord after",
);
const ACROSS: Why = Why(
    "the goal of the diminished chord before",
    "a diminished chord before its goal",
);
const TO_PASS: Why = Why(
    "a diminished chord next to the one before",
    "a diminished chord follows",
);
const ACROSS_A_TRITONE: Why = Why(
    "a tritone from the chord before",
    "a tritone from the chord after",
);
const BACKDOOR: Why = Why("the tonic after its backdoor", "steps up to the tonic");
const FOURTH: Why = Why(
    "a fourth below the chord before",
    "a fourth above the chord after",
);
const THIRD: Why = Why(
    "a third above the chord before",
    "a third below the chord after",
);
const THIRD_DOWN: Why = Why(
    "a third below the chord before",
    "a third above the chord after",
);
const STEP: Why = Why(
    "a step from the chord before",
    "a step from the chord after",
);
const OF_THE_TONIC: Why = Why("it follows its tonic", "the tonic before its chord");

/// What a pair is worth, the second root so many semitones up from the first: ten
/// points where it is twice as usual as its chords are elsewhere (common practice,
/// no published source).
const fn pair(from: Part, up: u8, to: Part) -> Option<(i32, Why)> {
    Some(match (up, from, to) {
        // Down a fifth.
        (5, Minor | MinorTriad | Half, Dominant) => (20, TWO),
        (5, Minor | MinorTriad | Half, Suspended) => (9, TWO),
        (5, Dominant, MinorTonic) => (24, GOAL),
        (5, Dominant, Major | Minor | MinorTriad) => (20, GOAL),
        (5, Suspended, Major | Minor | MinorTriad | MinorTonic) => (16, GOAL),
        (5, Dominant | Suspended, Dominant) => (14, CHAIN),
        (5, Dominant | Suspended, Suspended) => (10, CHAIN),
        (5, Dominant | Suspended, Half) => (8, CHAIN),
        (5, Half, Half) => (10, FIFTH),
        (5, Minor | MinorTriad, Minor | MinorTriad) => (10, FIFTH),
        (5, MinorTonic, Minor | MinorTriad | MinorTonic) => (8, FIFTH),
        (5, MinorTonic, Dominant) => (-10, FIFTH),
        (5, Major, Major | Half | MinorTonic) => (8, FIFTH),
        // On the same root.
        (0, Suspended, Dominant) => (26, RESOLVES),
        (0, MinorTriad | MinorTonic, MinorTonic) => (16, LINE),
        (0, MinorTonic, MinorTriad) => (10, LINE),
        (0, MinorTriad | MinorTonic, Minor) => (8, LINE),
        (0, Minor, MinorTonic) => (8, LINE),
        (0, Minor, Half) => (18, SAME),
        (0, Major, Minor | MinorTriad | MinorTonic | Dominant) => (12, SAME),
        (0, Dominant, Minor) => (8, SAME),
        (0, Diminished, Major | Dominant) => (16, SAME),
        (0, Major, Diminished) => (14, SAME),
        (6, Dominant, Dominant) => (8, ACROSS_A_TRITONE),
        // Around diminished chords.
        (1, Diminished, _) => (24, UP),
        (11, Diminished, Major) => (8, DOWN),
        (11, Diminished, _) => (22, DOWN),
        (1, _, Diminished) => (18, TO_PASS),
        (11, _, Diminished) => (16, TO_PASS),
        (3, Major | Dominant, Diminished) => (8, TO_PASS),
        (6, Diminished, Major | Dominant | Minor | MinorTriad | MinorTonic) => (14, ACROSS),
        // Down a half step.
        (11, Dominant, Major | Minor | MinorTriad | MinorTonic) => (18, HALF_STEP),
        (11, Dominant, Dominant | Half) => (12, HALF_STEP),
        (11, Minor | Half, Dominant) => (18, SUBSTITUTE),
        (11, Major, Half) => (10, STEP),
        (6, Major, Half) => (10, ACROSS_A_TRITONE),
        (11, Minor | MinorTriad | MinorTonic | Major, Minor | MinorTriad) => (6, STEP),
        (10, Diminished, Minor | Half) => (14, ACROSS),
        // Other ways of the key.
        (2, Dominant, Major) => (14, BACKDOOR),
        (7, Dominant, Dominant | Major | Minor | MinorTriad | MinorTonic) => (8, FOURTH),
        (10, Dominant, Dominant) => (6, STEP),
        (3, Minor | MinorTriad, MinorTonic) => (8, THIRD),
        (7, MinorTonic, Major) => (16, FOURTH),
        (7, Minor | MinorTriad, Major) => (10, FOURTH),
        (2, Minor | MinorTriad | MinorTonic, Half) => (12, OF_THE_TONIC),
        (7, Minor | MinorTriad | MinorTonic, Dominant) => (8, OF_THE_TONIC),
        (8, Minor | MinorTriad | MinorTonic, Major | Dominant) => (8, OF_THE_TONIC),
        (7, Major, Dominant) => (4, OF_THE_TONIC),
        (7, Major, Suspended) => (8, OF_THE_TONIC),
        (9, Major, Minor | MinorTriad | Dominant) => (8, OF_THE_TONIC),
        (2, Major | Minor | MinorTriad | MinorTonic, Dominant) => (8, STEP),
        (5, Major, Dominant) => (8, FIFTH),
        (6, Dominant, Half | Minor) => (11, ACROSS_A_TRITONE),
        (10, Minor | MinorTriad | MinorTonic, Dominant) => (6, STEP),
        (10, Dominant, Major) => (6, STEP),
        (2, Dominant, Minor | MinorTriad) => (10, STEP),
        (1, Dominant, Major) => (8, STEP),
        (9, Dominant, Minor | MinorTriad) => (6, THIRD_DOWN),
        (1, Minor | MinorTriad, Major) | (2, Major, Major) => (8, STEP),
        (3, Minor | MinorTriad, Major) => (6, THIRD),
        (5, MinorTriad, Major) => (10, FIFTH),
        (7, Minor | MinorTriad, Minor | MinorTriad) => (6, FOURTH),
        (9, Minor | MinorTriad, Half) => (8, THIRD_DOWN),
        (11, Half, Major) => (8, STEP),
        (2, Major, Minor | MinorTriad) => (6, OF_THE_TONIC),
        (4, Major, Minor | Dominant) => (6, OF_THE_TONIC),
        (2, Minor, Minor | Major) | (10, Minor, Minor) => (10, STEP),
        _ => return None,
    })
}

fn between(from: &Chord, to: &Chord) -> Option<(i32, Why)> {
    let up = to.root.class().above(from.root.class());
    let pair = pair(Part::of(from.quality), up, Part::of(to.quality))?;
    // A major seventh over a minor root is hardly ever anything but a line.
    let raised = |chord: &Chord| chord.quality == Quality::MinorMajorSeventh;
    let line = up == 0 && raised(from) != raised(to);
    Some((pair.0 + if line { 10 } else { 0 }, pair.1))
}

/// What the chord before says for this one.
pub(super) fn follows(before: &Chord, chord: &Chord) -> Option<(i32, &'static str)> {
    between(before, chord).map(|(points, why)| (points, why.0))
}

/// What the chord after says for this one.
pub(super) fn leads(chord: &Chord, after: &Chord) -> Option<(i32, &'static str)> {
    between(chord, after).map(|(points, why)| (points, why.1))
}

/// Whether both are one chord to the ear, tensions apart.
pub(super) fn is_same(one: &Chord, other: &Chord) -> bool {
    one.root.class() == other.root.class() && one.quality == other.quality
}
