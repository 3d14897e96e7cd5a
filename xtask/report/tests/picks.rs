//! Pins and chosen scales in the report of `comp`, against tables by hand.

use guidehand_exchange::import;
use guidehand_exchange::kept::{Kept, KeptPin, KeptScale};
use guidehand_exchange::musicxml::{self, Page};
use guidehand_exchange::score::Score;
use guidehand_report::importing::ImportReport;
use guidehand_report::performance::Report;
use guidehand_report::planned;
use guidehand_report::request::Request;
use guidehand_theory::candidates::Register;
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::NinthRequest;
use serde_json::{Value, from_value, json, to_value};

fn pin(json: Value) -> KeptPin {
    from_value(json).unwrap()
}

fn scale(json: Value) -> KeptScale {
    from_value(json).unwrap()
}

/// G7 is pinned high the second time, and Cmaj7 is to be Lydian.
fn request() -> Request {
    Request {
        pins: vec![pin(
            json!({"chord": 1, "symbol": "G7", "pass": 2, "notes": [53, 59, 64, 69]}),
        )],
        scales: vec![scale(
            json!({"chord": 2, "symbol": "Cmaj7", "scale": "Lydian"}),
        )],
        ..Request::new("|: Dm7 | G7 :| Cmaj7 |")
    }
}

fn report(request: &Request) -> Report {
    let chart = request.read().unwrap();
    Report::new(&planned::of_chart(request, &chart), Vec::new())
}

/// Which chords are pinned and which scales are chosen, and what sounds there.
#[test]
fn the_report_says_what_was_picked() {
    let report = report(&request());
    let json = to_value(&report).unwrap();
    let rows = json["chords"].as_array().unwrap();
    let pinned: Vec<&Value> = rows.iter().map(|row| &row["pinned"]).collect();
    assert_eq!(json!(pinned), json!([false, false, false, true, false]));
    let notes = json!([
        {"midi": 53, "name": "F3", "degree": "b7"},
        {"midi": 59, "name": "B3", "degree": "3"},
        {"midi": 64, "name": "E4", "degree": "13"},
        {"midi": 69, "name": "A4", "degree": "9"},
    ]);
    assert_eq!(rows[3]["notes"], notes);
    assert_eq!(rows[3]["sounding"], "G13");
    let chosen: Vec<&Value> = rows
        .iter()
        .map(|row| &row["chosen_scale"]["name"])
        .collect();
    assert_eq!(json!(chosen), json!([null, null, null, null, "Lydian"]));
    let lydian = &rows[4]["chosen_scale"];
    assert_eq!(lydian["root"], "C");
    assert_eq!(lydian["notes"], json!(["C", "D", "E", "F#", "G", "A", "B"]));
    assert_eq!(lydian["steps"], "W W W H W W H");
    // The first of the list stays the suggestion.
    assert_eq!(rows[4]["scales"][0]["name"], "Ionian");
    let table = report.to_string();
    let lines: Vec<&str> = table.lines().skip(2).collect();
    assert!(lines[3].ends_with("G Mixolydian"), "{table}");
    assert!(lines[4].ends_with("C Lydian (chosen)"), "{table}");
}

/// What is asked of tensions goes round a pin.
#[test]
fn requests_do_not_move_a_pin() {
    let mut request = request();
    request.requests.ninth = NinthRequest::Flat9;
    let report = report(&request);
    let of = |row: usize| -> Vec<u8> { report.chords[row].notes.iter().map(|n| n.midi).collect() };
    assert_eq!(of(3), [53, 59, 64, 69]);
    assert!(report.chords[1].tensions.contains(&"b9"));
}

/// A pin or a scale for another chord than the one in its place counts for nothing.
#[test]
fn picks_of_other_chords_do_not_count() {
    let mut other = request();
    other.chart = "|: Dm7 | Gm7 :| C6 |".to_owned();
    let free = Request::new(other.chart.clone());
    assert_eq!(report(&other), report(&free));
}

#[test]
fn a_scale_that_is_not_suggested_is_told() {
    assert_eq!(request().not_suggested(), Vec::<String>::new());
    let mut request = request();
    request.scales[0].scale = "altered".to_owned();
    let told = request.not_suggested();
    assert_eq!(told.len(), 1, "{told:?}");
    let words = "bar 5, Cmaj7: C altered is not suggested here, so the first suggestion stands; \
                 expected one of: C Ionian, ";
    assert!(told[0].starts_with(words), "{told:?}");
    assert_eq!(report(&request).chords[4].chosen_scale, None);
}

#[test]
fn import_reports_what_was_picked() {
    let kept: Kept = request().kept();
    let setting = (Texture::FourNotes, Register::DEFAULT);
    let score = Score::planned_around(kept.read().unwrap(), 120.0, None, setting, Some(&kept));
    let page = musicxml::write(&score, Page::default());
    let imported = import::import(page.as_bytes()).unwrap();
    let json = to_value(ImportReport::new(&imported)).unwrap();
    assert_eq!(json["chart"], "|: Dm7 | G7 :| Cmaj7 |");
    let pins = json!([{"chord": 2, "symbol": "G7", "pass": 2, "midi": [53, 59, 64, 69]}]);
    assert_eq!(json["pins"], pins);
    let scales = json!([{"chord": 3, "symbol": "Cmaj7", "name": "Lydian", "above": 0}]);
    assert_eq!(json["scales"], scales);
}
