//! What holds for every dressing in every place.

use super::{all_places, chord, dressed, notes, of, place, symbol_of};
use guidehand_theory::candidates::{Edges, Register};
use guidehand_theory::degree::Degree::{self, Flat7, Flat9, Seven};
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::dressing::{Dressing, Fit, Name, Place, dressings};
use guidehand_theory::pcset::PcSet;
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::{MidiNote, PitchClass};
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension;
use guidehand_theory::voicing::{Position, Voicing};
use std::collections::BTreeSet;

/// A dressing without names of notes and places of keys.
#[derive(Debug, PartialEq)]
struct Shape {
    name: Name,
    fit: Fit,
    sounds_now: bool,
    lost: DegreeSet,
    steps: Vec<StepShape>,
}

/// Degrees with their semitones over what sounds lowest now, the fingers, what the step says.
type StepShape = (Vec<(Degree, i32)>, Vec<(u8, Option<i32>)>, [bool; 4]);

fn shape(place: &Place, dressing: &Dressing) -> Shape {
    let ground = place.now.lowest().unwrap().semitones();
    let steps = dressing.steps.iter().map(|step| {
        let voices = step.voicing.voices().iter();
        let notes = voices.map(|v| (v.degree, v.note.semitones() - ground));
        let moves = step.fingers.iter().map(|f| (f.voice, f.half_steps()));
        let says = [
            step.other_position,
            step.clear_of_the_third.is_some(),
            step.substitute.is_some(),
            step.needs_pin,
        ];
        (notes.collect(), moves.collect(), says)
    });
    Shape {
        name: dressing.name,
        fit: dressing.fit,
        sounds_now: dressing.sounds_now,
        lost: dressing.taken.degrees(),
        steps: steps.collect(),
    }
}

/// Every key, with the hand and the register moved along.
#[test]
fn dressings_move_with_the_key() {
    let here = all_places(0);
    for fifths in -5..=6 {
        let semitones = (i32::from(fifths) * 7).rem_euclid(12);
        let semitones = if semitones > 6 {
            semitones - 12
        } else {
            semitones
        };
        let up = |note: MidiNote| MidiNote::clamp(note.semitones() + semitones);
        for (place, there) in here.iter().zip(all_places(fifths)) {
            let mut now = Voicing::empty(place.now.position);
            now.left_hand = place.now.left_hand;
            for voice in place.now.voices() {
                assert!(now.push(up(voice.note), voice.degree));
            }
            let register = place.taste.register;
            let moved = Place {
                now,
                taste: Taste {
                    register: Register {
                        lowest: up(register.lowest),
                        highest: up(register.highest),
                        ..register
                    },
                    ..place.taste
                },
                ..there
            };
            let shapes = |place: &Place| -> Vec<Shape> {
                dressings(place).iter().map(|d| shape(place, d)).collect()
            };
            assert_eq!(shapes(place), shapes(&moved), "{fifths} fifths");
        }
    }
}

#[test]
fn symbols_read_back_and_say_what_sounds() {
    for place in all_places(0) {
        for dressing in dressings(&place) {
            for step in &dressing.steps {
                let text = symbol_of(step);
                let read = symbol::parse(&text).unwrap_or_else(|e| panic!("{text}: {e}"));
                assert_eq!(read, *step.symbol(), "{text}");
                let sounding = step.voicing.degrees();
                assert_eq!(
                    tension::sounding(&read, sounding),
                    read,
                    "{text}: {sounding}"
                );
                let unsaid = tension::of(sounding).minus(read.degrees());
                assert!(unsaid.is_empty(), "{text} does not say {unsaid}");
                let placed = ChordInKey::new(read, place.placed.function);
                let again = pipeline::step(Some(&step.voicing), &placed, &place.taste);
                let alone = again.voicing.degrees() == sounding;
                assert_eq!(alone, !step.needs_pin, "{text}: {sounding}");
            }
        }
    }
}

#[test]
fn the_first_scale_holds_every_note() {
    for fifths in -5..=6 {
        for place in all_places(fifths) {
            for dressing in dressings(&place) {
                for step in &dressing.steps {
                    let first = step.scales()[0];
                    let scale = PcSet::of_degrees(first.root.class(), first.scale.set());
                    let sounds: PcSet = step.voicing.notes().map(MidiNote::class).collect();
                    let (text, scale_is) = (symbol_of(step), first.scale.name);
                    assert!(scale.holds(sounds) && !first.partial, "{text}: {scale_is}");
                }
            }
        }
    }
}

/// The prime form of a set of classes: the most compact order, from 0.
fn prime_form(voicing: &Voicing) -> Vec<u8> {
    let classes: BTreeSet<u8> = voicing.notes().map(|n| n.class().number()).collect();
    let forms = classes.iter().flat_map(|from| {
        let up = classes.iter().map(|c| (c + 12 - from) % 12);
        let down = classes.iter().map(|c| (from + 12 - c) % 12);
        [up.collect::<BTreeSet<u8>>(), down.collect()]
    });
    let packed = forms.map(|f| f.into_iter().collect::<Vec<u8>>());
    packed
        .min_by_key(|f| f.iter().rev().copied().collect::<Vec<u8>>())
        .unwrap()
}

/// Set classes after Allen Forte, The Structure of Atonal Music (1973), from memory: 4-20,
/// 4-26, 4-16, 4-18 and 4-27.
#[test]
fn rootless_sets_are_what_they_should_be() {
    for (words, name, form) in [
        (["Dm7", "", "G7", "C", "A"], "9", [0, 1, 5, 8]),
        (["Cmaj7", "G7", "", "C", "A"], "9", [0, 3, 5, 8]),
        (["G7", "Dm7", "Cmaj7", "C", "A"], "9 13", [0, 1, 5, 7]),
        (["G7", "Dm7", "Cmaj7", "C", "A"], "b9 13", [0, 1, 4, 7]),
        (["G7", "Dm7", "Cmaj7", "C", "A"], "b9 b13", [0, 2, 5, 8]),
    ] {
        let (_, all) = dressed(words);
        let found = prime_form(&of(&all, name).steps[0].voicing);
        assert_eq!(found, form, "{words:?} {name}");
    }
}

#[test]
fn the_order_is_by_fingers_then_by_fit() {
    for place in all_places(0) {
        let all = dressings(&place);
        let keys: Vec<_> = all
            .iter()
            .map(|d| (d.fingers, !d.sounds_now, d.fit))
            .collect();
        assert!(keys.is_sorted(), "{keys:?}");
        assert_eq!(all.iter().filter(|d| d.sounds_now).count(), 1);
        let notes: Vec<Vec<Voicing>> = all
            .iter()
            .map(|d| d.steps.iter().map(|s| s.voicing).collect())
            .collect();
        for (i, one) in notes.iter().enumerate() {
            assert!(
                !notes[i + 1..].contains(one),
                "{:?} comes twice",
                all[i].name
            );
        }
    }
}

/// Common practice, no published source.
#[test]
fn a_tension_gives_way_to_the_melody() {
    let mut place = place(["G7", "Dm7", "Cmaj7", "C", "A"]);
    place.melody = [PitchClass::wrapping(9)].into_iter().collect();
    let all = dressings(&place);
    for dressing in &all {
        let sounding = dressing.steps.iter().map(|s| s.voicing.degrees());
        let sounding = sounding.fold(DegreeSet::EMPTY, DegreeSet::union);
        let rubs = sounding.intersects(DegreeSet::of(&[Flat9, Degree::Sharp9]));
        assert_eq!(
            dressing.fit == Fit::AgainstMelody,
            rubs,
            "{:?}",
            dressing.name
        );
    }
    let reason = of(&all, "b9 13").reason.to_string();
    assert_eq!(reason, "b9 lies a half step from the melody's A");
    // A root in the melody rubs against the seventh of a major chord, and a third does not.
    let mut place = super::place(["Cmaj7", "G7", "", "C", "A"]);
    for (note, name, fit) in [
        (0, "9", Fit::AgainstMelody),
        (0, "6 9", Fit::Usual),
        (4, "9", Fit::Usual),
    ] {
        place.melody = [PitchClass::wrapping(note)].into_iter().collect();
        assert_eq!(of(&dressings(&place), name).fit, fit, "{note} {name}");
    }
}

#[test]
fn what_the_symbol_loses_is_said() {
    for (here, name, fit, lost, reason) in [
        ("G7(b9)", "9 13", Fit::Bold, "b9", "the symbol loses its b9"),
        ("G7(b9)", "b9 13", Fit::Usual, "", ""),
        ("G13", "b9 b13", Fit::Bold, "13", "the symbol loses its 13"),
        ("G7(#11)", "9 #11 13", Fit::Usual, "", ""),
        ("G7(#9)", "#9 b13", Fit::Usual, "", ""),
        (
            "G7alt",
            "9 13",
            Fit::Bold,
            "",
            "the symbol asks for altered tensions alone",
        ),
        ("G7alt", "b9 b13", Fit::Usual, "", ""),
    ] {
        let (_, all) = dressed([here, "Dm7", "Cmaj7", "C", "A"]);
        let dressing = of(&all, name);
        assert_eq!(dressing.fit, fit, "{here} {name}");
        assert_eq!(dressing.taken.degrees().to_string(), lost, "{here} {name}");
        if !reason.is_empty() {
            assert_eq!(dressing.reason.to_string(), reason, "{here} {name}");
        }
    }
    // What the symbol writes is usual on it.
    let (_, all) = dressed(["Cmaj7(#11)", "G7", "", "C", "A"]);
    assert_eq!(of(&all, "9 #11").fit, Fit::Usual);
    assert_eq!(of(&all, "9").fit, Fit::Bold);
    // Players exchange sixths and sevenths, but the loss is said.
    for (here, key, name, lost) in [
        ("Cmaj7", "C", "6 9", Seven),
        ("Cm7", "C minor", "7 9", Flat7),
    ] {
        let (_, all) = dressed([here, "G7", "", key, "A"]);
        let dressing = of(&all, name);
        assert_eq!(dressing.fit, Fit::Usual, "{here} {name}");
        assert_eq!(dressing.taken.seventh, DegreeSet::of(&[lost]));
    }
}

#[test]
fn written_names_stay() {
    let (_, all) = dressed(["G7(#5)", "Dm7", "Cm7", "C minor", "A"]);
    let symbols: Vec<String> = all
        .iter()
        .flat_map(|d| d.steps.iter().map(symbol_of))
        .collect();
    assert!(symbols.contains(&"G7(b9,#5)".to_owned()), "{symbols:?}");
    assert!(symbols.iter().all(|s| !s.contains("b13")), "{symbols:?}");
    assert_eq!(of(&all, "b9 #5").fit, Fit::Usual);
    let (_, all) = dressed(["G7b5", "Dm7", "Cmaj7", "C", "A"]);
    assert_eq!(symbol_of(&of(&all, "9 b5").steps[0]), "G9(b5)");
}

#[test]
fn the_bass_stays_and_nothing_rubs_against_it() {
    let (_, all) = dressed(["G7/B", "Dm7", "Cmaj7", "C", "A"]);
    assert_eq!(symbol_of(&of(&all, "b9 13").steps[0]), "G7(b9,13)/B");
    // A lies a half step below Bb.
    let (_, all) = dressed(["C7/Bb", "Gm7", "Fmaj7", "F", "B"]);
    for dressing in all.iter().filter(|d| !d.sounds_now) {
        let step = &dressing.steps[0];
        assert!(
            !step.voicing.degrees().contains(Degree::Thirteen),
            "{}",
            symbol_of(step)
        );
    }
    let (_, all) = dressed(["F/G", "Dm7", "Cmaj7", "C", ""]);
    assert_eq!(symbol_of(&of(&all, "b9 5").steps[0]), "G7sus4(b9)");
}

#[test]
fn a_line_over_one_minor_chord_is_usual() {
    let bold = dressed(["Am7", "Cmaj7", "Dm7", "C", ""]).1;
    assert_eq!(of(&bold, "7 9").fit, Fit::Bold);
    let usual = dressed(["Am7", "Am", "D7", "C", ""]).1;
    assert_eq!(of(&usual, "7 9").fit, Fit::Usual);
}

/// Where the position in force has no room, the other one is offered and it is said.
#[test]
fn the_other_position_is_offered_where_the_hand_has_no_room() {
    let mut place = place(["Fmaj7", "Cmaj7", "G7", "C", "B"]);
    assert_eq!(notes(&place, &place.now), "E3 G3 A3 C4");
    place.taste.register = Register {
        edges: Edges::Hard,
        ..Register::new(MidiNote::clamp(52), MidiNote::clamp(71))
    };
    let all = dressings(&place);
    let sixth = &of(&all, "6 9").steps[0];
    assert!(sixth.other_position);
    assert_eq!(notes(&place, &sixth.voicing), "A3 C4 D4 G4");
    assert!(!of(&all, "9 #11").steps[0].other_position);
    for dressing in &all {
        let voicing = &dressing.steps[0].voicing;
        let lowest = voicing.lowest().unwrap().number();
        assert!(lowest >= 52 && voicing.left_span() <= place.taste.register.hand.at_most);
    }
}

#[test]
fn every_texture_is_dressed() {
    for texture in Texture::ALL {
        let taste = Taste {
            texture,
            ..Taste::default()
        };
        for place in all_places(0) {
            let voiced = pipeline::step(None, &place.placed, &taste);
            let place = Place {
                now: voiced.voicing,
                taste,
                ..place
            };
            let all = dressings(&place);
            assert!(all.len() > 2, "{texture:?}");
            for dressing in &all {
                if let Name::Degrees(degrees) = dressing.name {
                    let sounding = dressing.steps[0].voicing.degrees();
                    let four = dressing.steps[0].voicing.voices().len() == 4;
                    let silent = degrees.iter().filter(|d| !sounding.contains(**d)).count();
                    // Four notes of 9 #11 13 leave one out.
                    assert!(
                        silent <= usize::from(four && degrees.len() > 2),
                        "{texture:?}"
                    );
                }
                // The fingers lead from what sounds to the voicing.
                let step = &dressing.steps[0];
                let mut keys: BTreeSet<u8> = place.now.notes().map(MidiNote::number).collect();
                for finger in &step.fingers {
                    keys.extend(finger.to.map(|v| v.note.number()));
                }
                for finger in &step.fingers {
                    let kept = step
                        .voicing
                        .notes()
                        .any(|n| Some(n) == finger.from.map(|v| v.note));
                    if let (Some(from), false) = (finger.from, kept) {
                        keys.remove(&from.note.number());
                    }
                }
                let there: BTreeSet<u8> = step.voicing.notes().map(MidiNote::number).collect();
                assert_eq!(keys, there, "{texture:?} {:?}", dressing.name);
            }
        }
    }
}

/// What a player placed by hand is known by its notes.
#[test]
fn notes_as_played_are_what_sounds_now() {
    let mut place = place(["G7", "Dm7", "Cmaj7", "C", "A"]);
    place.now.position = Position::AsPlayed;
    place.now.left_hand = 0;
    let all = dressings(&place);
    assert!(all[0].sounds_now);
    assert_eq!(all[0].name.to_string(), "9 13");
    assert_eq!(all[1].fingers, 1);
}

/// Chords that the table does not know are shown as they sound, and every symbol has an answer.
#[test]
fn every_chord_has_what_sounds_now() {
    for text in [
        "C5",
        "Csus2",
        "Caug",
        "C7(no3)",
        "Cadd9",
        "D/C7",
        "C11",
        "C7(no5)",
        "Cdim",
        "Cm11",
        "C6/9",
        "Fm6",
        "G7(#9,#11)",
    ] {
        let (place, all) = dressed([text, "", "", "C", ""]);
        let now: Vec<&Dressing> = all.iter().filter(|d| d.sounds_now).collect();
        assert_eq!(now.len(), 1, "{text}");
        assert_eq!(now[0].steps[0].voicing, place.now, "{text}");
        assert_eq!(now[0].steps[0].symbol().root, chord(text).root, "{text}");
    }
    let (_, all) = dressed(["Caug", "", "", "C", ""]);
    assert_eq!(all.len(), 1);
    let (_, all) = dressed(["C7(no5)", "", "F", "F", ""]);
    for dressing in &all {
        let sounding = dressing.steps[0].voicing.degrees();
        assert!(!sounding.contains(Degree::Five), "{:?}", dressing.name);
    }
}
