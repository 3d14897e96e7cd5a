//! Chords in another key: each key of a chart that modulates is spelled for itself. Imports `chord`
//! and `key`.
//!
//! The prices are common practice, no published source.

use crate::chord::{Chord, Triad};
use crate::degree::Degree;
use crate::key::Key;
use crate::pitch::NoteName;
use std::ops::RangeInclusive;

/// The names of roots, in fifths from C: from G flat to A sharp. Every class has one or two.
const ROOTS: RangeInclusive<i8> = -6..=10;

/// F flat, C flat, E sharp and B sharp, in fifths from C. They are no roots.
const SIGNED_WHITE_KEYS: [i8; 4] = [-8, -7, 11, 12];

/// The most signs of a key that is read.
const MOST_SIGNS: i8 = 6;

/// A chord that leaves the spelling of its key.
const OUT_OF_KEY: u32 = 6;
/// A tonic that leaves the spelling of its key.
const TONIC_OUT_OF_KEY: u32 = 40;
/// A root that falls a fifth between names that do not say so. It costs more than two chords out of
/// their key, so that a ii-V goes with the chord that it leads to.
const HIDDEN_FIFTH: u32 = 14;
/// Another motion of the root between names that lie far apart.
const FAR_ROOTS: u32 = 1;
/// Keys with more than six signs between them.
const FAR_KEYS: u32 = 1;
/// A name of a bass or of a triad with two signs.
const TWO_SIGNS: u32 = 40;
/// A bass with a sign on a white key.
const SIGNED_BASS: u32 = 1;
/// A chord whose third or seventh would have two sharps, such as D sharp major seventh.
const DOUBLE_SHARPS: u32 = 40;
/// The spelling of a key that changes within the key: never worth it.
const CHANGE_IN_KEY: u32 = 1_000;

/// The chords so many half steps higher, each with the key that it was in. Within a key the names
/// keep their distances. Each key has at most six signs, so the names change sides where a key
/// ends, and of G flat and F sharp the one is taken that spells its chords with fewer exceptions.
///
/// A root is never a white key with a sign. A bass that is a note of its chord has the name of its
/// degree, and a root takes its other name rather than give its bass two signs.
///
/// By no half steps, or by an octave, the chords stay as they are.
#[must_use]
pub fn transposed(chords: &[Option<(Chord, Key)>], half_steps: i8) -> Vec<Option<Chord>> {
    let half_steps = half_steps.rem_euclid(12);
    if half_steps == 0 {
        return chords.iter().map(|c| c.map(|(chord, _)| chord)).collect();
    }
    let options: Vec<Vec<Spelling>> = chords
        .iter()
        .flatten()
        .map(|(chord, key)| Spelling::options(chord, *key, half_steps))
        .collect();
    let mut chosen = cheapest(&options).into_iter();
    chords
        .iter()
        .map(|chord| chord.and_then(|_| chosen.next()))
        .collect()
}

/// A way to spell a chord and its key in their new place.
#[derive(Clone, Copy)]
struct Spelling {
    chord: Chord,
    /// The key in which the chord was.
    was: Key,
    /// The signs of the key in which it is.
    signs: i8,
    price: u32,
}

impl Spelling {
    /// Flats come first.
    fn options(chord: &Chord, was: Key, half_steps: i8) -> Vec<Spelling> {
        let class = |name: NoteName| name.class().up(half_steps);
        let (root, tonic) = (class(chord.root), class(was.tonic));
        let keys = (-MOST_SIGNS..=MOST_SIGNS).filter_map(|signs| {
            let fifths = signs - was.signature();
            (was.tonic.along_fifths(fifths).class() == tonic).then_some(fifths)
        });
        let names = ROOTS.map(NoteName::from_fifths);
        let names: Vec<NoteName> = names.filter(|name| name.class() == root).collect();
        let of_key = |fifths| names.iter().map(move |name| (fifths, *name));
        keys.flat_map(of_key)
            .map(|(fifths, root)| Spelling::new(chord, was, fifths, root))
            .collect()
    }

    /// The chord on another root, in a key that has moved so many fifths.
    fn new(chord: &Chord, was: Key, of_key: i8, root: NoteName) -> Spelling {
        let fifths = root.fifths() - chord.root.fifths();
        let mut moved = chord.transposed(fifths);
        moved.bass = moved.bass.map(|bass| by_degree(&moved, bass));
        let mut price = 0;
        if fifths != of_key {
            let home = was.is_home(chord);
            price += if home { TONIC_OUT_OF_KEY } else { OUT_OF_KEY };
        }
        if moved.degrees().contains(Degree::Three)
            && matches!(moved.seventh(), Some(Degree::Seven | Degree::Six))
            && root.fifths() >= 8
        {
            price += DOUBLE_SHARPS;
        }
        let upper = moved.upper.map(Triad::root);
        for name in moved.bass.into_iter().chain(upper) {
            if has_two_signs(name) {
                price += TWO_SIGNS;
            } else if SIGNED_WHITE_KEYS.contains(&name.fifths()) {
                price += SIGNED_BASS;
            }
        }
        moved.bass = moved.bass.map(plainer);
        moved.upper = moved
            .upper
            .and_then(|triad| Triad::new(plainer(triad.root()), triad.quality()));
        Spelling {
            chord: moved,
            was,
            signs: was.signature() + of_key,
            price,
        }
    }

    /// What it costs to go on to another one.
    fn price_to(&self, next: &Spelling) -> u32 {
        let of_keys = match (next.signs - self.signs).abs() {
            signs if self.was == next.was && signs > 0 => CHANGE_IN_KEY,
            0..=MOST_SIGNS => 0,
            _ => FAR_KEYS,
        };
        let way = next.chord.root.fifths() - self.chord.root.fifths();
        let of_roots = match way {
            11 | -13 => HIDDEN_FIFTH,
            -7..=7 => 0,
            _ => FAR_ROOTS,
        };
        of_keys + of_roots
    }
}

/// The bass by the name of its degree, if it is a note of the chord.
fn by_degree(chord: &Chord, bass: NoteName) -> NoteName {
    let names = chord.degrees().iter().map(|degree| degree.over(chord.root));
    let mut same = names.filter(|name| name.class() == bass.class());
    same.next().unwrap_or(bass)
}

fn has_two_signs(name: NoteName) -> bool {
    name.accidental.abs() > 1
}

/// The other name of the same key, if the name has two signs.
fn plainer(name: NoteName) -> NoteName {
    if has_two_signs(name) {
        name.readable()
    } else {
        name
    }
}

/// The cheapest way through the options; of equals the one with flats.
fn cheapest(options: &[Vec<Spelling>]) -> Vec<Chord> {
    // For each option the price of the way to it, and the option before it.
    let mut ways: Vec<Vec<(u32, usize)>> = Vec::with_capacity(options.len());
    let mut before: &[Spelling] = &[];
    for here in options {
        let last = ways.last();
        let way = |option: &Spelling| {
            let prices = before.iter().zip(last.into_iter().flatten());
            let totals = prices.map(|(from, (price, _))| price + from.price_to(option));
            let (index, total) = totals
                .enumerate()
                .min_by_key(|(_, total)| *total)
                .unwrap_or((0, 0));
            (total + option.price, index)
        };
        let found = here.iter().map(way).collect();
        ways.push(found);
        before = here;
    }
    let ends = ways.last().into_iter().flatten().enumerate();
    let mut index = ends
        .min_by_key(|(_, (price, _))| *price)
        .map_or(0, |(i, _)| i);
    let mut chords = Vec::with_capacity(options.len());
    for (here, ways) in options.iter().zip(&ways).rev() {
        chords.extend(here.get(index).map(|option| option.chord));
        index = ways.get(index).map_or(0, |(_, from)| *from);
    }
    chords.reverse();
    chords
}
