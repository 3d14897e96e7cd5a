//! The player's requests for chords other than dominants, the blues as a mode, and the reach of the
//! hand and the register: the effect of each parameter on the output.

use crate::plugin::{
    RATE_HZ, TONICS, chord_keys, keys_of, low, mute, play, set, set_key, twelve_tonics, with_chart,
};
use guidehand_tests::{Session, TransportChange};
use guidehand_theory::candidates::{Edges, Hand, Register};
use guidehand_theory::chart;
use guidehand_theory::key::Mode;
use guidehand_theory::pipeline::{self, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{
    MajorEleventhRequest, MajorTonicRequest, MinorEleventhRequest, MinorTonicRequest,
    PlainNinthRequest, TensionRequests,
};

/// The keys of the chords of a chart of four bars in 4/4, played once with these parameters.
fn comped(text: &str, settings: &[(&str, &str)]) -> Vec<Vec<i16>> {
    let mut host = with_chart(text);
    for (name, words) in settings {
        set(&mut host, name, words);
    }
    let mut session = Session::new(RATE_HZ, 2_880.0, 17_000);
    session.change(16_000, TransportChange::Stop);
    chord_keys(&play(&mut host, &session).events)
}

/// The theory's voicings for the chart and the same taste: its plan for the register, and for
/// requests the voicing nearest to the plan.
fn expected(text: &str, taste: &Taste) -> Vec<Vec<i16>> {
    let placed = pipeline::place(&chart::parse(text).unwrap(), None);
    let plan = pipeline::plan(&placed, taste.texture, taste.register, Ends::Cyclic);
    let chords = placed.iter().flatten().zip(plan.into_iter().flatten());
    let voiced =
        chords.map(
            |(placed, planned)| match taste.requests == TensionRequests::default() {
                true => planned,
                false => pipeline::adapt(&planned, placed, taste),
            },
        );
    voiced.map(|voiced| keys_of(&voiced.voicing)).collect()
}

/// Half steps above a root, each once.
fn above(keys: &[i16], root: i16) -> Vec<i16> {
    let mut classes: Vec<i16> = keys.iter().map(|key| (key - root).rem_euclid(12)).collect();
    classes.sort_unstable();
    classes.dedup();
    classes
}

/// A request in words, and in the theory's terms.
type RequestCase = (&'static str, &'static str, TensionRequests);

fn requests_in_words() -> [RequestCase; 11] {
    let requests = TensionRequests::default();
    let ninth = |plain_ninth| TensionRequests {
        plain_ninth,
        ..requests
    };
    let minor = |minor_eleventh| TensionRequests {
        minor_eleventh,
        ..requests
    };
    let major = |major_eleventh| TensionRequests {
        major_eleventh,
        ..requests
    };
    let at_home = |major_tonic| TensionRequests {
        major_tonic,
        ..requests
    };
    let at_home_in_minor = |minor_tonic| TensionRequests {
        minor_tonic,
        ..requests
    };
    [
        (
            "Ninth on other chords",
            "None",
            ninth(PlainNinthRequest::None),
        ),
        ("Ninth on other chords", "9", ninth(PlainNinthRequest::Nine)),
        (
            "Eleventh on minor chords",
            "None",
            minor(MinorEleventhRequest::None),
        ),
        (
            "Eleventh on minor chords",
            "11",
            minor(MinorEleventhRequest::Eleven),
        ),
        (
            "Eleventh on major chords",
            "None",
            major(MajorEleventhRequest::None),
        ),
        (
            "Eleventh on major chords",
            "#11",
            major(MajorEleventhRequest::Sharp11),
        ),
        ("Major tonic", "6", at_home(MajorTonicRequest::Six)),
        ("Major tonic", "maj7", at_home(MajorTonicRequest::Seven)),
        (
            "Minor tonic",
            "m6",
            at_home_in_minor(MinorTonicRequest::Six),
        ),
        (
            "Minor tonic",
            "m7",
            at_home_in_minor(MinorTonicRequest::Flat7),
        ),
        (
            "Minor tonic",
            "m(maj7)",
            at_home_in_minor(MinorTonicRequest::Seven),
        ),
    ]
}

#[test]
fn every_request_is_answered_as_in_the_theory() {
    for chart in [
        "| Dm7 G7 | C | Fmaj7 Em7 | Am7 D7 |",
        "| Dm7b5 G7 | Cm | Fm7 Bb7sus4 | Ebmaj7 Cm |",
    ] {
        for (name, words, requests) in requests_in_words() {
            let taste = Taste {
                requests,
                ..Taste::default()
            };
            let found = comped(chart, &[(name, words)]);
            assert_eq!(found, expected(chart, &taste), "{name}: {words} in {chart}");
        }
    }
}

/// The degrees of each chord, in half steps above its root: common practice, no published source.
/// The guide tones stay, whatever else is requested.
#[test]
fn requested_degrees_sound() {
    struct Case {
        chart: &'static str,
        request: (&'static str, &'static str),
        root: i16,
        /// All of these sound.
        sounds: &'static [i16],
        /// None of these sounds.
        silent: &'static [i16],
    }
    let row = |chart, request, root, sounds, silent| Case {
        chart,
        request,
        root,
        sounds,
        silent,
    };
    let [c, d, f] = [0, 2, 5];
    let (ninth, minor, major) = (
        "Ninth on other chords",
        "Eleventh on minor chords",
        "Eleventh on major chords",
    );
    for Case {
        chart,
        request,
        root,
        sounds,
        silent,
    } in [
        row(
            "| Dm7 | G7 | Cmaj7 | % |",
            (ninth, "9"),
            d,
            &[2, 3, 10],
            &[],
        ),
        row(
            "| Dm7 | G7 | Cmaj7 | % |",
            (ninth, "None"),
            d,
            &[3, 10],
            &[2],
        ),
        row(
            "| Fmaj7 | G7 | Cmaj7 | % |",
            (ninth, "None"),
            f,
            &[4, 11],
            &[2],
        ),
        row(
            "| Dm7 | G7 | Cmaj7 | % |",
            (minor, "11"),
            d,
            &[3, 5, 10],
            &[],
        ),
        row(
            "| Dm7b5 | G7 | Cm6 | % |",
            (minor, "11"),
            d,
            &[3, 5, 10],
            &[],
        ),
        row(
            "| Dm7 | G7 | Cmaj7 | % |",
            (minor, "None"),
            d,
            &[3, 10],
            &[5],
        ),
        row(
            "| Fmaj7 | G7 | Cmaj7 | % |",
            (major, "#11"),
            f,
            &[4, 6, 11],
            &[],
        ),
        row(
            "| Fmaj7 | G7 | Cmaj7 | % |",
            (major, "None"),
            f,
            &[4, 11],
            &[6],
        ),
        row(
            "| C | Dm7 | G7 | C |",
            ("Major tonic", "6"),
            c,
            &[4, 9],
            &[11],
        ),
        row(
            "| C | Dm7 | G7 | C |",
            ("Major tonic", "maj7"),
            c,
            &[4, 11],
            &[9],
        ),
        row(
            "| Cm | Dm7b5 | G7 | Cm |",
            ("Minor tonic", "m6"),
            c,
            &[3, 9],
            &[10, 11],
        ),
        row(
            "| Cm | Dm7b5 | G7 | Cm |",
            ("Minor tonic", "m7"),
            c,
            &[3, 10],
            &[9, 11],
        ),
        row(
            "| Cm | Dm7b5 | G7 | Cm |",
            ("Minor tonic", "m(maj7)"),
            c,
            &[3, 11],
            &[9, 10],
        ),
    ] {
        let found = comped(chart, &[request]);
        let first = above(&found[0], root);
        for degree in sounds {
            assert!(first.contains(degree), "{request:?} in {chart}: {first:?}");
        }
        for degree in silent {
            assert!(!first.contains(degree), "{request:?} in {chart}: {first:?}");
        }
        // A dominant has requests of its own, and keeps what it chose by context.
        let dominant = |text: &str| text.split(" | ").position(|bar| bar.starts_with("G7"));
        let at = dominant(chart).unwrap();
        let seventh = above(&found[at], 7);
        assert!(seventh.contains(&4) && seventh.contains(&10), "{seventh:?}");
    }
}

/// I7, IV7 and V7, in twelve keys: common practice, no published source.
#[test]
fn roots_in_the_blues_are_dominants_at_home() {
    let mut host = mute();
    for tonic in twelve_tonics() {
        set_key(&mut host, tonic, Mode::Blues);
        for degree in [0, 5, 7] {
            let root = low(tonic + degree);
            let mut session = Session::new(RATE_HZ, 120.0, 2_000);
            session.note(0, 1_000, root);
            let found = chord_keys(&play(&mut host, &session).events);
            let degrees = above(&found[0], root);
            let key = TONICS[usize::from(tonic)];
            assert!(
                degrees.contains(&4) && degrees.contains(&10),
                "{degree} half steps above {key}: {degrees:?}"
            );
        }
    }
}

const HANDS: [(&str, u8); 6] = [
    ("Octave", 12),
    ("Minor ninth", 13),
    ("Ninth", 14),
    ("Minor tenth", 15),
    ("Tenth", 16),
    ("Eleventh", 17),
];

const TUNE: &str = "| Dm7 G7 | Cmaj7 A7 | Ab7 D7 | G13 C6/9 |";

#[test]
fn the_hand_reaches_as_far_as_is_asked() {
    for texture in [
        ("Four notes", Texture::FourNotes),
        ("Drop 2", Texture::Open),
    ] {
        for (at_ease_words, at_ease) in HANDS {
            for (at_most_words, at_most) in HANDS {
                let taste = Taste {
                    texture: texture.1,
                    register: Register {
                        hand: Hand::new(at_ease, at_most),
                        ..Register::DEFAULT
                    },
                    ..Taste::default()
                };
                let settings = [
                    ("Texture", texture.0),
                    ("Hand at ease", at_ease_words),
                    ("Hand at most", at_most_words),
                ];
                let found = comped(TUNE, &settings);
                assert_eq!(found, expected(TUNE, &taste), "{settings:?}");
            }
        }
    }
}

/// A close position never has to be wider than requested.
#[test]
fn one_hand_never_spans_more_than_it_reaches() {
    for (words, semitones) in HANDS {
        let settings = [("Hand at ease", "Octave"), ("Hand at most", words)];
        for keys in comped(TUNE, &settings) {
            let span = keys.last().unwrap() - keys.first().unwrap();
            assert!(span <= i16::from(semitones), "{words}: {keys:?}");
        }
    }
}

#[test]
fn the_register_has_soft_edges_or_hard_ones() {
    let ends = [("Register from", "G3"), ("Register to", "D5")];
    let (lowest, highest) = (55, 74);
    for (words, edges) in [("Off", Edges::Soft), ("On", Edges::Hard)] {
        let taste = Taste {
            register: Register {
                edges,
                ..Register::new(MidiNote::clamp(lowest), MidiNote::clamp(highest))
            },
            ..Taste::default()
        };
        let settings = [ends[0], ends[1], ("Hard register edges", words)];
        let found = comped(TUNE, &settings);
        assert_eq!(found, expected(TUNE, &taste), "{words}");
        // With soft edges a third is allowed.
        let beyond = if edges == Edges::Soft { 4 } else { 0 };
        let range = lowest - beyond..=highest + beyond;
        for key in found.iter().flatten() {
            assert!(range.contains(&i32::from(*key)), "{words}: {found:?}");
        }
    }
}
