//! What holds for every melody note over every chord and every choice of tensions.

use crate::domain::{self, data};
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree;
use guidehand_theory::key::{self, Key, Mode};
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::pitch::{MidiNote, PitchClass};
use guidehand_theory::slash;
use guidehand_theory::symbol;
use guidehand_theory::tension::{self, Above, Tensions, resolve};
use guidehand_theory::under::{self, Block, Harmony, Replacement, Rule, Struck, Style, Taste, Why};
use std::collections::HashSet;

/// The twelve notes from C5, high enough that no voice lies too low.
const HIGH: std::ops::Range<u8> = 72..84;

fn note(number: u8) -> MidiNote {
    MidiNote::new(number).unwrap()
}

fn taste(style: Style) -> Taste {
    Taste {
        style,
        ..Taste::default()
    }
}

/// What every block keeps to.
pub fn assert_laws(block: &Block, melody: MidiNote, style: Style, what: &str) {
    let notes: Vec<u8> = block.voicing.notes().map(MidiNote::number).collect();
    let what = format!("{what}: {} {block:?}", melody.number());
    assert_eq!(block.melody(), Some(melody), "the melody is on top: {what}");
    assert!(block.style == style || block.style == Style::FourWayClose);
    for (i, low) in notes.iter().enumerate() {
        for high in notes.iter().skip(i + 1) {
            let apart = high - low;
            assert!(apart % 12 != 1 || apart == 1, "no minor ninth: {what}");
            let lead = *high == melody.number();
            assert!(!lead || apart % 12 != 1, "no half step below: {what}");
            let doubled = style == Style::DoubleLead && apart == 12;
            assert!(apart % 12 != 0 || doubled, "no note twice: {what}");
        }
    }
    assert_eq!(block.voicing.low_intervals(), 0, "clear: {what}");
    let span = block.voicing.span();
    match block.style {
        _ if block.is_single() => {}
        Style::FourWayClose => assert!(span < 12, "{what}"),
        Style::DoubleLead => assert_eq!(span, 12, "{what}"),
        Style::DropTwo => assert!((13..24).contains(&span), "{what}"),
    }
    let left = match block.style {
        _ if block.is_single() => 0,
        Style::FourWayClose => 0,
        Style::DropTwo | Style::DoubleLead => 1,
    };
    assert_eq!(block.voicing.left_hand, left, "{what}");
    if let Some(root) = block.root {
        for voice in block.voicing.voices() {
            assert_eq!(voice.degree.class(root), voice.note.class(), "{what}");
        }
    }
}

/// A guide tone sounds, or what stands in its place is named.
fn assert_complete(block: &Block, chord: &Chord, what: &str) {
    let sounding = block.voicing.degrees();
    let melody = match block.rule {
        Rule::Tension(replacement) => Some(replacement),
        _ => None,
    };
    let named = |degree: Degree| {
        // 4 and 11 are one key.
        let is = |of: Degree| of.class(chord.root) == degree.class(chord.root);
        let by_rule = |r: &Replacement| is(r.of) && sounding.contains(r.by);
        melody.iter().chain(&block.instead).any(by_rule)
    };
    for guide in [chord.third(), chord.seventh()].into_iter().flatten() {
        let complete = sounding.contains(guide) || named(guide);
        assert!(
            complete || block.left_out > 0,
            "{guide} is lost: {what} {block:?}"
        );
    }
}

/// Every choice of tensions of a chord, for all that may be asked, wherever it stands, and what becomes
/// of it under every melody note before this one, which are marked.
fn all_tensions(chord: Chord) -> Vec<(Tensions, bool)> {
    let requests = if chord.quality.is_dominant() {
        domain::all_asks()
    } else {
        domain::further_asks()
    };
    let mut seen = HashSet::new();
    let mut all = Vec::new();
    for (placed, function) in domain::placed(chord) {
        for requests in &requests {
            let choices = resolve(&placed, &function, *requests);
            let under = |key| tension::agree_wholly(&choices, &placed, Above::NONE.with(note(key)));
            let agreeing = HIGH.flat_map(|key| under(key).choices).map(|t| (t, true));
            let plain = choices.into_iter().map(|t| (t, false));
            for (tensions, agreed) in plain.chain(agreeing) {
                let names = (tensions.third, tensions.seventh, tensions.others.to_vec());
                if seen.insert(names) {
                    all.push((tensions, agreed));
                }
            }
        }
    }
    all
}

fn in_c(chord: Chord) -> ChordInKey {
    ChordInKey::new(chord, key::live(&chord, Key::C_MAJOR))
}

#[test]
fn every_note_over_every_chord_and_choice_of_tensions_keeps_to_the_laws() {
    let chords: HashSet<Chord> = domain::everyday()
        .into_iter()
        .chain(domain::systematic())
        .collect();
    let (mut blocks, mut thinner) = (0, 0);
    for chord in chords {
        let what = symbol::Symbol(&chord, symbol::Sign::Ascii).to_string();
        // A triad, a bare fifth and a chord that leaves something out can have fewer notes.
        let whole = chord.third().is_some() && chord.seventh().is_some();
        let whole = whole && chord.omitted.is_empty();
        for (tensions, agreed) in all_tensions(chord) {
            let harmony = Harmony {
                placed: in_c(chord),
                tensions: Some(tensions),
            };
            for style in Style::ALL {
                for melody in HIGH.map(note) {
                    for offer in under::offers(&taste(style), &harmony, melody) {
                        let block = &offer.block;
                        assert_laws(block, melody, style, &what);
                        assert_complete(block, &chord, &what);
                        let voices = block.voicing.voices().len();
                        assert!(block.style == style || voices == 2, "{what}");
                        assert_eq!(block.left_out, 0, "{what}");
                        let four = 4 + usize::from(style == Style::DoubleLead);
                        let three = agreed && voices + 1 == four;
                        let fewer = three || !whole && voices >= 2;
                        assert!(voices == four || fewer, "{what} {block:?}");
                        thinner += usize::from(whole && voices < four);
                        blocks += 1;
                    }
                }
            }
        }
    }
    assert!(blocks > 100_000, "{blocks}");
    // A chord that has yielded to another note may have a voice less.
    assert!(thinner < blocks / 10, "{thinner} of {blocks}");
}

/// The everyday symbols, those with a bass too, in a major and a minor key.
fn everyday_in_keys() -> Vec<ChordInKey> {
    let rows = data::rows(include_str!("../data/everyday-symbols.txt"));
    rows.flat_map(|[symbol, _degrees, _libraries]| {
        let chord = symbol::parse(symbol).unwrap();
        [Mode::Major, Mode::Minor].map(|mode| {
            let key = Key::usual(PitchClass::wrapping(0), mode);
            ChordInKey::new(chord, key::live(&slash::meant(&chord), key))
        })
    })
    .collect()
}

/// A played melody note gets a block whatever it is, and low ones get fewer voices.
#[test]
fn every_key_over_every_everyday_chord_gets_a_block() {
    for placed in everyday_in_keys() {
        let harmony = Harmony::from(placed);
        let what = symbol::Symbol(&placed.written, symbol::Sign::Ascii).to_string();
        for style in Style::ALL {
            for melody in (0..=127).map(note) {
                let struck = Struck {
                    note: melody,
                    fast: false,
                };
                let block = under::step(&taste(style), None, struck, Some(&harmony));
                assert_laws(&block, melody, style, &what);
                let passing = under::diminished(style, &placed, melody);
                assert_laws(&passing, melody, style, &what);
                let bears = !under::offers(&taste(style), &harmony, melody).is_empty();
                match block.rule {
                    Rule::Single(Why::TooLow) => assert!(melody.number() < 60, "{what}"),
                    Rule::Diminished(_) | Rule::DiminishedOff => {
                        assert!(!bears, "{what}");
                        assert_eq!(block.voicing, passing.voicing);
                    }
                    _ => {
                        assert!(bears, "{what}");
                        assert_complete(&block, &placed.chord, &what);
                    }
                }
                if melody.number() >= 72 {
                    assert_eq!(block.left_out, 0, "{what} {block:?}");
                }
                if melody.number() < 46 {
                    assert!(block.is_single() || block.voicing.span() > 4, "{what}");
                }
            }
        }
    }
}

/// A chord and its melody in another key get the same block in that key.
#[test]
fn twelve_keys_agree() {
    for placed in everyday_in_keys() {
        for fifths in -5..=6_i8 {
            let up = fifths.wrapping_mul(7).rem_euclid(12);
            let written = placed.written.transposed(fifths);
            let key = Key {
                tonic: placed.function.key.tonic.along_fifths(fifths),
                ..placed.function.key
            };
            let there = ChordInKey::new(written, key::live(&slash::meant(&written), key));
            for style in Style::ALL {
                for melody in HIGH {
                    let step = |placed: ChordInKey, melody| {
                        let struck = Struck {
                            note: note(melody),
                            fast: false,
                        };
                        under::step(&taste(style), None, struck, Some(&placed.into()))
                    };
                    let here = step(placed, melody);
                    let moved = step(there, melody + up.unsigned_abs());
                    let expected = here.voicing.transposed(up).unwrap();
                    assert_eq!(moved.voicing, expected, "{written:?}");
                    assert_eq!((moved.rule, moved.instead), (here.rule, here.instead));
                }
            }
        }
    }
}
