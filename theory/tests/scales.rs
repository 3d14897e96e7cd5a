//! Scale suggestions for all that can sound: symbols, requests, textures and keys
//! together. The folder of the same name tests single rows and the table of scales.

mod domain;
#[path = "scales/rows.rs"]
mod rows;
#[path = "domain/sounds.rs"]
mod sounds;
#[path = "scales/table.rs"]
mod table;

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::{self, Function, Key, Mode, Resolution, Role};
use guidehand_theory::pitch::{NoteName, PitchClass};
use guidehand_theory::quality::TABLE;
use guidehand_theory::scale::{self, Suggestion};
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::tension::{self, TensionRequests};
use sounds::Sounds;

/// Twelve bits, one for each key of the octave.
fn bits(classes: impl Iterator<Item = PitchClass>) -> u16 {
    classes.fold(0, |bits, class| bits | 1 << class.number())
}

/// What the symbol states and no scale may leave out, the bass among it: all but a
/// natural five in whose place an altered fifth or b13 is written or sounds.
fn stated(chord: &Chord, sounding: DegreeSet) -> u16 {
    let mut stated = chord.degrees();
    let against_five = DegreeSet::of(&[Degree::Flat5, Degree::Sharp5, Degree::Flat13]);
    if stated.union(sounding).intersects(against_five) && !sounding.contains(Degree::Five) {
        stated = stated.without(Degree::Five);
    }
    let bass = bits(chord.bass.into_iter().map(NoteName::class));
    bits(stated.iter().map(|d| d.class(chord.root))) | bass
}

/// The colours that may leave notes of the chord out.
const PARTIAL: [&str; 3] = ["blues", "major pentatonic", "minor pentatonic"];

/// Checks all suggestions of one case; whether it falls back on the chromatic
/// scale.
fn is_chromatic(chord: &Chord, sounding: DegreeSet, function: &Function) -> bool {
    // A tonic that takes another sixth or seventh is the chord that has it.
    let chord = &tension::with_seventh(chord, sounding);
    let case = |s: &Suggestion| {
        let symbol = Symbol(chord, Sign::Ascii);
        format!(
            "{} {} over {symbol} with {sounding}, {function}",
            s.root, s.scale.name
        )
    };
    let sounds = bits(sounding.iter().map(|d| d.class(chord.root)));
    let needed = sounds | stated(chord, sounding);
    let all = scale::suggest(chord, sounding, function);
    assert!(!all.is_empty(), "nothing over {chord:?} with {sounding}");
    assert!(all.len() < all.capacity(), "some may have been cut off");
    let first = bits(all[0].notes().map(NoteName::class));
    let first_avoids = bits(all[0].avoid_notes().map(NoteName::class));
    for (i, s) in all.iter().enumerate() {
        let notes = bits(s.notes().map(NoteName::class));
        let avoid = bits(s.avoid_notes().map(NoteName::class));
        assert_eq!(s.partial, needed & !notes != 0, "{} lacks notes", case(s));
        if s.partial {
            assert!(i > 0 && PARTIAL.contains(&s.scale.name), "{}", case(s));
        }
        if s.scale.name.ends_with("pentatonic") {
            assert_eq!(notes & !first, 0, "{} is not in the first", case(s));
            assert_eq!(notes & first_avoids, 0, "{} has avoid notes", case(s));
        }
        assert_eq!(avoid & needed, 0, "{} avoids what it must hold", case(s));
        assert_eq!(avoid & !notes, 0, "{} avoids what it lacks", case(s));
        assert!(
            !s.reason.to_string().is_empty(),
            "{} has no reason",
            case(s)
        );
        let same = |e: &&Suggestion| (e.scale.name, e.root) == (s.scale.name, s.root);
        assert!(all.iter().take(i).all(|e| !same(&e)), "{} twice", case(s));
    }
    all.iter().any(|s| s.scale.name == "chromatic")
}

/// Where a chord can go and what it can be, beyond what a chord that stands alone
/// says of itself.
fn contexts(function: Function) -> impl Iterator<Item = Function> {
    let resolution = [
        Resolution::FifthToMajor,
        Resolution::FifthToMinor,
        Resolution::HalfStep,
        Resolution::Backdoor,
        Resolution::ToTheDominant,
        Resolution::Rest,
    ];
    let roles = [function.role, Role::Tonic, Role::Dominant, Role::Backdoor];
    resolution.into_iter().flat_map(move |resolution| {
        roles.into_iter().flat_map(move |role| {
            [false, true].map(|is_two| Function {
                role,
                resolution,
                is_two,
                ..function
            })
        })
    })
}

/// Every quality on every degree of a key of each mode, in every context, and over
/// every bass; with nothing sounding, with the chord, and with its usual tensions.
#[test]
fn every_context_and_bass_finds_scales_that_hold_them() {
    let tonic = NoteName::from_fifths(0);
    for row in &TABLE {
        let chord = Chord::new(tonic, row.quality);
        for mode in [Mode::Major, Mode::Minor, Mode::Blues] {
            let key = Key { tonic, mode };
            for above in (0..12).map(PitchClass::wrapping) {
                let chord = chord.transposed(key.name(above).fifths());
                let live = key::live(&chord, key);
                let tensions = tension::resolve(&chord, &live, TensionRequests::default());
                let usual: DegreeSet = tensions[0].others.iter().copied().collect();
                for sounding in [DegreeSet::EMPTY, chord.degrees(), usual] {
                    for function in contexts(live) {
                        is_chromatic(&chord, sounding, &function);
                    }
                    for bass in (0..12).map(PitchClass::wrapping) {
                        let bass = Some(key.name(bass));
                        is_chromatic(&Chord { bass, ..chord }, sounding, &live);
                    }
                }
            }
        }
    }
}

/// Every key, request and texture.
#[test]
fn everyday_symbols_always_find_a_scale_that_holds_them() {
    for chord in domain::everyday() {
        let mut sounds = Sounds::new(&Texture::ALL);
        for (chord, function) in domain::placed(chord) {
            for sounding in sounds.of(&chord, &function) {
                let symbol = Symbol(&chord, Sign::Ascii);
                assert!(
                    !is_chromatic(&chord, sounding, &function),
                    "only the chromatic scale over {symbol} with {sounding}"
                );
            }
        }
    }
}

/// Every symbol, request and texture; keys by turns, three for each symbol, so that all
/// 24 come up equally often. Says how many cases no scale of the table holds.
#[test]
fn all_symbols_find_a_scale_that_holds_them() {
    const EVERY: usize = 8;
    let (mut cases, mut chromatic, mut helpless) = (0, 0, 0);
    let chords = domain::systematic();
    for (i, chord) in chords.iter().enumerate() {
        let before = chromatic;
        let mut sounds = Sounds::new(&Texture::ALL);
        for (chord, function) in domain::placed(*chord).skip(i % EVERY).step_by(EVERY) {
            for sounding in sounds.of(&chord, &function) {
                cases += 1;
                chromatic += u32::from(is_chromatic(&chord, sounding, &function));
            }
        }
        helpless += u32::from(chromatic > before);
    }
    println!(
        "{chromatic} of {cases} cases are chromatic, of {helpless} of {} symbols",
        chords.len()
    );
}

/// A chord and a key that are moved together get the same tensions, and the same scales
/// with the same reasons. The first two scales keep their spelling, moved.
#[test]
fn tensions_and_scales_move_with_chord_and_key() {
    for chord in domain::everyday() {
        let third = Some(Degree::Three.over(chord.root));
        let ninth = Some(Degree::Nine.over(chord.root));
        for bass in [None, third, ninth] {
            let chord = Chord { bass, ..chord };
            for (chord, function) in domain::placed(chord).step_by(5) {
                for mode in [function.key.mode, Mode::Blues] {
                    moves(
                        &chord,
                        Key {
                            mode,
                            ..function.key
                        },
                    );
                }
            }
        }
    }
}

fn moves(chord: &Chord, key: Key) {
    let function = key::live(chord, key);
    let sounding = chord.degrees();
    let tensions = tension::resolve(chord, &function, TensionRequests::default());
    let suggestions = scale::suggest(chord, sounding, &function);
    for fifths in -6..=6 {
        let moved = chord.transposed(fifths);
        let mut key = function.key;
        key.tonic = key.tonic.along_fifths(fifths);
        let function = key::live(&moved, key);
        let there = tension::resolve(&moved, &function, TensionRequests::default());
        assert_eq!(tensions, there, "{moved:?}");
        let there = scale::suggest(&moved, sounding, &function);
        assert_eq!(suggestions.len(), there.len(), "{moved:?}");
        for (a, b) in suggestions.iter().zip(&there) {
            let here = (a.scale, a.root.along_fifths(fifths), a.avoid, a.reason);
            let there = (b.scale, b.root, b.avoid, b.reason);
            assert!(here == there, "{here:?} and {there:?} over {moved:?}");
        }
    }
}
