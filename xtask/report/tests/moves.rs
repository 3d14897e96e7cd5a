//! The moves that everybody plays, as the JSON of `dress` tells them, in twelve keys and both forms. The
//! expected notes are worked out here from the line of fifths and know nothing of the theory. Common
//! practice, no published source.

use guidehand_report::dressing::DressReport;
use guidehand_theory::dressing::{Around, Place};
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::symbol;
use guidehand_theory::voicing::Form;
use serde_json::{Value, json};

/// Keys by fifths from C.
const KEYS: std::ops::RangeInclusive<i32> = -6..=5;

/// Degrees: the name, fifths from the root, half steps above it.
const DEGREES: [(&str, i32, i32); 12] = [
    ("b9", -5, 1),
    ("9", 2, 2),
    ("#9", 9, 3),
    ("b3", -3, 3),
    ("3", 4, 4),
    ("4", -1, 5),
    ("5", 1, 7),
    ("b13", -4, 8),
    ("13", 3, 9),
    ("b7", -2, 10),
    ("7", 5, 11),
    ("#11", 6, 6),
];

/// A form's slots from the lowest, each with its degree.
type Slots = [&'static str; 4];

fn degree(name: &str) -> (i32, i32) {
    let found = DEGREES.iter().find(|(other, ..)| *other == name);
    let (_, fifths, half_steps) = found.expect("a degree of the table");
    (*fifths, *half_steps)
}

/// The name of a note by fifths from C: `Bb`, `F##`.
fn name(fifths: i32) -> String {
    let letter = ["F", "C", "G", "D", "A", "E", "B"];
    let at = fifths + 1;
    let index = usize::try_from(at.rem_euclid(7)).expect("seven letters");
    let signs = at.div_euclid(7);
    let sign = if signs < 0 { "b" } else { "#" };
    let count = usize::try_from(signs.abs()).expect("a few");
    format!("{}{}", letter[index], sign.repeat(count))
}

/// A chord in close position over a root by fifths: classes and names, from the lowest.
fn close(root: i32, slots: Slots) -> Vec<(i32, String, &'static str)> {
    let note = |slot: &'static str| {
        let (fifths, half_steps) = degree(slot);
        let class = (7 * root + half_steps).rem_euclid(12);
        (class, name(root + fifths), slot)
    };
    slots.into_iter().map(note).collect()
}

/// The JSON of a chord in its place: chord, before and after in C, moved to another key.
fn reported(words: [&str; 3], minor: bool, fifths: i32, form: Form) -> Value {
    let by = i8::try_from(fifths).expect("a few fifths");
    let [here, before, after] =
        words.map(|text| symbol::parse(text).expect("a chord").transposed(by));
    let home = Key::parse(if minor { "C minor" } else { "C" }).expect("a key");
    let around = Around {
        before: Some(before),
        after: Some(after),
        key: Some(Key {
            tonic: home.tonic.along_fifths(by),
            ..home
        }),
    };
    let place = Place::among(here, &around, Some(form), &Taste::default());
    serde_json::to_value(DressReport::new(&place.expect("a voicing"))).expect("JSON")
}

fn dressing<'a>(report: &'a Value, wanted: &str) -> &'a Value {
    let mut all = report["dressings"].as_array().expect("a list").iter();
    let found = all.find(|dressing| dressing["name"] == wanted);
    found.unwrap_or_else(|| panic!("{wanted} in {report}"))
}

/// The notes of a step are these, in close position.
fn check_notes(step: &Value, expected: &[(i32, String, &str)]) {
    let notes = step["notes"].as_array().expect("a list");
    assert_eq!(notes.len(), expected.len(), "{step}");
    let midi = |note: &Value| note["midi"].as_i64().expect("a number");
    for (note, (class, name, degree)) in notes.iter().zip(expected) {
        assert_eq!(midi(note).rem_euclid(12), i64::from(*class), "{step}");
        let told = note["name"].as_str().expect("a name");
        assert_eq!(told.trim_end_matches(|c: char| c.is_ascii_digit()), name);
        assert_eq!(note["degree"], *degree);
    }
    let pairs = notes.iter().zip(&notes[1..]);
    assert!(pairs.clone().all(|(low, high)| midi(low) < midi(high)));
    assert!(midi(&notes[3]) - midi(&notes[0]) < 12, "close: {step}");
}

/// The moves of a step: voice, degrees and half steps.
fn moves(step: &Value) -> Vec<Value> {
    let moves = step["moves"].as_array().expect("a list").iter();
    let told = moves.map(|one| {
        json!([
            one["voice"],
            one["from"]["degree"],
            one["to"]["degree"],
            one["semitones"]
        ])
    });
    told.collect()
}

/// The slots of a dominant: the seventh lowest in the form A, the third in the form B (John Mehegan,
/// Jazz Improvisation, vol. 4, from memory).
fn dominant(form: Form, ninth: &'static str, fifth: &'static str) -> Slots {
    match form {
        Form::A => ["b7", ninth, "3", fifth],
        _ => ["3", fifth, "b7", ninth],
    }
}

/// The voices of the ninth and of the thirteenth.
fn voices(form: Form) -> (u8, u8) {
    match form {
        Form::A => (2, 4),
        _ => (4, 2),
    }
}

fn everywhere(mut check: impl FnMut(i32, Form)) {
    for fifths in KEYS {
        for form in [Form::A, Form::B] {
            check(fifths, form);
        }
    }
}

#[test]
fn a_dominant_is_dressed_up_by_half_steps() {
    let mut places = 0;
    everywhere(|key, form| {
        let report = reported(["G7", "Dm7", "Cmaj7"], false, key, form);
        let root = key + 1;
        let (of_nine, of_thirteen) = voices(form);
        // What sounds first need not be the 9 and the 13 in each key: moves count from there.
        let sounds_now = dressing(&report, "9 13")["sounds_now"] == true;
        for (name, ninth, fifth) in [
            ("9 13", "9", "13"),
            ("b9 13", "b9", "13"),
            ("b9 b13", "b9", "b13"),
            ("9 b13", "9", "b13"),
            ("#9 b13", "#9", "b13"),
            ("#9 13", "#9", "13"),
        ] {
            let row = dressing(&report, name);
            let step = &row["steps"][0];
            check_notes(step, &close(root, dominant(form, ninth, fifth)));
            assert_eq!(step["form"], form.to_string(), "{name}");
            let slot = if form == Form::A { "seventh" } else { "third" };
            assert_eq!(step["lowest"], slot, "{name}");
            // A #9 lies a half step under the third in the form A, and on top in the form B.
            let inside = ninth == "#9" && form == Form::A;
            let clear = &step["clear_of_the_third"];
            assert_eq!(!clear.is_null(), inside, "{name}");
            if inside {
                check_notes(clear, &close(root, dominant(Form::B, ninth, fifth)));
            }
            if !sounds_now {
                continue;
            }
            let mut expected = Vec::new();
            for (voice, from, to) in [(of_nine, "9", ninth), (of_thirteen, "13", fifth)] {
                if from != to {
                    let half_steps = degree(to).1 - degree(from).1;
                    expected.push(json!([voice, from, to, half_steps]));
                }
            }
            expected.sort_by_key(|one| one[0].as_u64());
            assert_eq!(moves(step), expected, "{name} in {key} fifths");
            assert_eq!(row["fingers"], expected.len());
            places += 1;
        }
    });
    assert_eq!(places, 12 * 2 * 6);
}

#[test]
fn its_altered_notes_are_the_ninth_chord_a_tritone_away() {
    everywhere(|key, form| {
        let report = reported(["G7", "Dm7b5", "Cm7"], true, key, form);
        let row = dressing(&report, "b9 b13");
        let step = &row["steps"][0];
        check_notes(step, &close(key + 1, dominant(form, "b9", "b13")));
        // Its third, seventh, ninth and fifth are those of the chord on the flat fifth: the same keys.
        let substitute = step["substitute"].as_str().expect("a symbol");
        let root = substitute.strip_suffix('9').expect("a ninth chord");
        let enharmonic = (-14..=14).find(|fifths| name(*fifths) == root);
        let other = enharmonic.expect("a root");
        let swapped = if form == Form::A { Form::B } else { Form::A };
        let classes = |root: i32, slots: Slots| -> Vec<i32> {
            let notes = close(root, slots).into_iter();
            notes.map(|(class, ..)| class).collect()
        };
        let altered = classes(key + 1, dominant(form, "b9", "b13"));
        assert_eq!(altered, classes(other, dominant(swapped, "9", "5")));
        assert_eq!(
            (7 * other - 7 * (key + 1)).rem_euclid(12),
            6,
            "{substitute}"
        );
    });
}

#[test]
fn inner_lines_move_one_voice_and_lead_on() {
    for (after, before, minor) in [("Cmaj7", "Dm7", false), ("Cm7", "Dm7b5", true)] {
        everywhere(|key, form| {
            let report = reported(["G7", before, after], minor, key, form);
            let (of_nine, of_thirteen) = voices(form);
            for (name, voice, from, to, arrives) in [
                ("#9 then b9", of_nine, "#9", "b9", "5"),
                ("9 then b9", of_nine, "9", "b9", "5"),
                ("13 then b13", of_thirteen, "13", "b13", "9"),
            ] {
                let steps = &dressing(&report, name)["steps"];
                let half_steps = degree(to).1 - degree(from).1;
                let expected = [json!([voice, from, to, half_steps])];
                assert_eq!(moves(&steps[1]), expected, "{name}");
                // A half step on lies a note of the tonic.
                let end = 7 * (key + 1) + degree(to).1 - 1;
                let home = 7 * key + degree(arrives).1;
                assert_eq!((end - home).rem_euclid(12), 0, "{name}");
            }
        });
    }
}

/// Semitones over the whole cadence, voices taken from the lowest up.
#[test]
fn a_cadence_moves_one_voice_and_then_five_semitones() {
    let slots_of = |form: Form, third: &'static str, seventh: &'static str| match form {
        Form::A => [third, "5", seventh, "9"],
        _ => [seventh, "9", third, "5"],
    };
    // The least motion of voices that lie in this order, wherever the hand lies.
    let motion = |from: &[i64], to: &[i64]| -> i64 {
        let by_octave = [-12, 0, 12].map(|octave| {
            let pairs = from.iter().zip(to);
            pairs.map(|(a, b)| (a - b + octave).abs()).sum()
        });
        by_octave.into_iter().min().expect("three")
    };
    everywhere(|key, form| {
        let keys = |words, minor, root: i32, name: &str, slots: Slots| -> Vec<i64> {
            let report = reported(words, minor, key, form);
            let step = &dressing(&report, name)["steps"][0];
            check_notes(step, &close(root, slots));
            let notes = step["notes"].as_array().expect("a list").iter();
            notes
                .map(|n| n["midi"].as_i64().expect("a number"))
                .collect()
        };
        let two = slots_of(form, "b3", "b7");
        let two = keys(["Dm7", "Cmaj7", "G7"], false, key + 2, "9", two);
        let five = dominant(form, "9", "13");
        let five = keys(["G7", "Dm7", "Cmaj7"], false, key + 1, "9 13", five);
        let one = slots_of(form, "3", "7");
        let one = keys(["Cmaj7", "G7", "Dm7"], false, key, "9", one);
        assert_eq!((motion(&two, &five), motion(&five, &one)), (1, 5), "{key}");
        let altered = dominant(form, "b9", "b13");
        let altered = keys(["G7", "Dm7b5", "Cm7"], true, key + 1, "b9 b13", altered);
        let minor = slots_of(form, "b3", "b7");
        let minor = keys(["Cm7", "G7", "Fm7"], true, key, "9", minor);
        assert_eq!(motion(&altered, &minor), 5, "{key}");
    });
}
