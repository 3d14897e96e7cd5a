//! The edges of the register, and what lies beyond them.

use super::{choices, chords, names, register};
use guidehand_theory::candidates::{self, Edges, Hand, Register};
use guidehand_theory::cost::{self, Weights};
use guidehand_theory::degree::Degree;
use guidehand_theory::degree::Degree::Sharp9;
use guidehand_theory::key::{self, Key};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension::{self, TensionRequests};
use guidehand_theory::voicing::{Position, Voicing};

/// Within hard edges the lowest note lies in its room and no note above the top;
/// soft edges give all of those voicings, and others up to a third beyond an edge,
/// which sound clear below. Where nothing fits, as in a narrow register between hard
/// edges, the nearest above the bottom stand in; in the usual register with soft
/// edges that never happens.
#[test]
fn voicings_keep_to_the_edges() {
    for (text, chord) in chords() {
        for tensions in choices(&chord) {
            for fifths in -6..=5 {
                let chord = chord.transposed(fifths);
                for texture in Texture::ALL {
                    for (low, high) in [(50, 69), (36, 60), (60, 79)] {
                        let soft = register(low, high);
                        let hard = Register {
                            edges: Edges::Hard,
                            ..soft
                        };
                        let of = |register| -> Vec<Voicing> {
                            candidates::of(&chord, &tensions, texture, register).collect()
                        };
                        let (soft, hard) = (of(soft), of(hard));
                        let room = i32::from(texture.room());
                        let top = high + i32::from(texture.headroom());
                        let fits = |v: &Voicing, beyond: i32| {
                            let lowest = v.lowest().unwrap().semitones();
                            let highest = v.highest().unwrap().semitones();
                            let below = lowest < low;
                            (low - beyond..=low + room + beyond).contains(&lowest)
                                && highest <= top + beyond
                                && (!below || clear(v))
                        };
                        let place = format!("{text} {fifths} {texture:?} from {low}");
                        if hard.iter().any(|v| fits(v, 0)) {
                            assert!(hard.iter().all(|v| fits(v, 0)), "{place}");
                            assert!(hard.iter().all(|v| soft.contains(v)), "{place}");
                        }
                        if low == 50 || soft.iter().any(|v| fits(v, 4)) {
                            assert!(soft.iter().all(|v| fits(v, 4)), "{place}");
                        }
                    }
                }
            }
        }
    }
}

/// Low interval limits: below about E3 no minor second, Eb3 no major second, C3 no
/// minor third, Bb2 no major third (arrangers' tables, from memory).
fn clear(v: &Voicing) -> bool {
    let notes: Vec<u8> = v.notes().map(MidiNote::number).collect();
    notes.windows(2).all(|w| {
        let limit = match w[1] - w[0] {
            1 => 52,
            2 => 51,
            3 => 48,
            4 => 46,
            _ => 0,
        };
        w[0] >= limit
    })
}

/// Far outside of what anybody plays there is still a voicing, and nothing fails.
#[test]
fn registers_at_the_ends_of_the_keyboard_give_voicings() {
    for (text, chord) in chords() {
        let tensions = choices(&chord)[0];
        for texture in Texture::ALL {
            for low in 0..=127 {
                let register = register(low, low + 19);
                let count = candidates::of(&chord, &tensions, texture, register).count();
                assert!(count <= candidates::MOST, "{text} {texture:?} {low}");
                assert!(count > 0 || low > 96, "{text} {texture:?} {low}");
            }
        }
    }
}

/// The price of a voicing at rest, with the weights of one rule alone.
fn price(v: &Voicing, texture: Texture, register: Register, weights: Weights) -> u32 {
    cost::alone(v, 0, texture, register, &weights)
}

/// A note beyond an edge costs more the farther it lies, below and above, and so
/// does a lowest note above its room; what lies inside costs nothing.
#[test]
fn notes_beyond_an_edge_cost_more_the_farther_they_lie() {
    let weights = Weights {
        edge: 1,
        ..Weights::MOTION_ONLY
    };
    let note = |number| {
        let mut v = Voicing::empty(Position::Third);
        assert!(v.push(MidiNote::clamp(number), Degree::Three));
        v.left_hand = 1;
        v
    };
    let texture = Texture::FourNotes;
    for (number, expected) in [
        (46, 10),
        (47, 6),
        (48, 3),
        (49, 1),
        (50, 0),
        (57, 0),
        (58, 1),
        (61, 10),
    ] {
        let v = note(number);
        assert_eq!(price(&v, texture, Register::DEFAULT, weights), expected);
    }
    let mut tall = note(57);
    for (number, expected) in [(69, 0), (70, 1), (73, 10)] {
        let mut v = tall;
        assert!(v.push(MidiNote::clamp(number), Degree::Seven));
        assert_eq!(price(&v, texture, Register::DEFAULT, weights), expected);
    }
    // Each note pays for itself.
    for number in [71, 72] {
        assert!(tall.push(MidiNote::clamp(number), Degree::Seven));
    }
    assert_eq!(price(&tall, texture, Register::DEFAULT, weights), 3 + 6);
}

/// What either hand spans beyond its ease costs, semitone by semitone.
#[test]
fn a_stretch_costs() {
    let weights = Weights {
        wide_hand: 1,
        ..Weights::MOTION_ONLY
    };
    let mut v = Voicing::empty(Position::Third);
    for number in [40, 55, 60, 76] {
        assert!(v.push(MidiNote::clamp(number), Degree::Three));
    }
    v.left_hand = 2;
    for (at_ease, expected) in [(12, 3 + 4), (14, 1 + 2), (15, 1), (16, 0)] {
        let register = Register {
            hand: Hand::new(at_ease, 17),
            ..Register::DEFAULT
        };
        assert_eq!(price(&v, Texture::TwoHands, register, weights), expected);
    }
}

/// A #9 costs more a half step under the third than on top.
#[test]
fn a_sharp_nine_sits_better_on_top() {
    let chord = symbol::parse("G7(#9,b13)").unwrap();
    let function = key::live(&chord, Key::C_MAJOR);
    let tensions = tension::resolve(&chord, &function, TensionRequests::default())[0];
    let weights = Weights {
        sharp_nine_inside: 7,
        ..Weights::MOTION_ONLY
    };
    for texture in Texture::ALL {
        for v in candidates::of(&chord, &tensions, texture, register(48, 72)) {
            let inside = v.voices().windows(2).any(|w| {
                let gap = w[1].note.number() - w[0].note.number();
                w[0].degree == Sharp9 && gap == 1
            });
            let cost = price(&v, texture, register(48, 72), weights);
            assert_eq!(cost, 7 * u32::from(inside), "{texture:?} {}", names(&v));
        }
    }
}
