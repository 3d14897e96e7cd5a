//! The live step under a melody, in every texture.

use super::oracle::{clashing, stands};
use crate::domain;
use guidehand_theory::comping::{Under, Yielding};
use guidehand_theory::degree::Degree;
use guidehand_theory::key::{self, Key};
use guidehand_theory::own_shape::{Own, OwnShape, ShapeFamily, ShapeNote};
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::{MidiNote, PitchClass, SpelledPitch};
use guidehand_theory::plan::Voiced;
use guidehand_theory::root_note::Extras;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension::{self, Above, Outcome, Yield};
use guidehand_theory::voicing::Voicing;

fn placed() -> impl Iterator<Item = ChordInKey> {
    let all = domain::everyday().into_iter().flat_map(domain::placed);
    all.map(|(chord, function)| ChordInKey::new(chord, function))
}

fn too_high(voicing: &Voicing, melody: MidiNote) -> i32 {
    let top = voicing.highest().unwrap().semitones();
    (top + 1 - melody.semitones()).max(0)
}

/// Every everyday chord, in every texture on a third of all roots and keys, under every note of two
/// octaves from a whole step below middle C.
#[test]
fn a_step_clashes_with_nothing() {
    let (mut left_out, mut changed, mut stayed) = (0, 0, 0);
    for (turn, texture) in Texture::ALL.into_iter().enumerate() {
        let taste = Taste {
            texture,
            ..Taste::default()
        };
        for placed in placed().skip(turn % 3).step_by(3) {
            let plain = pipeline::step(None, &placed, &taste);
            for melody in (58..82).map(MidiNote::clamp) {
                for yielding in [Yielding::Tensions, Yielding::TensionsAndRegister] {
                    let under = Under {
                        above: Above::NONE.with(melody),
                        yielding,
                    };
                    let found = pipeline::step_under(None, &placed, &taste, Own::NONE, &under);
                    let voicing = &found.voiced.voicing;
                    let case = || format!("{texture:?} {:?} {melody:?} {found:?}", placed.chord);
                    let low = yielding == Yielding::TensionsAndRegister;
                    let height = if low { too_high(voicing, melody) } else { 0 };
                    assert_eq!(i32::from(found.too_high), height, "{}", case());
                    let fits = clashing(&plain.voicing, &placed.chord, melody).is_empty();
                    if fits && (!low || too_high(&plain.voicing, melody) == 0) {
                        assert_eq!(found.voiced, plain, "{}", case());
                        assert!(found.yields.is_empty(), "{}", case());
                        stayed += 1;
                        continue;
                    }
                    changed += 1;
                    let clashing = clashing(voicing, &placed.chord, melody);
                    assert!(clashing.is_empty(), "{}", case());
                    let stands = |y: &&Yield| y.outcome == Outcome::Stands;
                    assert!(!found.yields.iter().any(|y| stands(&y)), "{}", case());
                    left_out += usize::from(voicing.voices().len() < plain.voicing.voices().len());
                    no_better(&placed, &taste, melody, low, &found.voiced);
                }
            }
        }
    }
    assert!(
        left_out > 1_000 && changed > 10_000 && stayed > 10_000,
        "{left_out} {changed} {stayed}"
    );
}

/// No candidate clashes less, and none that clashes as little lies lower where it should.
fn no_better(placed: &ChordInKey, taste: &Taste, melody: MidiNote, low: bool, found: &Voiced) {
    let bad = |voicing: &Voicing| {
        let clashes = clashing(voicing, &placed.chord, melody).len();
        (clashes, if low { too_high(voicing, melody) } else { 0 })
    };
    let choices = tension::resolve(&placed.chord, &placed.function, taste.requests);
    let agreed = tension::agree(&choices, &placed.chord, Above::NONE.with(melody));
    let all = taste.setting().candidates(&placed.chord, &agreed.choices);
    let least = all.map(|(_, voiced)| bad(&voiced.voicing)).min().unwrap();
    assert!(
        bad(&found.voicing) <= least,
        "{placed:?} {taste:?} {melody:?} {found:?}"
    );
}

#[test]
fn with_yielding_off_or_no_melody_the_step_is_as_before() {
    let silent = [
        Under::NOTHING,
        Under {
            above: Above::of_keys(u128::MAX),
            yielding: Yielding::Off,
        },
        Under {
            above: Above::NONE,
            yielding: Yielding::TensionsAndRegister,
        },
    ];
    for texture in Texture::ALL {
        let taste = Taste {
            texture,
            ..Taste::default()
        };
        let mut before: Option<Voiced> = None;
        for placed in placed() {
            let voicing = before.as_ref().map(|b| &b.voicing);
            let plain = pipeline::step(voicing, &placed, &taste);
            for under in &silent {
                let found = pipeline::step_under(voicing, &placed, &taste, Own::NONE, under);
                assert_eq!((found.voiced, found.yields.len()), (plain, 0));
                let planned = before.unwrap_or_default();
                let adapted = pipeline::adapt(&planned, &placed, &taste);
                let found = pipeline::adapt_under(&planned, &placed, &taste, Own::NONE, under);
                assert_eq!((found.voiced, found.yields.len()), (adapted, 0));
            }
            before = Some(plain);
        }
    }
}

/// The notes of the left hand from the lowest, and what is told. Common practice, no published source.
#[test]
fn check_steps_come_out_note_for_note() {
    for (key, symbol, melody, notes, told) in [
        ("C", "G7(b9)", "", "F3 Ab3 B3 E4", ""),
        ("C", "G7", "A4", "F3 A3 B3 E4", ""),
        (
            "C",
            "G7",
            "Eb5",
            "F3 A3 B3 Eb4",
            "13 yields to b13: Eb in the melody",
        ),
        (
            "C",
            "G7",
            "Ab4",
            "F3 Ab3 B3 E4",
            "9 yields to b9: Ab in the melody",
        ),
        (
            "C",
            "G7",
            "F5",
            "F3 A3 B3 D4",
            "13 yields to 5: F in the melody",
        ),
        (
            "C",
            "G7",
            "C5",
            "F3 A3 C4 E4",
            "3 yields to 4: C in the melody",
        ),
        (
            "C",
            "Dm7",
            "F#5",
            "G3 A3 C4 E4",
            "b3 yields to 4: F# in the melody",
        ),
        (
            "C",
            "Cmaj7",
            "F5",
            "F3 G3 A3 D4",
            "3 yields to 4: F in the melody; 7 yields to 6: F in the melody",
        ),
        (
            "C",
            "Dm7",
            "C#5",
            "F3 A3 C#4 E4",
            "b7 yields to 7: C# in the melody",
        ),
        (
            "C",
            "G7",
            "F#5",
            "E3 A3 B3 D4",
            "b7 yields to 6: F# in the melody",
        ),
        (
            "C",
            "C6",
            "Bb4",
            "E3 G3 Bb3 D4",
            "6 yields to b7: Bb in the melody",
        ),
        (
            "C",
            "G7sus4",
            "C#5",
            "F3 A3 E4",
            "4 is left out: C# in the melody",
        ),
        (
            "C",
            "Dm7b5",
            "C#5",
            "F3 Ab3 Cb4 D4",
            "b7 yields to bb7: C# in the melody",
        ),
        (
            "C",
            "Bdim7",
            "A4",
            "A3 B3 D4 F4",
            "bb7 yields to b7: A in the melody",
        ),
        (
            "C",
            "Cmaj7",
            "C5",
            "E3 G3 A3 D4",
            "7 yields to 6: C in the melody",
        ),
        (
            "C",
            "Dm7",
            "F5",
            "F3 A3 C4 D4",
            "9 yields to 1: F in the melody",
        ),
        (
            "Cm",
            "G7",
            "A4",
            "F3 A3 B3 Eb4",
            "b9 yields to 9: A in the melody",
        ),
    ] {
        let chord = symbol::parse(symbol).unwrap();
        let key = Key::parse(key).unwrap();
        let function = key::live(&chord, key);
        let placed = ChordInKey::new(chord, function);
        let note = SpelledPitch::parse(melody);
        let above: Above = note.and_then(|n| n.midi()).into_iter().collect();
        let under = Under {
            above,
            yielding: Yielding::TensionsAndRegister,
        };
        // After the ii of the key, so that the form is the usual one.
        let two = pipeline::place_root(Key::C_MAJOR, PitchClass::wrapping(2), Extras::NONE);
        let taste = Taste::default();
        let before = pipeline::step(None, &two, &taste).voicing;
        let found = pipeline::step_under(Some(&before), &placed, &taste, Own::NONE, &under);
        let spelled = found.voiced.voicing.spelled(chord.root);
        let spelled: Vec<String> = spelled.map(|n| n.to_string()).collect();
        assert_eq!(spelled.join(" "), notes, "{symbol} under {melody}");
        let words: Vec<String> = found.yields.iter().map(ToString::to_string).collect();
        assert_eq!(words.join("; "), told, "{symbol} under {melody}");
    }
}

/// Own shapes with tensions of their own: where one clashes, another one or the texture takes its
/// place, and where one agrees, it stays.
#[test]
fn own_shapes_give_way_where_they_clash() {
    use Degree::{Flat7, Flat9, Flat13, Nine, Sharp9, Sharp11, Thirteen, Three};
    let shape = |degrees: &[Degree]| {
        let notes = degrees.iter().map(|degree| ShapeNote {
            degree: *degree,
            octaves: 0,
        });
        OwnShape::new(ShapeFamily::Dominant, &notes.collect::<Vec<_>>()).unwrap()
    };
    let shapes = [
        shape(&[Three, Flat7, Nine, Thirteen]),
        shape(&[Flat7, Three, Flat13, Sharp9]),
        shape(&[Three, Flat7, Flat9, Thirteen]),
        shape(&[Flat7, Three, Sharp11, Thirteen]),
    ];
    let taste = Taste {
        own: true,
        ..Taste::default()
    };
    let (mut own, mut clashed) = (0, 0);
    for placed in placed().filter(|p| p.chord.quality.is_dominant()) {
        let plain = pipeline::step_with(None, &placed, &taste, Own::instead(&shapes));
        for melody in (70..82).map(MidiNote::clamp) {
            let under = Under {
                above: Above::NONE.with(melody),
                yielding: Yielding::Tensions,
            };
            let shapes = Own::instead(&shapes);
            let found = pipeline::step_under(None, &placed, &taste, shapes, &under);
            for voice in clashing(&found.voiced.voicing, &placed.chord, melody) {
                let guide = stands(&found.voiced, voice.degree);
                assert!(guide, "{placed:?} {melody:?} {found:?}");
            }
            let agrees = clashing(&plain.voicing, &placed.chord, melody).is_empty();
            assert!(!agrees || found.voiced == plain, "{placed:?} {melody:?}");
            let count = if agrees { &mut own } else { &mut clashed };
            *count += 1;
        }
    }
    assert!(own > 500 && clashed > 500, "{own} {clashed}");
}

/// A chord whose third or seventh has yielded is called by what sounds. Common practice, no published
/// source.
#[test]
fn what_has_yielded_is_named_as_it_sounds() {
    for (symbol, melody, named) in [
        ("G7", "C5", "G13sus4"),
        ("Dm7", "F#5", "D9sus4"),
        ("Dm7", "C#5", "Dm(maj9)"),
        ("G7", "F#5", "G6/9"),
        ("C6", "Bb4", "C9"),
        ("Dm7b5", "C#5", "Ddim7"),
        ("Bdim7", "A4", "Bm7b5"),
        ("Cmaj7", "C5", "C6/9"),
    ] {
        let chord = symbol::parse(symbol).unwrap();
        let placed = ChordInKey::new(chord, key::live(&chord, Key::C_MAJOR));
        let note = SpelledPitch::parse(melody).unwrap().midi();
        let under = Under {
            above: note.into_iter().collect(),
            yielding: Yielding::Tensions,
        };
        let found = pipeline::step_under(None, &placed, &Taste::default(), Own::NONE, &under);
        let sounding = tension::sounding(&chord, found.voiced.voicing.degrees());
        let name = symbol::Symbol(&sounding, symbol::Sign::Ascii).to_string();
        assert_eq!(name, named, "{symbol} under {melody}: {found:?}");
    }
}

/// Guide tones yield to what is held, and not to a note that has ended. Tensions yield to both. Common
/// practice, no published source.
#[test]
fn a_note_that_has_ended_moves_no_guide_tone() {
    let step = |symbol: &str, held: &str, struck: &str| {
        let chord = symbol::parse(symbol).unwrap();
        let placed = ChordInKey::new(chord, key::live(&chord, Key::C_MAJOR));
        let notes = |text: &str| SpelledPitch::parse(text).and_then(SpelledPitch::midi);
        let key = |note: MidiNote| 1 << note.number();
        let above: Above = notes(held).into_iter().collect();
        let under = Under {
            above: above.and_struck(notes(struck).map_or(0, key)),
            yielding: Yielding::Tensions,
        };
        let found = pipeline::step_under(None, &placed, &Taste::default(), Own::NONE, &under);
        let spelled = found.voiced.voicing.spelled(chord.root);
        let spelled: Vec<String> = spelled.map(|n| n.name.to_string()).collect();
        spelled.join(" ")
    };
    for (symbol, held, struck, notes) in [
        ("Cmaj7", "E5", "F5", "E G B D"),
        ("Cmaj7", "F5", "F5", "F G A D"),
        ("G7", "B4", "C5", "F A B E"),
        ("G7", "C5", "", "F A C E"),
        ("G7", "B4", "Ab4", "F Ab B E"),
    ] {
        assert_eq!(
            step(symbol, held, struck),
            notes,
            "{symbol} {held} {struck}"
        );
    }
}
