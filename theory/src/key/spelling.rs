//! The names of the keys of a chart, as its chords spell them. Imports `tonality`.

use super::Key;
use super::tonality::Tonality;
use crate::chord::Chord;
use std::collections::{HashMap, HashSet};

/// The keys, with tonics spelled as in most of their chords: a chart of E flat minor has no D
/// sharp minor. If the chords do not agree, or none of them is simple, the usual name is taken.
/// A key has seven signs only if its tonic chord is written so.
pub(super) fn spelled<'a>(keys: &[Tonality], chords: impl Iterator<Item = &'a Chord>) -> Vec<Key> {
    // For each tonic and mode, the number of chords with roots of the other name, minus the
    // number with roots of the usual name.
    let mut voices: HashMap<Key, i32> = HashMap::new();
    let mut tonics: HashSet<Key> = HashSet::new();
    for (key, chord) in keys.iter().zip(chords) {
        let usual = Key::usual(key.tonic, key.mode);
        let Some(other) = other(usual) else { continue };
        if chord.root == other.tonic && other.is_home(chord) {
            tonics.insert(other);
        }
        let class = chord.root.class();
        let [usual_root, other_root] = [usual, other].map(|key| key.name(class));
        if usual_root != other_root {
            let voice = i32::from(chord.root == other_root) - i32::from(chord.root == usual_root);
            *voices.entry(usual).or_default() += voice;
        }
    }
    let name = |key: &Tonality| {
        let usual = Key::usual(key.tonic, key.mode);
        let wins = voices.get(&usual).is_some_and(|voice| *voice > 0);
        let is_plain = |key: &Key| key.signature().abs() < 7 || tonics.contains(key);
        let other = other(usual).filter(|_| wins).filter(is_plain);
        other.unwrap_or(usual)
    };
    keys.iter().map(name).collect()
}

/// The key by its other name, if that has at most seven signs.
fn other(usual: Key) -> Option<Key> {
    [12, -12]
        .map(|fifths| Key {
            tonic: usual.tonic.along_fifths(fifths),
            mode: usual.mode,
        })
        .into_iter()
        .find(|key| key.signature().abs() <= 7)
}
