//! Own shapes: what they serve, where they lie, and plans with them against exhaustive search.

#[path = "data/mod.rs"]
mod data;
#[path = "own_shapes/plans.rs"]
mod plans;

use guidehand_theory::candidates::{self, Edges, Hand, Register};
use guidehand_theory::chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::{self, Key, Mode};
use guidehand_theory::own_shape::{OwnShape, ShapeError, ShapeFamily, ShapeNote};
use guidehand_theory::pin;
use guidehand_theory::pipeline::{self, ChordInKey};
use guidehand_theory::pitch::{MidiNote, NoteName, SpelledPitch};
use guidehand_theory::quality::{Extent, Quality, TABLE};
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension::{
    self, EleventhRequest, MajorEleventhRequest, MajorTonicRequest, MinorTonicRequest,
    NinthRequest, TensionRequests, ThirteenthRequest,
};
use guidehand_theory::voicing::{Position, Voicing};

/// The everyday symbols.
fn everyday() -> impl Iterator<Item = Chord> {
    let rows = data::rows(include_str!("data/everyday-symbols.txt"));
    rows.map(|[symbol, _degrees, _libraries]| symbol::parse(symbol).unwrap())
}

/// Every quality with every pair of written degrees that can be read.
fn written() -> impl Iterator<Item = Chord> {
    const WRITTEN: [&str; 10] = ["", "b9", "9", "#9", "11", "#11", "b5", "#5", "b13", "13"];
    let pairs = || {
        WRITTEN
            .iter()
            .flat_map(|a| WRITTEN.iter().map(move |b| (a, b)))
    };
    TABLE.iter().flat_map(move |row| {
        pairs().filter_map(|(a, b)| symbol::parse(&format!("C{}({a},{b})", row.suffix)).ok())
    })
}

/// What a player may ask of dominants and tonics.
fn asks() -> Vec<TensionRequests> {
    let none = TensionRequests::default();
    let ninth = |ninth| TensionRequests { ninth, ..none };
    vec![
        none,
        ninth(NinthRequest::Nine),
        ninth(NinthRequest::Flat9),
        ninth(NinthRequest::Sharp9),
        TensionRequests {
            eleventh: EleventhRequest::Sharp11,
            thirteenth: ThirteenthRequest::Flat13,
            major_eleventh: MajorEleventhRequest::Sharp11,
            major_tonic: MajorTonicRequest::Six,
            minor_tonic: MinorTonicRequest::Seven,
            ..none
        },
    ]
}

/// A shape from the name of its family and its degrees.
fn shape(family: &str, degrees: &str) -> OwnShape {
    let notes: Vec<ShapeNote> = degrees
        .split_whitespace()
        .map(|name| ShapeNote {
            degree: Degree::from_name(name).unwrap(),
            octaves: 0,
        })
        .collect();
    OwnShape::new(ShapeFamily::from_name(family).unwrap(), &notes).unwrap()
}

/// The chords of a chart in their keys.
fn placed(text: &str) -> Vec<ChordInKey> {
    let chart = chart::parse(text).unwrap();
    pipeline::place(&chart, None)
        .into_iter()
        .flatten()
        .collect()
}

/// The voicings of a shape over a chord with the tensions that the context chooses, as notes.
fn laid(shape: &OwnShape, placed: &ChordInKey) -> Vec<Voicing> {
    let requests = TensionRequests::default();
    let choices = tension::resolve(&placed.chord, &placed.function, requests);
    let laid = choices.iter().flat_map(|tensions| {
        candidates::of_own(shape, &placed.chord, tensions, Register::DEFAULT).map(|(v, _)| v)
    });
    laid.collect()
}

fn spelled(voicing: &Voicing, root: NoteName) -> String {
    let notes: Vec<String> = voicing.spelled(root).map(|n| n.to_string()).collect();
    notes.join(" ")
}

/// A family, the degrees of a shape, a chart, and the shape over its first chord, if it serves it.
/// Common practice, no published source.
const ROWS: [(&str, &str, &str, &str); 38] = [
    (
        "m7",
        "b7 9 b3 5 9",
        "| Dm7 | G7 | Cmaj7 |",
        "C4 E4 F4 A4 E5",
    ),
    ("m7", "b7 9 b3 5", "| Gm7 | C7 | Fmaj7 |", "F3 A3 Bb3 D4"),
    ("m7", "b3 11 b7", "| Dm7 | G7 | Cmaj7 |", "F3 G3 C4"),
    // iii takes no ninth.
    ("m7", "b7 9 b3 5", "| Em7 | Am7 | Dm7 | G7 | Cmaj7 |", ""),
    (
        "m7",
        "b7 11 b3 5",
        "| Em7 | Am7 | Dm7 | G7 | Cmaj7 |",
        "D3 A3 G4 B4",
    ),
    ("m7", "b7 9 b3 5", "| Dm11 | G7 | Cmaj7 |", ""),
    ("m7", "b7 9 b3 5", "| Dm7b5 | G7 | Cm7 |", ""),
    (
        "m7b5",
        "b3 b5 b7 11",
        "| Dm7b5 | G7 | Cm7 |",
        "F3 Ab3 C4 G4",
    ),
    (
        "dim7",
        "b3 b5 bb7 9",
        "| C#dim7 | Dm7 | G7 | C6 |",
        "E3 G3 Bb3 D#4",
    ),
    ("m6", "6 9 b3 5", "| Am6 | Dm7 | Am6 |", "F#3 B3 C4 E4"),
    ("m6", "6 9 b3 5", "| Am | Dm7 | E7 | Am |", "F#3 B3 C4 E4"),
    ("m(maj7)", "7 9 b3 5", "| Am(maj7) | Dm7 |", "G#3 B3 C4 E4"),
    ("maj7", "3 5 7 9", "| Cmaj7 | Dm7 | G7 |", "E3 G3 B3 D4"),
    ("maj7", "3 #11 7 9", "| Cmaj7 | Dm7 | G7 |", ""),
    (
        "maj7",
        "3 #11 7 9",
        "| Cmaj7#11 | Dm7 | G7 |",
        "E3 F#3 B3 D4",
    ),
    ("maj7", "3 5 7 9", "| Cmaj7#11 | Dm7 | G7 |", ""),
    ("6/9", "3 6 9 5", "| C6 | Dm7 | G7 |", "E3 A3 D4 G4"),
    ("6/9", "3 6 9 5", "| C | Dm7 | G7 |", "E3 A3 D4 G4"),
    ("6/9", "3 6 9 5", "| Cmaj7 | Dm7 | G7 |", ""),
    ("7", "b7 9 3 13", "| G7 | Cmaj7 | Dm7 |", "F3 A3 B3 E4"),
    ("7", "b7 9 3 5", "| G7 | Cmaj7 | Dm7 |", "F3 A3 B3 D4"),
    ("7", "b7 9 3 13", "| G7 | Cm7 | Fm7 |", ""),
    ("7", "b7 b9 3 b13", "| G7 | Cm7 | Fm7 |", "F3 Ab3 B3 Eb4"),
    ("alt", "b7 b9 3 b13", "| G7 | Cm7 | Fm7 |", "F3 Ab3 B3 Eb4"),
    (
        "alt",
        "b7 b9 3 b13",
        "| G7alt | Cmaj7 | Dm7 |",
        "F3 Ab3 B3 Eb4",
    ),
    ("7", "b7 3 b13", "| G7alt | Cmaj7 | Dm7 |", "F3 B3 Eb4"),
    // A dominant with natural tensions is not altered, whatever the shape leaves out.
    ("alt", "b7 3", "| F7 | Bb7 | F7 |", ""),
    ("7", "b7 9 3 13", "| G7(b9) | Cmaj7 | Dm7 |", ""),
    (
        "7",
        "b7 b9 3 13",
        "| G7(b9) | Cmaj7 | Dm7 |",
        "F3 Ab3 B3 E4",
    ),
    ("7", "3 #5 b7 9", "| G7(#5) | Cmaj7 | Dm7 |", "B3 D#4 F4 A4"),
    ("7", "b7 3 #11 13", "| F7 | C7 | F7 |", "Eb3 A3 B3 D4"),
    (
        "sus",
        "b7 9 4 13",
        "| G7sus4 | Cmaj7 | Dm7 |",
        "F3 A3 C4 E4",
    ),
    ("sus", "4 b7 9", "| F/G | Cmaj7 | Dm7 |", "C4 F4 A4"),
    // The triad sounds whole.
    ("sus", "4 b7 13", "| F/G | Cmaj7 | Dm7 |", ""),
    // A shape may leave out what is written, but not for something that is not.
    ("m7", "b3 b7", "| Dm9 | G7 | Cmaj7 |", "F3 C4"),
    ("m7", "b3 5 b7", "| Dm9 | G7 | Cmaj7 |", ""),
    ("m7b5", "b3 b7", "| Dm7b5 | G7 | Cm7 |", "F3 C4"),
    ("7", "b7 9 3 13", "| G7sus4 | Cmaj7 | Dm7 |", ""),
];

/// The first place that the shape has, in all keys.
#[test]
fn shapes_serve_their_chords_in_every_key() {
    for (family, degrees, text, expected) in ROWS {
        let shape = shape(family, degrees);
        let chart = chart::parse(text).unwrap();
        for fifths in -6..6 {
            let moved = |change: &chart::Change| {
                let chord = change.chord.map(|c| c.transposed(fifths));
                (chord, change.length_ticks)
            };
            let timed: Vec<_> = chart.changes.iter().map(moved).collect();
            let functions = key::analyse_in_time(&timed, None);
            let chord = guidehand_theory::slash::meant(&timed[0].0.unwrap());
            let first = ChordInKey::new(chord, functions[0].unwrap());
            let laid = laid(&shape, &first);
            let Some(voicing) = laid.first() else {
                assert_eq!("", expected, "{family}: {degrees} in {text}, {fifths}");
                continue;
            };
            assert_ne!("", expected, "{family}: {degrees} in {text}, {fifths}");
            let pitches = expected.split_whitespace().map(SpelledPitch::parse);
            let pitches: Vec<MidiNote> = pitches.map(|p| p.unwrap().midi().unwrap()).collect();
            let gaps = |notes: Vec<MidiNote>| {
                let gaps = notes.windows(2).map(|w| w[1].number() - w[0].number());
                gaps.collect::<Vec<u8>>()
            };
            let notes: Vec<MidiNote> = voicing.notes().collect();
            assert_eq!(gaps(notes), gaps(pitches), "{text}, {fifths}");
            if fifths == 0 {
                let root = first.chord.root;
                assert!(
                    laid.iter().any(|v| spelled(v, root) == expected),
                    "{text}: {} for {expected}",
                    spelled(voicing, root)
                );
            }
        }
    }
}

/// A voicing of a texture becomes an own shape, and that shape lies over the same chord as the
/// voicing did, in every texture, both forms and all keys.
#[test]
fn voicings_become_shapes_and_come_back() {
    let (mut back, mut kept) = (0, 0);
    for chord in everyday() {
        for fifths in -6..6 {
            let chord = chord.transposed(fifths);
            let function = key::live(&chord, Key::C_MAJOR);
            for tensions in tension::resolve(&chord, &function, TensionRequests::default()) {
                for texture in Texture::ALL {
                    for made in candidates::of(&chord, &tensions, texture, Register::DEFAULT) {
                        let shape = match OwnShape::of(&made, &chord) {
                            Ok(shape) => shape,
                            Err(ShapeError::NoFamily) => continue,
                            Err(error) => panic!("{chord:?}, {made:?}: {error}"),
                        };
                        kept += 1;
                        let Some(degrees) = shape.degrees(&chord, &tensions) else {
                            continue;
                        };
                        let lowest = made.lowest().unwrap();
                        let laid = shape.lay(&chord, &tensions, &degrees, lowest).unwrap();
                        assert_eq!(laid.voices(), made.voices(), "{chord:?}, {texture:?}");
                        back += 1;
                    }
                }
            }
        }
    }
    assert!(kept > 20_000 && back == kept, "{back} of {kept}");
}

/// An own shape goes from one chord to another of its family.
#[test]
fn a_shape_goes_from_one_chord_to_another() {
    let two = placed("| Dm7 | G7 | Cmaj7 |")[0];
    let notes = ["C4", "E4", "F4", "A4", "E5"];
    let notes: Vec<MidiNote> = notes
        .iter()
        .map(|n| SpelledPitch::parse(n).unwrap().midi().unwrap())
        .collect();
    let made = pin::by_degree(&notes, &two.chord, Hand::DEFAULT).unwrap();
    let kept = OwnShape::of(&made, &two.chord).unwrap();
    assert_eq!(kept, shape("m7", "b7 9 b3 5 9"));
    let other = placed("| Gm7 | C7 | Fmaj7 |")[0];
    let there: Vec<String> = laid(&kept, &other)
        .iter()
        .map(|v| spelled(v, other.chord.root))
        .collect();
    assert_eq!(there, ["F3 A3 Bb3 D4 A4"]);
    // A gap of an octave and more is kept.
    let wide = ["C3", "F4", "A4"];
    let wide: Vec<MidiNote> = wide
        .iter()
        .map(|n| SpelledPitch::parse(n).unwrap().midi().unwrap())
        .collect();
    let made = pin::by_degree(&wide, &two.chord, Hand::DEFAULT).unwrap();
    let kept = OwnShape::of(&made, &two.chord).unwrap();
    let octaves: Vec<u8> = kept.notes().iter().map(|n| n.octaves).collect();
    assert_eq!((octaves, kept.span()), (vec![0, 1, 0], 21));
}

/// Whatever sounds over the chords of a family can be a note of its shapes.
#[test]
fn a_family_takes_what_sounds_over_its_chords() {
    let key = |degree: Degree| degree.interval().semitones;
    let note = |degree| ShapeNote { degree, octaves: 0 };
    let mut seen = 0;
    // An altered dominant that writes a natural tension contradicts itself.
    let contradicts = |chord: &Chord| {
        let natural = DegreeSet::of(&[Degree::Nine, Degree::Thirteen]);
        chord.quality == Quality::Altered && chord.written.intersects(natural)
    };
    for chord in everyday().chain(written()).filter(|c| !contradicts(c)) {
        for mode in [Mode::Major, Mode::Minor] {
            let function = key::live(&chord, Key::usual(chord.root.class(), mode));
            for requests in asks() {
                for tensions in tension::resolve(&chord, &function, requests) {
                    for family in ShapeFamily::ALL {
                        let [third, seventh] = family.guide_tones();
                        let with = |degree| [third, seventh, degree].map(note);
                        for degree in tensions.others {
                            let taken = Degree::ALL.into_iter().any(|other| {
                                let same = key(other) == key(degree);
                                same && OwnShape::new(family, &with(other)).is_ok()
                            });
                            let plain = OwnShape::new(family, &with(third)[..2]).unwrap();
                            // It serves the chord but for what the symbol writes.
                            let bare = Chord {
                                written: DegreeSet::EMPTY,
                                extent: Extent::Plain,
                                ..chord
                            };
                            let serves = plain.degrees(&bare, &tensions).is_some();
                            seen += usize::from(serves);
                            assert!(taken || !serves, "{degree} over {chord:?}, {family:?}");
                        }
                    }
                }
            }
        }
    }
    assert!(seen > 10_000, "{seen}");
}

#[test]
fn bad_shapes_are_told() {
    let make = |family: &str, degrees: &[&str], octaves: u8| {
        let notes: Vec<ShapeNote> = degrees
            .iter()
            .map(|name| ShapeNote {
                degree: Degree::from_name(name).unwrap(),
                octaves,
            })
            .collect();
        let shape = OwnShape::new(ShapeFamily::from_name(family).unwrap(), &notes);
        shape.unwrap_err().to_string()
    };
    let one = make("m7", &["b3"], 0);
    assert_eq!(one, "a shape needs at least two notes");
    let nine = make("m7", &["b3"; 9], 0);
    assert_eq!(nine, "a shape holds at most 8 notes");
    let third = make("m7", &["b7", "3"], 0);
    assert_eq!(third, "note 2: 3 never sounds over m7 chords");
    let ninth = make("alt", &["3", "b7", "9"], 0);
    assert_eq!(ninth, "note 3: 9 never sounds over alt chords");
    let high = make("7", &["3", "b7"], 4);
    assert_eq!(high, "note 1 lies more than 3 octaves above its next place");
    let wide = make("7", &["3", "b7", "3", "b7"], 3);
    assert_eq!(wide, "the shape is wider than a keyboard");
}

/// Whatever the register and the hand, an own shape lies within them.
#[test]
fn shapes_keep_to_register_and_hand() {
    let shapes: Vec<OwnShape> = ROWS
        .iter()
        .map(|(family, degrees, ..)| shape(family, degrees))
        .collect();
    let mut laid = 0;
    for (_, _, text, _) in ROWS {
        for p in placed(text) {
            let choices = tension::resolve(&p.chord, &p.function, TensionRequests::default());
            for low in [40, 50, 53, 60, 110] {
                for edges in [Edges::Soft, Edges::Hard] {
                    for hand in [Hand::new(12, 12), Hand::DEFAULT] {
                        let (low, high) = (MidiNote::clamp(low), MidiNote::clamp(low + 19));
                        let register = Register {
                            edges,
                            hand,
                            ..Register::new(low, high)
                        };
                        for (shape, tensions) in shapes
                            .iter()
                            .flat_map(|s| choices.iter().map(move |t| (s, t)))
                        {
                            for (v, leeway) in
                                candidates::of_own(shape, &p.chord, tensions, register)
                            {
                                let beyond = i32::from(edges.beyond());
                                let (bottom, start, top) = register.edges_with(leeway);
                                let (l, h) = (v.lowest().unwrap(), v.highest().unwrap());
                                assert!(l.semitones() >= bottom - beyond);
                                assert!(l.semitones() <= start + beyond);
                                assert!(h.semitones() <= top + beyond);
                                assert!(l.semitones() >= bottom || v.low_intervals() == 0);
                                let reach = v.left_span().max(v.right_span());
                                assert!(reach <= hand.at_most, "{v:?}");
                                assert_eq!(v.root(), Some(p.chord.root.class()));
                                laid += 1;
                            }
                        }
                    }
                }
            }
        }
    }
    assert!(laid > 1000, "{laid}");
}

/// The position says which slot lies lowest, so that the form letter is that of the textures.
#[test]
fn positions_are_those_of_the_textures() {
    for (family, degrees, text, position) in [
        ("m7", "b3 5 b7 9", "| Dm7 | G7 |", Position::Third),
        ("m7", "b7 9 b3 5", "| Dm7 | G7 |", Position::Seventh),
        ("m7", "b7 9 b3 5 9", "| Dm7 | G7 |", Position::AsPlayed),
        ("m7", "b3 b7 9 5", "| Dm7 | G7 |", Position::Third),
        ("m7", "5 b7 9 b3", "| Dm7 | G7 |", Position::Fifth),
        ("m7", "9 b3 5 b7", "| Dm7 | G7 |", Position::Ninth),
        ("7", "b7 3 13 9", "| G7 | Cmaj7 |", Position::Fourths),
    ] {
        let shape = shape(family, degrees);
        let laid = laid(&shape, &placed(text)[0]);
        assert_eq!(laid[0].position, position, "{degrees}");
    }
}
