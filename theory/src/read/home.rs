//! How usual each kind of chord is on each degree of a key. Imports `key` and
//! `harmonic_type`.

use super::harmonic_type::HarmonicType;
use crate::chord::Chord;
use crate::key::{Key, Mode};
use crate::quality::Quality;

/// The points lost, by semitones of the root above the tonic. A chord that is half as usual
/// loses ten more.
type DegreePoints = [i32; 12];

/// Rows in the order of [`HarmonicType`] (common practice, no published source): a chord of
/// the key on its own degree, then the secondary dominants with their iis, the
/// parallel key, the substitutes, passing chords.
///                I bII  II bIII III  IV #IV   V bVI  VI bVII VII
const IN_MAJOR: [DegreePoints; 8] = [
    [0, 34, 46, 30, 50, 10, 52, 34, 28, 50, 42, 54],
    [18, 16, 14, 30, 18, 22, 40, 0, 30, 10, 22, 28],
    [32, 46, 28, 48, 32, 36, 54, 11, 46, 26, 36, 42],
    [40, 44, 0, 34, 10, 22, 40, 22, 46, 6, 38, 32],
    [36, 46, 4, 40, 10, 18, 46, 26, 48, 4, 42, 38],
    [40, 52, 36, 50, 42, 16, 52, 44, 52, 36, 48, 52],
    [46, 50, 22, 50, 22, 50, 24, 44, 50, 36, 50, 12],
    [28, 20, 34, 22, 34, 34, 20, 34, 24, 30, 34, 24],
];
const IN_MINOR: [DegreePoints; 8] = [
    [40, 26, 46, 10, 52, 34, 52, 40, 8, 52, 14, 54],
    [24, 18, 20, 24, 44, 16, 40, 0, 14, 44, 14, 40],
    [34, 46, 34, 40, 50, 34, 54, 14, 46, 50, 32, 50],
    [4, 46, 20, 42, 50, 4, 50, 22, 48, 50, 30, 50],
    [0, 48, 34, 46, 50, 4, 50, 22, 48, 50, 38, 50],
    [0, 52, 44, 52, 54, 12, 54, 42, 52, 54, 50, 54],
    [40, 52, 0, 52, 48, 44, 40, 30, 52, 16, 52, 46],
    [28, 34, 30, 34, 22, 30, 20, 34, 30, 30, 34, 8],
];

/// The points that a chord loses for its place in the key, 0 to 54.
pub(super) fn cost(chord: &Chord, key: Key) -> i32 {
    let table = match key.mode {
        Mode::Major | Mode::Blues => &IN_MAJOR,
        Mode::Minor => &IN_MINOR,
    };
    let [
        major,
        dominant,
        suspended,
        minor,
        triad,
        tonic,
        half,
        diminished,
    ] = table;
    let row = match HarmonicType::of(chord.quality) {
        HarmonicType::Major => major,
        HarmonicType::Dominant => dominant,
        HarmonicType::Suspended => suspended,
        HarmonicType::Minor => minor,
        HarmonicType::MinorTriad => triad,
        HarmonicType::MinorTonic => tonic,
        HarmonicType::HalfDiminished => half,
        HarmonicType::Diminished => diminished,
    };
    let above = usize::from(key.above(chord.root.class()));
    let on_degree = |row: &DegreePoints| row.get(above).copied().unwrap_or(54);
    match chord.quality {
        // I7 and IV7 are at home in a blues.
        Quality::Dominant if key.mode == Mode::Blues && matches!(above, 0 | 5) => 0,
        // A triad may stand for a dominant.
        Quality::Major => on_degree(row).min(on_degree(dominant) + 6),
        _ => on_degree(row),
    }
}
