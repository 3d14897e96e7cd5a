//! The page worked by its names.

use crate::editor::bench::Bench;
use egui::Key;

#[test]
fn the_twelve_keys_come_in_and_undo_brings_the_chart_back() {
    let mut bench = Bench::new();
    let chart = bench.params().chart.text();
    bench.click("In and out");
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
    let path = std::env::temp_dir().join(format!("guidehand-page-{}.mid", std::process::id()));
    let mut bench = Bench::new();
    let chart = bench.params().chart.text();
    bench.click("In and out");
    bench.control("File").focus();
    bench.settle();
    bench.type_text(&path.display().to_string());
    bench.settle();
    bench.click("Write MIDI file");
    let seen = bench.settle();
    assert!(
        seen.iter().any(|s| s.words.ends_with("is written.")),
        "{seen:?}"
    );
    let bytes = std::fs::read(&path).unwrap();
    assert!(bytes.starts_with(b"MThd"));

    bench.params().chart.set_text("| C6 |");
    bench.settle();
    bench.click("Read");
    bench.settle();
    std::fs::remove_file(&path).unwrap();
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
