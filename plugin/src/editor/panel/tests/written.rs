//! The melody that is written over the chart, on its page: typed, mended, undone, followed and recorded.

use crate::editor::bench::{Bench, Seen, set};
use crate::engine::snapshot::Snapshot;
use crate::params::SourceParam;
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use guidehand_theory::chart::TICKS_PER_QUARTER;

const PAGE: &str = "The melody";
const TEXT: &str = "Written melody";
const RECORD: &str = "Record the right hand";

fn page() -> Bench {
    let mut bench = Bench::new();
    bench.params().chart.set_text("| Dm7 | G7 | Cmaj7 |");
    bench.settle();
    bench.click(PAGE);
    bench.settle();
    bench
}

fn typed(text: &str) -> Bench {
    let mut bench = page();
    bench.control(TEXT).focus();
    bench.frame();
    bench.type_text(text);
    bench.settle();
    bench
}

fn says(seen: &[Seen], words: &str) -> bool {
    seen.iter().any(|seen| seen.words == words && !seen.elided)
}

#[test]
fn it_is_typed_and_saved_and_its_errors_are_told() {
    let mut bench = typed("| F5/2 E5 | D5/1 | C5 |");
    let text = "| F5/2 E5 | D5/1 | C5 |";
    assert_eq!(bench.value(TEXT).as_deref(), Some(text));
    assert_eq!(bench.saved_melody(), text);
    let seen = bench.settle();
    assert!(says(&seen, "The melody has 4 notes."), "{seen:?}");
    bench.type_text(" x");
    let seen = bench.settle();
    let wrong = "bar 4: the chart has 3 bars as played; expected no more";
    assert!(says(&seen, wrong), "{seen:?}");
    assert_eq!(bench.saved_melody(), format!("{text} x"), "nothing is lost");
    for _ in 0..2 {
        bench.key(Key::Backspace);
    }
    let seen = bench.settle();
    assert!(!says(&seen, wrong), "{seen:?}");
    assert_eq!(bench.saved_melody(), text);
}

#[test]
fn it_is_undone_by_the_keys_of_the_chart() {
    let mut bench = typed("| F5/1 |");
    bench
        .harness
        .key_press_modifiers(Modifiers::COMMAND, Key::Z);
    bench.settle();
    let undone = bench.value(TEXT).unwrap();
    assert!(
        "| F5/1 |".starts_with(&undone) && undone.len() < 8,
        "{undone}"
    );
    assert_eq!(bench.saved_melody(), undone);
    let again = Modifiers::COMMAND | Modifiers::SHIFT;
    bench.harness.key_press_modifiers(again, Key::Z);
    bench.settle();
    assert_eq!(bench.value(TEXT).as_deref(), Some("| F5/1 |"));
    assert_eq!(&*bench.params().chart.latest().text, "| Dm7 | G7 | Cmaj7 |");
}

#[test]
fn the_bar_that_sounds_is_told_with_its_note() {
    let mut bench = typed("| F5/2 E5 | | Bb4/4 r C5/2 |");
    for (quarter, told) in [
        (0, "Bar 1: F5 E5; now F5"),
        (3, "Bar 1: F5 E5; now E5"),
        (4, "Bar 2: no melody"),
        (8, "Bar 3: B\u{266d}4 C5; now B\u{266d}4"),
        (9, "Bar 3: B\u{266d}4 C5"),
    ] {
        bench.show(Snapshot {
            playing: true,
            beat_ticks: Some(quarter * TICKS_PER_QUARTER),
            ..Snapshot::default()
        });
        bench.settle();
        bench.harness.get_by_label(told);
    }
}

#[test]
fn german_notes_have_their_german_names() {
    let mut bench = page();
    bench
        .params()
        .chart
        .set_names(guidehand_theory::pitch::NoteNames::German);
    bench.settle();
    bench.control(TEXT).focus();
    bench.frame();
    bench.type_text("| H4/1 | B4 |");
    let seen = bench.settle();
    assert!(says(&seen, "The melody has 2 notes."), "{seen:?}");
    bench.show(Snapshot {
        playing: true,
        beat_ticks: Some(0),
        ..Snapshot::default()
    });
    bench.settle();
    bench.harness.get_by_label("Bar 1: H4; now H4");
}

#[test]
fn a_recording_begins_and_ends_by_name_and_by_key() {
    let mut bench = page();
    set(&bench.params().source, SourceParam::Chart);
    assert!(!bench.is_on(RECORD));
    bench.click(RECORD);
    let seen = bench.settle();
    assert!(bench.is_on(RECORD));
    assert!(says(&seen, "Recording: play over the chart."), "{seen:?}");
    bench.control(RECORD).focus();
    bench.settle();
    bench.key(Key::Space);
    let seen = bench.settle();
    assert!(!says(&seen, "Recording: play over the chart."), "{seen:?}");
}

/// Only over a chart there is something to record.
#[test]
fn a_recording_says_that_it_needs_the_chart() {
    let mut bench = page();
    set(&bench.params().source, SourceParam::Roots);
    bench.click(RECORD);
    let seen = bench.settle();
    let words = "Recording: only what is played over the chart. Take chords from it.";
    assert!(says(&seen, words), "{seen:?}");
}

/// A recording that has ended waits for texts without errors, and says so.
#[test]
fn a_recording_waits_for_what_can_be_read() {
    let waits = "The recording waits until chart and melody can be read.";
    let mut bench = typed("| F5/2 x | C5/1 |");
    bench.click(RECORD);
    let seen = bench.settle();
    assert!(!says(&seen, waits), "{seen:?}");
    bench.click(RECORD);
    let seen = bench.settle();
    assert!(says(&seen, waits), "{seen:?}");
    bench.params().chart.set_text("| Dm7 | G7( |");
    let seen = bench.settle();
    assert!(says(&seen, waits), "{seen:?}");
    bench.params().chart.set_text("| Dm7 | G7 |");
    let seen = bench.settle();
    assert!(!says(&seen, waits), "{seen:?}");
    assert!(
        says(&seen, "Nothing was played over the chart."),
        "{seen:?}"
    );
}

/// A press on what is wrong leads to its place.
#[test]
fn an_error_leads_to_its_place() {
    let mut bench = typed("| F5/2 x | C5/1 |");
    bench.click(PAGE);
    bench.settle();
    let wrong = "bar 1: \"x\" is no note; expected a name with an octave, such as E5 or B\u{266d}4/8, or r \
                 for a rest";
    let at = bench.harness.get_by_label(wrong).rect().left_center();
    bench.click_at(at + egui::vec2(4.0, 0.0));
    bench.settle();
    bench.key(Key::Backspace);
    bench.settle();
    assert_eq!(bench.saved_melody(), "| F5/2  | C5/1 |");
}
