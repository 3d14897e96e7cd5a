//! Chords in another key: each key of a chart that modulates is spelled for itself. Imports `chord`,
//! `key` and `slash`.
//!
//! The prices are common practice, no published source.

use crate::chord::{Chord, Triad};
use crate::degree::Degree;
use crate::key::{Key, Mode};
use crate::pitch::NoteName;
use crate::quality::Quality;
use crate::slash;
use std::ops::RangeInclusive;

/// The names of roots, in fifths from C: from G flat to A sharp. Every class has one or two.
const ROOTS: RangeInclusive<i8> = -6..=10;

/// F flat, C flat, E sharp and B sharp, in fifths from C. They are no roots.
const SIGNED_WHITE_KEYS: [i8; 4] = [-8, -7, 11, 12];

/// The most signs of a key that is read.
const MOST_SIGNS: i8 = 6;

/// The furthest that the usual names of roots are from their tonic, in fifths either way: in C from
/// G flat to F sharp.
const USUAL_FIFTHS: i8 = 6;

/// A chord that leaves the spelling of its key.
const OUT_OF_KEY: u32 = 6;
/// A root as far from its tonic as it was written, though another name would be nearer.
const FAR_AS_WRITTEN: u32 = 3;
/// The other one of two names that are as near to the tonic.
const OTHER_NAME: u32 = 1;
/// A tonic that leaves the spelling of its key.
const TONIC_OUT_OF_KEY: u32 = 40;
/// A root that falls a fifth between names that do not say so. It costs more than two chords out of
/// their key, so that a ii-V goes with the chord that it leads to.
const HIDDEN_FIFTH: u32 = 14;
/// A dominant that falls a half step between names of one letter, such as F sharp and F. A tritone
/// substitute falls from G flat.
const ONE_LETTER: u32 = 4;
/// Another motion of the root between names that lie far apart.
const FAR_ROOTS: u32 = 1;
/// Keys with more than six signs between them.
const FAR_KEYS: u32 = 1;
/// A name of a bass or of a triad with two signs.
const TWO_SIGNS: u32 = 40;
/// A slash chord that sounds as one on a white key with a sign.
const SIGNED_ROOT: u32 = 40;
/// A bass with a sign on a white key.
const SIGNED_BASS: u32 = 1;
/// A chord whose third and seventh would have two sharps, such as D sharp major seventh.
const DOUBLE_SHARPS: u32 = 40;
/// C sharp major seventh, the chord of seven sharps.
const SEVEN_SHARPS: u32 = 7;
/// A chord on D sharp or A sharp.
const FAR_SHARP: u32 = 2;
/// The same where the chord is major: its third has two sharps.
const FAR_SHARP_MAJOR: u32 = 6;
/// A chord in D sharp minor, which is mostly read as E flat minor.
const SIX_SHARPS_MINOR: u32 = 2;
/// The spelling of a key that changes within the key: never worth it.
const CHANGE_IN_KEY: u32 = 1_000;

/// The chords so many half steps higher, each with the key that it was in. Within a key the names
/// keep their distances. Each key has at most six signs, so the names change sides where a key
/// ends, and of G flat and F sharp the one is taken that spells its chords with fewer exceptions.
///
/// A root is never a white key with a sign. A written name that is far from its tonic, such as E for
/// F flat in E flat, gives way to the near one. A bass that is a note of its chord has the name of its
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
    /// The root of what the chord sounds as.
    stands_on: NoteName,
    /// Whether the chord leads nowhere: a tonic other than the seventh chord of a blues, or a major
    /// seventh or sixth.
    is_at_rest: bool,
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
        let mut moved = chord.transposed(root.fifths() - chord.root.fifths());
        moved.bass = moved.bass.map(|bass| by_degree(&moved, bass));
        let is_home = was.is_home(chord);
        let written = chord.root.fifths() - was.tonic.fifths();
        let here = root.fifths() - was.tonic.fifths() - of_key;
        let mut price = match price_in_key(chord, written, here) {
            OUT_OF_KEY if is_home => TONIC_OUT_OF_KEY,
            price => price,
        };
        let meant = slash::meant(&moved);
        price += price_of_root(&meant);
        let signs = was.signature() + of_key;
        if signs == MOST_SIGNS && was.mode == Mode::Minor {
            price += SIX_SHARPS_MINOR;
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
            .and_then(|triad| Triad::new(as_root(triad.root()), triad.quality()));
        Spelling {
            chord: moved,
            was,
            signs,
            stands_on: meant.root,
            is_at_rest: has_major_seventh(&moved) || is_home && moved.quality != Quality::Dominant,
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
        let way = next.stands_on.fifths() - self.stands_on.fifths();
        let of_roots = match way {
            // What follows a chord at rest can have other names.
            11 | -13 if !self.is_at_rest => HIDDEN_FIFTH,
            -7 if matches!(self.chord.quality, Quality::Dominant | Quality::Altered) => ONE_LETTER,
            -7..=7 => 0,
            _ => FAR_ROOTS,
        };
        of_keys + of_roots
    }
}

/// What a root costs that was so many fifths from its tonic and is so many now.
///
/// A written name that is far from the tonic is often the other name of one that cannot be read, so
/// the near one has no price. Diminished chords are named by where they lead: C sharp in C rises,
/// and D flat falls.
fn price_in_key(chord: &Chord, written: i8, here: i8) -> u32 {
    let diminished = matches!(
        chord.quality,
        Quality::HalfDiminished | Quality::Diminished | Quality::DiminishedSeventh
    );
    let is_usual = |fifths: i8| fifths.abs() <= USUAL_FIFTHS;
    match (is_usual(written), is_usual(here)) {
        _ if diminished && here == written => 0,
        _ if diminished => OUT_OF_KEY,
        (true, true) if here == written => 0,
        (true, true) => OTHER_NAME,
        (false, true) => 0,
        (false, false) if here == written => FAR_AS_WRITTEN,
        _ => OUT_OF_KEY,
    }
}

/// What the signs of a chord cost by its root, whatever its key.
fn price_of_root(chord: &Chord) -> u32 {
    let is_major = chord.is_major();
    match chord.root.fifths() {
        fifths if SIGNED_WHITE_KEYS.contains(&fifths) => SIGNED_ROOT,
        7 if has_major_seventh(chord) => SEVEN_SHARPS,
        8.. if has_major_seventh(chord) => DOUBLE_SHARPS,
        9.. if is_major => FAR_SHARP_MAJOR,
        9.. => FAR_SHARP,
        _ => 0,
    }
}

/// Whether it is a major chord with its seventh or its sixth.
fn has_major_seventh(chord: &Chord) -> bool {
    chord.is_major() && matches!(chord.seventh(), Some(Degree::Seven | Degree::Six))
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

/// A name for a triad over a chord, which is read as a root is.
fn as_root(name: NoteName) -> NoteName {
    let name = plainer(name);
    match name.fifths() {
        fifths if !SIGNED_WHITE_KEYS.contains(&fifths) => name,
        fifths if fifths < 0 => name.along_fifths(12),
        _ => name.along_fifths(-12),
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
