//! Every field of the JSON stands in the guide.

use guidehand_exchange::import::{FoundMelody, Heard, Imported, Line, Missed, Part};
use guidehand_exchange::kept::Kept;
use guidehand_exchange::midi;
use guidehand_practice::AskedPosition;
use guidehand_practice::homework::RightHand;
use guidehand_report::dressing::DressReport;
use guidehand_report::homework::{self, HomeworkRequest, PartAsked};
use guidehand_report::importing::ImportReport;
use guidehand_report::judging::JudgeReport;
use guidehand_report::performance::{EventRow, Report};
use guidehand_report::planned;
use guidehand_report::reading;
use guidehand_report::request::Request;
use guidehand_report::sung;
use guidehand_theory::dressing::{Around, Place};
use guidehand_theory::judge::{Accepts, Motion, Question, judge};
use guidehand_theory::melody;
use guidehand_theory::pipeline::{self, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::read::{Context, Reason};
use guidehand_theory::symbol;
use guidehand_theory::under::Style;
use guidehand_theory::voicing::Form;
use serde_json::Value;
use std::collections::BTreeSet;

const CHAPTER: &str = include_str!("../../../plugin/guide/json.md");

/// The names of all fields in a value.
fn names(value: &Value) -> BTreeSet<String> {
    match value {
        Value::Array(values) => values.iter().flat_map(names).collect(),
        Value::Object(fields) => {
            let inner = fields.values().flat_map(names);
            inner.chain(fields.keys().cloned()).collect()
        }
        _ => BTreeSet::new(),
    }
}

/// The words between backticks, without the brackets of a list.
fn documented(text: &str) -> BTreeSet<&str> {
    let code = text.split('`').skip(1).step_by(2);
    code.map(|name| name.trim_end_matches("[]")).collect()
}

/// The chapter's part between two texts.
fn part(from: &str, to: &str) -> String {
    let (_, part) = CHAPTER.split_once(from).expect("its section");
    let (part, _) = part.split_once(to).expect("the end of its section");
    part.to_owned()
}

fn expect_documented(json: &Value, text: &str) {
    let documented = documented(text);
    let missing = names(json);
    let missing: Vec<&String> = missing
        .iter()
        .filter(|name| !documented.contains(name.as_str()))
        .collect();
    assert!(missing.is_empty(), "not in the chapter: {missing:?}");
}

#[test]
fn every_field_of_comp_is_documented() {
    let mut request = Request::new("| Dm7 | G7alt | N.C. | Cmaj7 |");
    let chart = request.read().expect("a chart");
    let melody = melody::parse("| F5/1 | D5 | | C5 |", &chart).expect("a melody");
    request.melody = Some(melody);
    request.blocks = Some(Style::DropTwo);
    let events = vec![EventRow::note_on(0.0, 0, 60, 0.5)];
    let chords = planned::of_chart(&request, &chart);
    let named = planned::melody(&request, &chart);
    let blocks = sung::blocks(&request, &chart, &chords);
    let blocks = sung::block_rows(&blocks, &named, &chart);
    let report = Report::new(&chords, events).under(sung::rows(&named, &chart), blocks);
    assert!(report.chords.iter().any(|row| !row.yields.is_empty()));
    assert_eq!((report.melody.len(), report.blocks.len()), (3, 3));
    let json = serde_json::to_value(report).expect("JSON");
    expect_documented(&json, &part("`comp --json` prints", "`read --json` prints"));
}

#[test]
fn every_field_of_read_is_documented() {
    let notes = [53, 57, 59, 64].map(MidiNote::clamp);
    let rows = reading::rows(&notes, &Context::default());
    assert!(!rows.is_empty());
    let json = serde_json::to_value(rows).expect("JSON");
    expect_documented(
        &json,
        &part("`read --json` prints", "`dress --json` prints"),
    );
}

#[test]
fn every_field_of_dress_is_documented() {
    let chord = symbol::parse("G7").expect("a chord");
    let around = Around::default();
    let place = Place::among(chord, &around, Some(Form::A), &Taste::default());
    let report = DressReport::new(&place.expect("a voicing"));
    let steps = report.dressings.iter().flat_map(|row| &row.steps);
    assert!(steps.clone().any(|step| step.clear_of_the_third.is_some()));
    let json = serde_json::to_value(&report).expect("JSON");
    let fields = part("`dress --json` prints", "`judge --json` prints");
    // The fields of scales are those of `comp`.
    let scales = part("`comp --json` prints", "`read --json` prints");
    expect_documented(&json, &format!("{fields}{scales}"));
}

#[test]
fn every_field_of_judge_is_documented() {
    let chord = symbol::parse("G7(b9,13)").expect("a chord");
    let around = Around::default();
    let taste = Taste::default();
    let place = Place::among(chord, &around, Some(Form::A), &taste).expect("a voicing");
    let question = Question {
        placed: place.placed,
        voiced: pipeline::pinned(&place.placed, &place.now),
        either_position: true,
    };
    let notes = [53, 57, 59, 64].map(MidiNote::clamp);
    let accepts = Accepts::SameTensions;
    let judgement = judge(&question, &notes, accepts, taste.register);
    let motion = Motion { moved: 1, least: 2 };
    let report = JudgeReport::new(&question, accepts, &judgement, Some(motion));
    let off = report.findings.iter().find(|finding| finding.kind == "off");
    let off = off.expect("a note is off");
    assert_eq!((off.slot, off.half_steps), (Some("ninth"), Some(1)));
    assert!(off.asked.is_some() && off.played.is_some());
    let json = serde_json::to_value(&report).expect("JSON");
    let fields = part(
        "`judge --json` prints",
        "`judge --session FILE --json` prints",
    );
    // A note has the fields of one of `comp`.
    let notes = part("`comp --json` prints", "`read --json` prints");
    expect_documented(&json, &format!("{fields}{notes}"));
}

#[test]
fn every_field_of_a_session_is_documented() {
    let file = midi_file(&[53, 57, 60, 63], &[65, 69, 71, 76]);
    let performance = midi::performance::read(&file).expect("a performance");
    let request = Request::new("| Dm7 | G7 |");
    let chart = request.read().expect("a chart");
    let asked = HomeworkRequest {
        request,
        accepts: Accepts::Exact,
        position: AskedPosition::Either,
        right_hand: RightHand::Found,
        from_bar: None,
        part: PartAsked::Chords,
    };
    let report = homework::report(&asked, &chart, &performance).expect("a report");
    assert!(!report.summary.mistakes.is_empty() && !report.summary.farthest.is_empty());
    assert!(report.chords.iter().any(|row| row.motion.is_some()));
    let json = serde_json::to_value(&report).expect("JSON");
    let fields = part(
        "`judge --session FILE --json` prints",
        "`import --json` prints",
    );
    let findings = part(
        "`judge --json` prints",
        "`judge --session FILE --json` prints",
    );
    let notes = part("`comp --json` prints", "`read --json` prints");
    expect_documented(&json, &format!("{fields}{findings}{notes}"));
}

/// A MIDI file with a chord in each bar.
fn midi_file(first: &[u8], second: &[u8]) -> Vec<u8> {
    let mut events = Vec::new();
    for chord in [first, second] {
        for note in chord {
            events.extend([0, 0x90, *note, 80]);
        }
        // Four quarter notes of 96 ticks.
        for (at, note) in chord.iter().enumerate() {
            let delta: &[u8] = if at == 0 { &[0x83, 0x00] } else { &[0] };
            events.extend_from_slice(delta);
            events.extend([0x80, *note, 0]);
        }
    }
    events.extend([0, 0xff, 0x2f, 0]);
    let length = u32::try_from(events.len()).expect("a short file");
    let head: &[u8] = b"MThd\0\0\0\x06\0\0\0\x01\0\x60MTrk";
    [head, &length.to_be_bytes(), &events].concat()
}

#[test]
fn every_field_of_import_is_documented() {
    let missed = Missed {
        bar: "1".to_owned(),
        what: "harmony".to_owned(),
        at: None,
        words: String::new(),
    };
    let piano = Part {
        name: "Piano".to_owned(),
        chords: 1,
        sounds: 0,
        is_taken: true,
    };
    let heard = Heard {
        bar: 1,
        at_ticks: 0,
        symbol: "G7".to_owned(),
        confidence: 50,
        reason: Reason::NotesAlone,
    };
    let pin = serde_json::json!({"chord": 0, "symbol": "G7", "notes": [53]});
    let scale = serde_json::json!({"chord": 0, "symbol": "G7", "scale": "altered"});
    let kept = Kept {
        pins: vec![serde_json::from_value(pin).expect("a pin")],
        scales: vec![serde_json::from_value(scale).expect("a scale")],
        ..Kept::of("| G7 |")
    };
    let imported = Imported {
        missed: vec![missed],
        parts: vec![piano],
        heard: vec![heard],
        kept: Some(kept),
        text: "| G7 |".to_owned(),
        melody: Some(FoundMelody {
            lines: vec![Line::default()],
            ..FoundMelody::default()
        }),
        ..Imported::default()
    };
    let json = serde_json::to_value(ImportReport::new(&imported)).expect("JSON");
    let (_, fields) = CHAPTER
        .split_once("`import --json` prints")
        .expect("its section");
    expect_documented(&json, fields);
}
