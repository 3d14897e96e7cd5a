//! How far a single chord is from home in a key, whatever chords surround it. Imports `rooted`.

use super::rooted::RootedChord;
use super::{Key, Mode};
use crate::chord::Chord;
use crate::quality::ChordFamily;

/// Price of a chord in a key, by semitones of its root above the tonic.
type Prices = [i32; 12];

/// Rows in the order of [`ChordFamily`]: major, dominant, minor, half-diminished, diminished.
///                      I bII II bIII III IV #IV V bVI VI bVII VII
const IN_MAJOR: [Prices; 5] = [
    [0, 5, 6, 4, 8, 1, 8, 2, 4, 8, 4, 8],
    [3, 2, 3, 4, 3, 4, 5, 0, 4, 2, 2, 4],
    [6, 7, 0, 5, 2, 3, 6, 3, 7, 1, 6, 5],
    [7, 7, 3, 7, 3, 7, 3, 6, 7, 4, 7, 2],
    [3, 2, 3, 2, 4, 4, 2, 4, 2, 4, 4, 3],
];
const IN_MINOR: [Prices; 5] = [
    [7, 3, 8, 1, 8, 5, 8, 3, 1, 8, 3, 8],
    [3, 2, 3, 3, 5, 3, 5, 0, 2, 5, 2, 4],
    [0, 7, 4, 5, 7, 1, 7, 3, 7, 7, 4, 7],
    [4, 7, 0, 7, 6, 6, 5, 4, 7, 2, 7, 4],
    [3, 3, 2, 3, 3, 2, 2, 3, 2, 3, 3, 1],
];

/// How far a chord is from home in a key, 0 to 9. The key's own chords on their own degrees
/// have 0.
#[must_use]
pub fn strangeness(chord: &Chord, key: Key) -> i32 {
    let part = RootedChord::of(chord);
    let above = key.above(part.class);
    if key.mode == Mode::Blues && part.is(ChordFamily::Dominant) && matches!(above, 0 | 5) {
        return 0;
    }
    let table = match key.mode {
        Mode::Major | Mode::Blues => &IN_MAJOR,
        Mode::Minor => &IN_MINOR,
    };
    let [major, dominant, minor, half, diminished] = table;
    let row = match part.family {
        ChordFamily::Major => major,
        ChordFamily::Dominant | ChordFamily::Suspended => dominant,
        ChordFamily::Minor => minor,
        ChordFamily::HalfDiminished => half,
        ChordFamily::Diminished => diminished,
    };
    row.get(usize::from(above)).copied().unwrap_or(9)
}
