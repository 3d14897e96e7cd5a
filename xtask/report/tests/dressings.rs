//! What `dress` reports, against the tables that were written by hand and a row that was written out
//! whole.

use guidehand_report::dressing::DressReport;
use guidehand_theory::chord::Chord;
use guidehand_theory::dressing::{Around, Place};
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::symbol;
use guidehand_theory::voicing::Form;
use serde_json::{Value, json};

#[path = "../../../theory/tests/data/mod.rs"]
mod data;

const OF_DOMINANTS: &str = include_str!("../../../theory/tests/data/dressings-of-dominants.txt");
const OF_OTHERS: &str = include_str!("../../../theory/tests/data/dressings-of-other-chords.txt");

fn chord(text: &str) -> Option<Chord> {
    (!text.is_empty()).then(|| symbol::parse(text).expect("a chord"))
}

fn report(here: &str, before: &str, after: &str, key: &str, form: &str) -> DressReport {
    DressReport::new(&place(here, before, after, key, form))
}

fn place(here: &str, before: &str, after: &str, key: &str, form: &str) -> Place {
    let form = match form {
        "A" => Form::A,
        _ => Form::B,
    };
    let around = Around {
        before: chord(before),
        after: chord(after),
        key: Key::parse(key),
    };
    let here = chord(here).expect("a chord");
    let place = Place::among(here, &around, Some(form), &Taste::default());
    place.expect("a voicing")
}

fn json_of(report: &DressReport) -> Value {
    serde_json::to_value(report).expect("JSON")
}

fn text(value: &Value) -> &str {
    value.as_str().expect("a text")
}

fn list(value: &Value) -> &Vec<Value> {
    value.as_array().expect("a list")
}

/// A note's name without its octave.
fn class(note: &Value) -> &str {
    let digit = |c: char| c.is_ascii_digit();
    text(&note["name"]).trim_end_matches(digit)
}

/// A dressing as the tables write it.
fn row(dressing: &Value) -> String {
    let steps = |say: &dyn Fn(&Value) -> String| {
        let steps: Vec<String> = list(&dressing["steps"]).iter().map(say).collect();
        steps.join("; ").trim().to_owned()
    };
    let notes = |step: &Value| {
        let notes = list(&step["notes"]).iter();
        let notes: Vec<&str> = notes.map(|note| text(&note["name"])).collect();
        notes.join(" ")
    };
    let moves = |step: &Value| {
        let moves = list(&step["moves"]).iter();
        let moves = moves.map(|m| format!("{}-{}", class(&m["from"]), class(&m["to"])));
        moves.collect::<Vec<String>>().join(" ")
    };
    let cells = [
        dressing["fingers"].to_string(),
        text(&dressing["name"]).to_owned(),
        steps(&|step| text(&step["symbol"]).to_owned()),
        steps(&notes),
        steps(&moves),
        text(&dressing["fit"]).to_owned(),
        steps(&|step| text(&step["scales"][0]["name"]).to_owned()),
    ];
    cells.join(" | ")
}

/// Common practice, no published source.
#[test]
fn the_json_says_what_the_tables_say() {
    let mut rows: Vec<String> = Vec::new();
    let mut checked = 0;
    for cells in data::rows::<7>(OF_DOMINANTS).chain(data::rows::<7>(OF_OTHERS)) {
        let [first, before, after, key, form, now, ..] = cells;
        if let Some(here) = first.strip_prefix('=') {
            let json = json_of(&report(here.trim(), before, after, key, form));
            let notes = list(&json["notes"]).iter();
            let notes: Vec<&str> = notes.map(|note| text(&note["name"])).collect();
            assert_eq!(notes.join(" "), now, "{here}");
            assert_eq!(text(&json["form"]), form, "{here}");
            rows = list(&json["dressings"]).iter().map(row).collect();
        } else if first != "and more" {
            let expected = cells.join(" | ");
            assert!(rows.contains(&expected), "{expected}\nnot in {rows:#?}");
            checked += 1;
        }
    }
    assert!(checked > 80, "{checked} rows");
}

/// Fields keep their names and meanings. Written by hand.
#[test]
fn a_row_stays_as_it_is() {
    let json = json_of(&report("G7", "Dm7", "Cmaj7", "C", "A"));
    assert_eq!(json["symbol"], "G7");
    assert_eq!(json["sounding"], "G13");
    assert_eq!(json["root"], "G");
    assert_eq!(json["lowest"], "seventh");
    assert_eq!(json["key"], "C major");
    assert_eq!(json["function"], "V in C major");
    let dressing = |name: &str| -> Value {
        let mut all = list(&json["dressings"]).iter();
        all.find(|d| d["name"] == name).expect("a dressing").clone()
    };
    let expected = json!({
        "name": "b9 13",
        "fingers": 1,
        "sounds_now": false,
        "fit": "usual",
        "why": "another choice: falls a fifth to a major chord",
        "loses": [],
        "steps": [{
            "symbol": "G7(b9,13)",
            "substitute": "Db7(#9)",
            "form": "A",
            "lowest": "seventh",
            "other_position": false,
            "notes": [
                {"midi": 53, "name": "F3", "degree": "b7"},
                {"midi": 56, "name": "Ab3", "degree": "b9"},
                {"midi": 59, "name": "B3", "degree": "3"},
                {"midi": 64, "name": "E4", "degree": "13"},
            ],
            "moves": [{
                "voice": 2,
                "from": {"midi": 57, "name": "A3", "degree": "9"},
                "to": {"midi": 56, "name": "Ab3", "degree": "b9"},
                "semitones": -1,
            }],
            "clear_of_the_third": null,
            "needs_pin": false,
        }],
    });
    let mut found = dressing("b9 13");
    let scales = found["steps"][0]
        .as_object_mut()
        .and_then(|step| step.remove("scales"));
    assert_eq!(found, expected);
    let first = &scales.expect("scales")[0];
    assert_eq!(first["name"], "half-whole diminished");
    assert_eq!(first["steps"], "H W H W H W H W");
    let inside = &dressing("#9 b13")["steps"][0];
    assert_eq!(inside["clear_of_the_third"]["form"], "B");
    assert_eq!(inside["clear_of_the_third"]["lowest"], "third");
    assert_eq!(dressing("b9 b13")["steps"][0]["substitute"], "Db9");
    assert_eq!(dressing("plain")["steps"][0]["needs_pin"], true);
}

/// Written by hand. A b9 and a #9 rub against a 9 in the melody (common practice, no published source).
#[test]
fn what_rubs_against_the_melody_is_told() {
    let silent = json_of(&report("G7", "Dm7", "Cmaj7", "C", "A"));
    assert_eq!(silent["melody"], json!([]));
    let mut place = place("G7", "Dm7", "Cmaj7", "C", "A");
    place.melody = [9, 2].map(PitchClass::wrapping).into_iter().collect();
    let report = DressReport::new(&place);
    let json = json_of(&report);
    assert_eq!(json["melody"], json!(["D", "A"]));
    let of = |name: &str| {
        let mut all = list(&json["dressings"]).iter();
        let row = all.find(|d| d["name"] == name).expect("a dressing");
        (text(&row["fit"]), text(&row["why"]))
    };
    let why = "b9 lies a half step from the melody's A";
    for name in ["b9 13", "b9 b13", "9 then b9"] {
        assert_eq!(of(name), ("against the melody", why), "{name}");
    }
    let why = "#9 lies a half step from the melody's A";
    assert_eq!(of("#9 b13"), ("against the melody", why));
    assert_eq!(of("9 13").0, "usual");
    let table = report.to_string();
    let said = |words: &str| table.lines().any(|line| line.contains(words));
    assert!(said("melody: D A"), "{table}");
    assert!(said("b9 lies a half step from the melody's A"), "{table}");
}

/// A terminal has eighty columns or more; these are for people with a hundred.
#[test]
fn the_table_is_not_too_wide() {
    for cells in data::rows::<7>(OF_DOMINANTS).chain(data::rows::<7>(OF_OTHERS)) {
        let [first, before, after, key, form, ..] = cells;
        let Some(here) = first.strip_prefix('=') else {
            continue;
        };
        let table = report(here.trim(), before, after, key, form).to_string();
        for line in table.lines() {
            assert!(line.chars().count() <= 100, "{line}");
            assert_eq!(line, line.trim_end());
        }
    }
}
