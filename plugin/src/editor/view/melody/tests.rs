//! The melody in words and by keys. Which tensions yield is common practice, no published source.

use super::*;
use crate::editor::bench::under_melody;
use crate::editor::view::families::tensions;
use crate::editor::view::now;
use crate::engine::settings::Source;
use guidehand_theory::degree::Family;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::NoteName;
use guidehand_theory::under::{Style, Why};

const A5: u8 = 81;
const C6: u8 = 84;

/// A chart that yields, with chords in a style under the melody.
fn settings(style: Option<Style>) -> Settings {
    let mut settings = Settings::plain(Source::Chart);
    settings.right_hand.yielding = Yielding::TensionsAndRegister;
    settings.right_hand.under = style;
    settings
}

/// The first chord of a chart under keys that are held.
fn first(text: &str, keys: &[u8], style: Style) -> Snapshot {
    under_melody(text, &Taste::default(), keys, style)[0]
}

fn close(text: &str, keys: &[u8]) -> Snapshot {
    first(text, keys, Style::FourWayClose)
}

#[test]
fn what_yields_is_told_in_short_and_in_whole_sentences() {
    for (text, keys, short, whole) in [
        (
            "| G7 | Cm6 |",
            &[A5][..],
            &["9 for ♭9, under A"][..],
            &["♭9 yields to 9: A in the melody"][..],
        ),
        (
            "| G7 | Cm6 |",
            &[76],
            &["13 for ♭13, under E"],
            &["♭13 yields to 13: E in the melody"],
        ),
        (
            "| Cmaj7 |",
            &[C6],
            &["6 for 7, under C"],
            &["7 yields to 6: C in the melody"],
        ),
        (
            "| G7b9 | Cm6 |",
            &[A5],
            &["1 for ♭9, under A"],
            &["♭9, as written, is left out and 1 fills its place: A in the melody"],
        ),
        (
            "| Cmaj7 |",
            &[77],
            &["4 for 3, under F", "6 for 7, under F"],
            &[
                "3 yields to 4: F in the melody",
                "7 yields to 6: F in the melody",
            ],
        ),
        ("| G7 | Cm6 |", &[], &[], &[]),
    ] {
        let yielded = close(text, keys).yielded;
        assert_eq!(yields(&yielded), short, "{text} {keys:?}");
        assert_eq!(sentences(&yielded), whole, "{text} {keys:?}");
    }
}

#[test]
fn what_is_left_out_or_stands_is_told() {
    let one = Yield {
        degree: Degree::Flat9,
        melody: NoteName::from_fifths(3),
        ..Yield::default()
    };
    for (outcome, short, whole) in [
        (
            Outcome::LeftOut,
            "♭9 left out, under A",
            "♭9 is left out: A in the melody",
        ),
        (
            Outcome::WrittenLeftOut(None),
            "♭9 left out, under A",
            "♭9, as written, is left out: A in the melody",
        ),
        (
            Outcome::Stands,
            "♭9 stands against A",
            "♭9 stands: A in the melody",
        ),
    ] {
        let yielded = Yielded {
            yields: [Yield { outcome, ..one }].into_iter().collect(),
            ..Yielded::default()
        };
        assert_eq!(yields(&yielded), [short]);
        assert_eq!(sentences(&yielded), [whole]);
    }
}

#[test]
fn a_chord_that_lies_too_high_is_told() {
    for (too_high, words) in [
        (1, "a half step too high for the melody"),
        (3, "3 half steps too high for the melody"),
    ] {
        let yielded = Yielded {
            too_high,
            ..Yielded::default()
        };
        assert_eq!(yields(&yielded), [words]);
        assert_eq!(sentences(&yielded), [words]);
    }
}

/// A tension that sounds for the melody's sake has no other reason; the others keep theirs.
#[test]
fn the_reason_of_a_tension_that_agrees_is_the_melody() {
    let settings = settings(None);
    let snapshot = close("| G7 | Cm6 |", &[A5]);
    let told = now(&snapshot, &settings).unwrap();
    assert_eq!(told.why, "♭13: falls a fifth to a minor chord");
    assert_eq!(told.yields, ["9 for ♭9, under A"]);
    let origins = |family| {
        let all = tensions(&snapshot, &settings, family);
        let told = all.iter().map(|one| (one.origin, one.reason.clone()));
        told.collect::<Vec<_>>()
    };
    let sentence = "♭9 yields to 9: A in the melody".to_owned();
    assert_eq!(origins(Family::Ninth), [("melody", sentence)]);
    let falls = "falls a fifth to a minor chord".to_owned();
    assert_eq!(origins(Family::Thirteenth), [("chosen", falls)]);
    // The sixth is what the root in the melody asks for, and not the ninth.
    let told = now(&close("| Cmaj7 |", &[C6]), &settings).unwrap();
    assert_eq!(told.why, "9: usual on this kind of chord");
}

fn marked(keys: &[MelodyKey]) -> Vec<(u8, &str, Part, bool)> {
    let keys = keys.iter();
    keys.map(|key| (key.note, key.label.as_str(), key.part, key.past))
        .collect()
}

#[test]
fn the_chord_under_the_melody_is_on_the_keys_by_degree() {
    let settings = settings(Some(Style::DropTwo));
    let mut snapshot = first("| G7 | Cm6 |", &[A5], Style::DropTwo);
    let sounding = |past| {
        [
            (65, "♭7", Part::Under, past),
            (71, "3", Part::Under, past),
            (75, "♭13", Part::Under, past),
            (81, "9", Part::Melody, past),
        ]
    };
    assert_eq!(marked(&keys(&snapshot, &settings)), sounding(false));
    // The key has gone up.
    snapshot.held = 0;
    snapshot.under = snapshot.under.map(|under| UnderKey {
        sounds: false,
        ..under
    });
    assert_eq!(marked(&keys(&snapshot, &settings)), sounding(true));
    assert_eq!(told(&snapshot, &settings).len(), 2);
    let later = Snapshot {
        under: snapshot.under,
        ..close("| Cm6 |", &[])
    };
    assert_eq!(keys(&later, &settings), [], "the next chord has come");
    assert_eq!(told(&later, &settings), Vec::<String>::new());
    // Another key is held since, without a chord.
    snapshot.held = 1 << 75;
    let shown = keys(&snapshot, &settings);
    let mut expected = sounding(true);
    expected[2] = (75, "E♭", Part::Melody, false);
    assert_eq!(marked(&shown), expected);
}

/// Without chords under it the melody has its name, as it is spelled over the chord.
#[test]
fn the_melody_is_marked_where_chords_yield_to_it() {
    let mut yields = settings(None);
    let snapshot = close("| G7 | Cm6 |", &[48, 73, A5]);
    assert_eq!(
        marked(&keys(&snapshot, &yields)),
        [
            (73, "C♯", Part::Melody, false),
            (81, "A", Part::Melody, false)
        ],
        "a key below the split is no melody"
    );
    let nothing = Snapshot {
        held: snapshot.held,
        ..Snapshot::default()
    };
    let shown = keys(&nothing, &yields);
    assert_eq!(marked(&shown)[0], (73, "C♯5", Part::Melody, false));
    yields.right_hand.yielding = Yielding::Off;
    assert_eq!(keys(&snapshot, &yields), [], "nothing depends on it");
}

#[test]
fn no_melody_is_marked_where_chords_are_not_made_here() {
    let snapshot = close("| G7 | Cm6 |", &[A5]);
    for source in [Source::Reading, Source::Practice] {
        let settings = Settings {
            source,
            ..settings(Some(Style::FourWayClose))
        };
        assert_eq!(keys(&snapshot, &settings), [], "{source:?}");
    }
    let bypass = Settings {
        bypass: true,
        ..settings(Some(Style::FourWayClose))
    };
    assert_eq!(keys(&snapshot, &bypass), []);
}

#[test]
fn the_rule_of_a_chord_under_the_melody_is_told() {
    let last = |snapshot: &Snapshot| {
        let told = told(snapshot, &settings(Some(Style::FourWayClose)));
        told.last().cloned().unwrap_or_default()
    };
    let minor = first("| G7 | Cm6 |", &[A5], Style::DropTwo);
    assert_eq!(last(&minor), "A5, drop 2: 9 for 1, ♭13 for 5");
    let major = close("| C6 |", &[79]);
    assert_eq!(last(&major), "G5, four-way close: chord tone");
    let mut single = major;
    let struck = MidiNote::clamp(79);
    for (why, words) in [
        (Why::Fast, "G5, single: a fast line"),
        (Why::NoChord, "G5, single: no chord is known"),
    ] {
        let chord = single.sounding.map(|sounding| sounding.placed.chord);
        let chord = chord.filter(|_| why == Why::Fast);
        single.under = Some(UnderKey {
            block: guidehand_theory::under::Block::single(struck, why, chord.as_ref()),
            sounds: true,
        });
        assert_eq!(last(&single), words);
    }
    // The block chords have been switched off since.
    assert_eq!(told(&single, &settings(None)), Vec::<String>::new());
}

#[test]
fn as_many_words_as_fit_are_told_and_how_many_more_there_are() {
    let parts = ["9 for ♭9", "3 stands", "2 half steps too high"].map(str::to_owned);
    for (room, words) in [
        (45, "9 for ♭9; 3 stands; 2 half steps too high"),
        (40, "9 for ♭9; 3 stands; and 1 more"),
        (25, "9 for ♭9; and 2 more"),
        (5, "9 for ♭9; and 2 more"),
    ] {
        let fits = |words: &str| words.chars().count() <= room;
        assert_eq!(fitting(&parts, fits), words, "{room}");
    }
    assert_eq!(fitting(&[], |_| false), "");
    assert_eq!(fitting(&parts[..1], |_| false), "9 for ♭9");
}
