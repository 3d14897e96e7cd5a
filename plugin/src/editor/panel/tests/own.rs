//! The player's own voicings, by mouse and by keyboard: kept, used, renamed, deleted, and in files.

use crate::editor::bench::{Bench, Seen, set};
use crate::params::{SourceParam, TextureParam};
use egui::Key;
use egui_kittest::kittest::Queryable;
use std::path::Path;

const TEXT: &str = "| Dm7 | G7 | Cmaj7 | % |";

/// Dm7 as form A and as form B, and Am7 as form B (common practice, no published source).
const DM9: [u8; 4] = [53, 57, 60, 64];
const DM9_FORM_B: [u8; 4] = [60, 64, 65, 69];
const FORM_B: &str = "four notes, form B, seventh lowest: C4 E4 F4 A4";

/// A panel with a chart, and the page of the chord in hand.
fn with(text: &str) -> Bench {
    let mut bench = Bench::new();
    set(&bench.params().source, SourceParam::Chart);
    bench.params().chart.set_text(text);
    bench.settle();
    bench.click("Chord in hand");
    bench
}

fn shows(seen: &[Seen], words: &str) -> bool {
    seen.iter().any(|seen| seen.words.contains(words))
}

#[track_caller]
fn assert_shows(bench: &mut Bench, words: &str) {
    let seen = bench.settle();
    let all: Vec<&str> = seen.iter().map(|seen| seen.words.as_str()).collect();
    assert!(shows(&seen, words), "{words:?} in {all:?}");
}

fn saved(bench: &Bench) -> String {
    serde_json::to_string(&bench.params().chart.saved()).unwrap()
}

/// Presses a control by the keyboard.
fn press(bench: &mut Bench, name: &str) {
    bench.control(name).focus();
    bench.key(Key::Space);
    bench.settle();
}

fn name_it(bench: &mut Bench, name: &str) {
    bench.control("Name of my voicing").focus();
    bench.settle();
    bench.type_text(name);
    bench.settle();
}

/// Pins form B to Dm7, and keeps it under a name.
fn kept(bench: &mut Bench, name: &str) {
    bench.click("Ways: other voicings");
    press(bench, FORM_B);
    bench.click("Keep: four notes, form B, seventh lowest");
    bench.settle();
    bench.click("Ways: mine");
    name_it(bench, name);
    bench.click("Keep as my voicing");
    bench.settle();
}

fn names(bench: &Bench) -> Vec<String> {
    let own = bench.params().chart.latest().own.clone();
    own.voicings().iter().map(|one| one.name.clone()).collect()
}

#[test]
fn a_pinned_voicing_is_kept_and_used_for_every_chord_of_its_family() {
    let mut bench = with("| Dm7 | G7 | Am7 | D7 |");
    bench.click("Ways: mine");
    assert_shows(&mut bench, "used by the texture My voicings");
    kept(&mut bench, "Seventh below");
    assert_eq!(names(&bench), ["Seventh below"]);
    assert_shows(&mut bench, "for m7: ♭7  9  ♭3  5");
    let before = bench.plays();
    set(&bench.params().texture, TextureParam::MyVoicings);
    bench.settle();
    let plays = bench.plays();
    assert_eq!(plays[0].as_deref(), Some(&DM9_FORM_B[..]));
    // G3 B3 C4 E4 is the only place of the shape over Am7 in the register.
    assert_eq!(plays[2].as_deref(), Some(&[55, 59, 60, 64][..]));
    assert_eq!(before[0].as_deref(), Some(&DM9_FORM_B[..]), "it is pinned");
}

#[test]
fn undo_brings_back_the_same_bytes() {
    let mut bench = with(TEXT);
    let first = saved(&bench);
    kept(&mut bench, "One");
    let one = saved(&bench);
    assert!(one.contains("own_voicings"), "{one}");
    press(&mut bench, "One, m7: ♭7  9  ♭3  5");
    name_it(&mut bench, "Two");
    bench.click("Rename: One");
    bench.settle();
    assert_eq!(names(&bench), ["Two"]);
    let two = saved(&bench);
    press(&mut bench, "Two, m7: ♭7  9  ♭3  5");
    bench.click("Delete: Two");
    bench.settle();
    assert_eq!(names(&bench), Vec::<String>::new());
    for state in [&two, &one] {
        bench.click("Undo");
        bench.settle();
        assert_eq!(saved(&bench), *state);
    }
    // The voicing, and then the pin.
    for _ in 0..2 {
        bench.click("Undo");
        bench.settle();
    }
    assert_eq!(saved(&bench), first);
    for _ in 0..3 {
        bench.click("Redo");
        bench.settle();
    }
    assert_eq!(saved(&bench), two);
}

#[test]
fn own_voicings_are_tried_where_they_serve_the_chord() {
    let mut bench = with(TEXT);
    kept(&mut bench, "Below");
    let asked = |bench: &mut Bench| {
        let audio = &mut bench.harness.state_mut().audio;
        audio.audition.take().and_then(|ask| ask.request).is_some()
    };
    asked(&mut bench);
    let row = "Below, m7: ♭7  9  ♭3  5";
    press(&mut bench, row);
    assert!(asked(&mut bench), "it is heard in context");
    assert!(bench.is_on(row));
    bench.click("Next chord");
    bench.settle();
    asked(&mut bench);
    assert_shows(&mut bench, "not for G7 as it stands here");
    press(&mut bench, row);
    assert!(!asked(&mut bench), "it is for other chords");
    assert!(bench.is_on(row), "it can be renamed all the same");
}

#[test]
fn among_the_other_voicings_they_have_their_names() {
    let mut bench = with(TEXT);
    let chart = serde_json::json!({
        "text": TEXT,
        "own_voicings": {"version": 1, "voicings": [
            {"name": "Doubled ninth", "family": "m7", "degrees": ["b7", "9", "b3", "5", "9"]},
        ]},
    });
    let chart = serde_json::from_value(chart).unwrap();
    bench.params().chart.load(chart);
    bench.settle();
    assert_eq!(bench.plays()[0].as_deref(), Some(&DM9[..]));
    bench.click("Ways: other voicings");
    assert_shows(&mut bench, "my voicing Doubled ninth");
    assert_shows(&mut bench, "C3  E3  F3  A3  E4");
}

#[test]
fn what_cannot_be_kept_is_told() {
    let mut bench = with(TEXT);
    kept(&mut bench, "Mine");
    bench.click("Keep as my voicing");
    assert_shows(&mut bench, "Type a name for it first.");
    name_it(&mut bench, "Mine");
    bench.key(Key::Enter);
    assert_shows(
        &mut bench,
        "It cannot be kept so: another m7 voicing has this name.",
    );
    assert_eq!(names(&bench), ["Mine"]);
    // A bare fifth has no family.
    let mut bench = with("| D5 |");
    bench.click("Ways: mine");
    assert_shows(
        &mut bench,
        "what sounds now cannot be kept: this chord belongs to no family of shapes",
    );
    name_it(&mut bench, "Fifth");
    bench.click("Keep as my voicing");
    bench.settle();
    assert_eq!(names(&bench), Vec::<String>::new());
}

/// Opens the page, and types a path.
fn file(bench: &mut Bench, path: &Path) {
    bench.click("Files");
    bench.control("File").focus();
    bench.settle();
    bench.type_text(&path.display().to_string());
    bench.settle();
}

#[test]
fn own_voicings_go_out_and_come_in() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = with(TEXT);
    kept(&mut bench, "Mine");
    let path = folder.path().join("voicings.json");
    file(&mut bench, &path);
    bench.click("Export my voicings");
    assert!(shows(&bench.await_file(), "voicings.json is written."));
    let written = std::fs::read_to_string(&path).unwrap();
    let row = r#"{"name":"Mine","family":"m7","degrees":["b7","9","b3","5"]}"#;
    assert!(written.contains(row), "{written}");

    // Another player has another voicing of that name, and one more.
    let other = written.replace(
        row,
        r#"{"name":"Mine","family":"m7","degrees":["b3","b7"]},
        {"name":"More","family":"7","degrees":["b7","3"]}"#,
    );
    std::fs::write(&path, other).unwrap();
    let before = saved(&bench);
    bench.click("Import my voicings");
    let seen = bench.await_file();
    assert!(
        shows(
            &seen,
            "is read: 2 voicings come to yours; undo takes them away again."
        ),
        "{seen:?}"
    );
    assert!(shows(&seen, "Mine is called Mine 2 here"));
    assert_eq!(names(&bench), ["Mine", "Mine 2", "More"]);
    assert_eq!(bench.params().chart.text(), TEXT, "the chart stays");
    bench.click("Import my voicings");
    let seen = bench.await_file();
    assert!(
        shows(&seen, "is read: you have all of its voicings already."),
        "{seen:?}"
    );
    // It came in one step.
    bench.click("Undo");
    bench.settle();
    assert_eq!(saved(&bench), before);
}

#[test]
fn bad_files_are_refused_and_change_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bad.json");
    let mut bench = with(TEXT);
    kept(&mut bench, "Mine");
    let before = saved(&bench);
    file(&mut bench, &path);
    for (bytes, words) in [
        (
            "| Dm7 |",
            "bad.json holds no voicings that can be read: line 1, column 1",
        ),
        (
            "{\"format\":\"guidehand voicings\",\"version\":1,\"voicings\":[\n{\"name\":\"A\",\"family\":\"m9\",\"degrees\":[\"9\",\"5\"]}]}",
            "line 2, column 25: voicing 1 (\"A\"): there is no family \"m9\": expected one of maj7,",
        ),
        (
            "{\"format\":\"guidehand voicings\",\"version\":2,\"voicings\":[]}",
            "version 2; versions 1 to 1 can be read",
        ),
    ] {
        std::fs::write(&path, bytes).unwrap();
        bench.click("Import my voicings");
        let seen = bench.await_file();
        assert!(shows(&seen, words), "{words}: {seen:?}");
        assert_eq!(saved(&bench), before);
    }
    // So many have no room beside the player's.
    let row = |number| format!(r#"{{"name":"{number}","family":"7","degrees":["b7","3"]}}"#);
    let rows: Vec<String> = (0..64).map(row).collect();
    let rows = rows.join(",");
    let many = format!(r#"{{"format":"guidehand voicings","version":1,"voicings":[{rows}]}}"#);
    std::fs::write(&path, many).unwrap();
    bench.click("Import my voicings");
    let seen = bench.await_file();
    let words = "with yours there would be 65 voicings: expected at most 64";
    assert!(shows(&seen, words), "{seen:?}");
    assert_eq!(saved(&bench), before);
    std::fs::remove_file(&path).unwrap();
    bench.click("Import my voicings");
    assert!(shows(&bench.await_file(), "bad.json cannot be read"));
    assert!(bench.harness.query_by_label("Cancel").is_none());
}
