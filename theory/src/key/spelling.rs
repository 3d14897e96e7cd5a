//! The names of the keys of a chart: as its chords spell them.

use super::Key;
use super::hear::Tonality;
use crate::chord::Chord;
use std::collections::HashMap;

/// The keys, with tonics spelled as most of their chords have it: a chart of E flat
/// minor has no D sharp minor. Where chords do not agree, or none is simple, the
/// usual name.
pub(super) fn spelled<'a>(keys: &[Tonality], chords: impl Iterator<Item = &'a Chord>) -> Vec<Key> {
    // By tonic and mode: chords that speak for sharps, less those for flats.
    let mut voices: HashMap<Key, i32> = HashMap::new();
    for (key, chord) in keys.iter().zip(chords) {
        let usual = Key::usual(key.tonic, key.mode);
        let expected = usual.name(chord.root.class()).fifths();
        *voices.entry(usual).or_default() += i32::from((chord.root.fifths() - expected).signum());
    }
    let name = |key: &Tonality| {
        let usual = Key::usual(key.tonic, key.mode);
        let voice = voices.get(&usual).copied().unwrap_or(0);
        let other = Key {
            tonic: usual.tonic.along_fifths(if voice > 0 { 12 } else { -12 }),
            mode: key.mode,
        };
        if voice != 0 && other.signature().abs() <= 7 {
            other
        } else {
            usual
        }
    };
    keys.iter().map(name).collect()
}
