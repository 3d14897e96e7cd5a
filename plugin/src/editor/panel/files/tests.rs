//! The page worked by its names.

mod picking;

use crate::editor::bench::{Bench, Seen};
use egui::Key;
use std::path::Path;

/// Opens the page, and types a path.
fn name(bench: &mut Bench, path: &Path) {
    bench.click("Files");
    bench.control("File").focus();
    bench.settle();
    bench.type_text(&path.display().to_string());
    bench.settle();
}

fn shows(seen: &[Seen], words: &str) -> bool {
    seen.iter().any(|seen| seen.words.contains(words))
}

#[track_caller]
fn assert_shows(seen: &[Seen], words: &str) {
    let all: Vec<&str> = seen.iter().map(|seen| seen.words.as_str()).collect();
    assert!(shows(seen, words), "{words:?} in {all:?}");
}

#[test]
fn the_twelve_keys_come_in_and_undo_brings_the_chart_back() {
    let mut bench = Bench::new();
    let chart = bench.params().chart.text();
    bench.click("Files");
    bench.click("by half steps");
    bench.settle();
    let sheet = bench.params().chart.text();
    assert!(sheet.len() > 10 * chart.len(), "{sheet}");
    assert!(sheet.contains("Ebm7"), "the second key: {sheet}");
    bench.click("Undo");
    bench.settle();
    assert_eq!(bench.params().chart.text(), chart);
}

#[test]
fn a_file_goes_out_and_comes_in() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("page.mid");
    let mut bench = Bench::new();
    let chart = bench.params().chart.text();
    name(&mut bench, &path);
    bench.click("Export MIDI");
    let seen = bench.await_file();
    assert_shows(&seen, "is written.");
    let bytes = std::fs::read(&path).unwrap();
    assert!(bytes.starts_with(b"MThd"));

    bench.params().chart.set_text("| C6 |");
    bench.settle();
    bench.click("Import");
    bench.await_file();
    let read = guidehand_theory::chart::parse(&bench.params().chart.text()).unwrap();
    let first = guidehand_theory::chart::parse(&chart).unwrap();
    let chords = |chart: &guidehand_theory::chart::Chart| -> Vec<_> {
        chart
            .changes
            .iter()
            .map(|c| (c.chord, c.start_ticks))
            .collect()
    };
    assert_eq!(chords(&read), chords(&first));
    // Without a file nothing happens but words.
    bench.control("File").focus();
    bench.settle();
    bench.key(Key::Escape);
}

/// A score of two parts: the player reads the other one by a press.
#[test]
fn another_part_is_read_by_a_press() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("parts.musicxml");
    let part = |id: &str, root: &str| {
        format!(
            "<part id=\"{id}\"><measure number=\"1\"><harmony><root><root-step>{root}</root-step>\
             </root><kind>dominant</kind></harmony></measure></part>"
        )
    };
    let list = "<part-list><score-part id=\"a\"><part-name>Guitar</part-name></score-part>\
        <score-part id=\"b\"><part-name>Piano</part-name></score-part></part-list>";
    let (guitar, piano) = (part("a", "G"), part("b", "C"));
    let score = format!("<score-partwise>{list}{guitar}{piano}</score-partwise>");
    std::fs::write(&path, score).unwrap();
    let mut bench = Bench::new();
    name(&mut bench, &path);
    bench.click("Import");
    bench.await_file();
    assert_eq!(bench.params().chart.text(), "| G7 |");
    bench.click("Read the part Piano");
    bench.await_file();
    assert_eq!(bench.params().chart.text(), "| C7 |");
    bench.click("Undo");
    bench.settle();
    assert_eq!(bench.params().chart.text(), "| G7 |");
}

/// A score of more parts than there are buttons for.
#[test]
fn many_parts_find_room() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("many.musicxml");
    let part = |id: usize| {
        let root = if id == 1 { "G" } else { "C" };
        format!(
            "<part id=\"{id}\"><measure number=\"1\"><harmony><root><root-step>{root}</root-step>\
             </root><kind>dominant</kind></harmony></measure></part>"
        )
    };
    let parts: String = (0..45).map(part).collect();
    std::fs::write(&path, format!("<score-partwise>{parts}</score-partwise>")).unwrap();
    let mut bench = Bench::new();
    name(&mut bench, &path);
    bench.click("Import");
    let seen = bench.await_file();
    assert_shows(&seen, "is read; undo brings");
    // Those out of sight have their buttons, too.
    bench.control("Read the part Part 41");
    bench.click("Read the part Part 2");
    bench.await_file();
    assert_eq!(bench.params().chart.text(), "| G7 |");
}

#[cfg(unix)]
#[test]
fn a_pipe_is_told_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pipe.mid");
    let made = std::process::Command::new("mkfifo").arg(&path).status();
    assert!(made.unwrap().success());
    let mut bench = Bench::new();
    name(&mut bench, &path);
    for button in ["Import", "Export MIDI"] {
        bench.click(button);
        let seen = bench.await_file();
        assert_shows(&seen, "it is a pipe, not a file.");
    }
}

/// A file that another program holds is as slow as a network that does not answer.
#[cfg(target_os = "linux")]
#[test]
fn the_panel_goes_on_while_a_file_is_slow() {
    use crate::disk::lease::Lease;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("slow.txt");
    std::fs::write(&path, "| F6 | Bb6 |").unwrap();
    let mut bench = Bench::new();
    let chart = bench.params().chart.text();
    name(&mut bench, &path);

    let lease = Lease::of(&path);
    bench.click("Import");
    let seen = bench.settle();
    assert_shows(&seen, "Reading slow.txt ...");
    bench.click("Voicing and hand");
    let elsewhere = bench.settle();
    assert!(!shows(&elsewhere, "Reading"), "another page opens");
    bench.click("Files");
    bench.click("Cancel");
    let seen = bench.settle();
    assert_shows(&seen, "Cancelled: ");
    assert_eq!(bench.params().chart.text(), chart);

    bench.click("Import");
    bench.settle();
    // The player changes the chart meanwhile.
    bench.click("by half steps");
    bench.settle();
    let sheet = bench.params().chart.text();
    assert_ne!(sheet, chart);
    drop(lease);
    let seen = bench.await_file();
    assert_shows(&seen, "is read; undo");
    assert_eq!(bench.params().chart.text(), "| F6 | Bb6 |");
    bench.click("Undo");
    bench.settle();
    assert_eq!(bench.params().chart.text(), sheet);

    // A panel that is dropped waits for no file.
    let _held = Lease::of(&path);
    bench.click("Import");
    assert_shows(&bench.settle(), "Reading slow.txt ...");
    drop(bench);
}

#[cfg(target_os = "linux")]
#[test]
fn a_slow_file_with_a_long_name_has_room() {
    use crate::disk::lease::Lease;
    use crate::params::{PANEL_SIZE, SMALLEST_PANEL};
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("long".repeat(50));
    std::fs::write(&path, "| F6 |").unwrap();
    let _held = Lease::of(&path);
    let mut bench = Bench::new();
    name(&mut bench, &path);
    bench.click("Import");
    for size in [SMALLEST_PANEL, PANEL_SIZE] {
        bench.resize(size);
        let seen = bench.settle();
        let row = seen.iter().find(|seen| seen.words.starts_with("Reading"));
        let page = bench.control("File").rect();
        let row = row.unwrap().rect;
        assert!(row.right() <= page.right() + 1.0, "{row:?} {page:?}");
        let cancel = bench.control("Cancel").rect();
        assert!(!row.intersects(cancel));
        assert!(cancel.bottom() <= size[1]);
    }
}
