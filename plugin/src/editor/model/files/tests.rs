mod picking;

use super::*;
use crate::editor::model::recorder::Recorder;
use std::fs;
use tempfile::TempDir;

const CHART: &str = "| Dm7 | G7 | Cmaj7 | % |";

/// The path of a file in a folder, as it is typed.
fn file(folder: &TempDir, name: &str) -> String {
    folder.path().join(name).display().to_string()
}

fn folder() -> TempDir {
    tempfile::tempdir().unwrap()
}

/// Files with a path.
fn at(path: &str) -> Files {
    Files {
        path: path.to_owned(),
        ..Files::default()
    }
}

/// Carries an action out, and waits for what comes of it.
fn ask(files: &mut Files, action: FilesAction) -> Option<String> {
    let mut outside = Recorder::default();
    let text = files.apply(action, (&CHART.into(), NoteNames::English), &mut outside);
    outside.do_work();
    text.or_else(|| files.refresh(&mut outside).map(chart_of))
        .map(|chart| chart.text)
}

/// The chart that has come of a file.
fn chart_of(came: Came) -> NewChart {
    match came {
        Came::Chart(chart) => chart,
        Came::Voicings(path, _) => panic!("voicings have come from {path}"),
        Came::Record(path, _) => panic!("a record has come from {path}"),
    }
}

#[track_caller]
fn said(files: &Files, failed: bool) -> String {
    let said = files.said().unwrap().clone();
    assert_eq!(said.failed, failed, "{}", said.words);
    said.words
}

#[test]
fn what_is_written_reads_back() {
    let folder = folder();
    for (kind, name) in [(FileKind::Midi, "one"), (FileKind::MusicXml, "two.xml")] {
        let mut files = at(&file(&folder, name));
        assert_eq!(ask(&mut files, FilesAction::Write(kind)), None);
        assert!(said(&files, false).ends_with("is written."));
        let written = kind::named(Path::new(&files.path), kind).unwrap();
        files.path = written.display().to_string();
        let text = ask(&mut files, FilesAction::Read);
        assert_eq!(text.as_deref(), Some(CHART), "{:?}", files.said());
    }
}

#[test]
fn a_file_that_is_there_is_replaced_when_asked_twice() {
    let folder = folder();
    let path = file(&folder, "mine.mid");
    fs::write(&path, "something else").unwrap();
    let mut files = at(&path);
    ask(&mut files, FilesAction::Write(FileKind::Midi));
    assert!(said(&files, true).ends_with("press Export MIDI to replace it."));
    assert_eq!(fs::read(&path).unwrap(), b"something else");
    ask(&mut files, FilesAction::Write(FileKind::Midi));
    said(&files, false);
    assert!(fs::read(&path).unwrap().starts_with(b"MThd"));
}

#[test]
fn what_cannot_be_read_is_said() {
    let folder = folder();
    let mut files = at(" ");
    assert_eq!(ask(&mut files, FilesAction::Read), None);
    assert_eq!(said(&files, true), "Enter a file path above.");
    files.path = file(&folder, "none.mid");
    assert_eq!(ask(&mut files, FilesAction::Read), None);
    assert!(said(&files, true).contains("cannot be read"));
    let odd = file(&folder, "odd.mid");
    fs::write(&odd, [0, 1, 2, 3]).unwrap();
    files.path = odd;
    assert_eq!(ask(&mut files, FilesAction::Read), None);
    said(&files, true);
    files.path = folder.path().display().to_string();
    assert_eq!(ask(&mut files, FilesAction::Read), None);
    assert!(said(&files, true).ends_with("cannot be read: it is a folder, not a file."));
    assert_eq!(
        files.practise(&Kept::of("| H7 |"), Order::Fourths, &Register::DEFAULT),
        None
    );
    assert!(said(&files, true).contains("bar 1"));
}

#[test]
fn a_chart_with_errors_writes_nothing() {
    let folder = folder();
    let mut files = at(&file(&folder, "mine.mid"));
    let mut outside = Recorder::default();
    let write = FilesAction::Write(FileKind::Midi);
    files.apply(write, (&"| H7 |".into(), NoteNames::English), &mut outside);
    outside.do_work();
    files.refresh(&mut outside);
    assert!(said(&files, true).contains("bar 1"));
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 0);
}

#[test]
fn one_file_at_a_time_is_under_way_and_can_be_cancelled() {
    let folder = folder();
    let path = file(&folder, "chart.txt");
    fs::write(&path, CHART).unwrap();
    let mut files = at(&path);
    let mut outside = Recorder::default();
    let apply = |files: &mut Files, outside: &mut Recorder, action| {
        files.apply(action, (&CHART.into(), NoteNames::English), outside);
        outside.work.len()
    };
    assert_eq!(apply(&mut files, &mut outside, FilesAction::Read), 1);
    assert_eq!(files.under_way().as_deref(), Some("Reading chart.txt ..."));
    assert!(!files.has_result());
    assert_eq!(files.refresh(&mut outside), None);
    for other in [FilesAction::Read, FilesAction::Write(FileKind::Midi)] {
        assert_eq!(apply(&mut files, &mut outside, other), 1, "refused");
        assert!(said(&files, true).contains("cancel"));
        assert!(files.under_way().is_some());
    }
    apply(&mut files, &mut outside, FilesAction::Cancel);
    assert_eq!(files.under_way(), None);
    assert!(said(&files, false).starts_with("Cancelled"));
    // What comes after all changes nothing.
    outside.do_work();
    assert!(!files.has_result());
    assert_eq!(files.refresh(&mut outside), None);
    assert!(said(&files, false).starts_with("Cancelled"));
}

#[test]
fn a_cancelled_write_writes_nothing_unless_it_is_too_late() {
    let folder = folder();
    let write = || FilesAction::Write(FileKind::Midi);
    let chart = (&CHART.into(), NoteNames::English);
    let mut files = at(&file(&folder, "mine.mid"));
    let mut outside = Recorder::default();
    files.apply(write(), chart, &mut outside);
    assert_eq!(files.under_way().as_deref(), Some("Writing mine.mid ..."));
    files.apply(FilesAction::Cancel, chart, &mut outside);
    outside.do_work();
    assert!(said(&files, false).ends_with("is not written."));
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 0);

    files.apply(write(), chart, &mut outside);
    outside.do_work();
    files.apply(FilesAction::Cancel, chart, &mut outside);
    assert!(said(&files, true).contains("too late"));
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
}

#[test]
fn a_job_without_a_thread_or_with_a_defect_is_said() {
    let mut files = at("chart.mid");
    let mut outside = Recorder::default();
    outside.no_thread = Some(8);
    let chart = (&CHART.into(), NoteNames::English);
    files.apply(FilesAction::Read, chart, &mut outside);
    assert!(said(&files, true).contains("8 other files"));
    assert_eq!(files.under_way(), None);

    outside.no_thread = None;
    files.apply(FilesAction::Read, chart, &mut outside);
    outside.work.clear();
    assert!(files.has_result());
    assert_eq!(files.refresh(&mut outside), None);
    assert!(said(&files, true).contains("inside Guidehand"));
    assert_eq!(files.under_way(), None);
}

/// A lead sheet for an instrument in C and one in B flat.
const TWO_PARTS: &str = "<score-partwise><part-list><score-part id=\"a\"><part-name>Horn</part-name>\
    </score-part><score-part id=\"b\"><part-name>Guitar</part-name></score-part></part-list>\
    <part id=\"a\"><measure number=\"1\"><attributes><transpose><diatonic>-1</diatonic>\
    <chromatic>-2</chromatic></transpose></attributes><harmony><root><root-step>B</root-step></root>\
    <kind>dominant</kind></harmony></measure></part><part id=\"b\"><measure number=\"1\"><harmony>\
    <root><root-step>G</root-step></root><kind>dominant</kind></harmony></measure></part>\
    </score-partwise>";

#[test]
fn another_part_of_a_score_can_be_read() {
    let folder = folder();
    let path = file(&folder, "parts.musicxml");
    fs::write(&path, TWO_PARTS).unwrap();
    let mut files = at(&path);
    assert_eq!(
        ask(&mut files, FilesAction::Read).as_deref(),
        Some("| G7 |")
    );
    assert_eq!(files.other_parts().collect::<Vec<_>>(), ["Horn"]);
    let line = files.said().unwrap().lines[0].clone();
    assert!(line.contains("\"Guitar\" is read"), "{line}");
    let horn = FilesAction::ReadPart("Horn".to_owned());
    assert_eq!(ask(&mut files, horn).as_deref(), Some("| A7 |"));
    assert_eq!(files.other_parts().collect::<Vec<_>>(), ["Guitar"]);
    let line = files.said().unwrap().lines[0].clone();
    assert!(line.contains("a whole step lower"), "{line}");
    // Another path is another file.
    ask(&mut files, FilesAction::Path("other.mid".to_owned()));
    assert_eq!(files.other_parts().count(), 0);
}
