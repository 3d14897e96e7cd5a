//! Files that are picked in a dialog, dropped or used again.

use super::*;
use crate::disk::dialog::Question;
use std::sync::{Arc, Mutex};

/// Files whose dialogs are answered so, and what was asked.
fn answering(answer: Answer) -> (Files, Arc<Mutex<Vec<Question>>>) {
    let asked = Arc::new(Mutex::new(Vec::new()));
    let questions = asked.clone();
    let mut files = Files::default();
    files.set_desktop(Desktop::answering(move |question| {
        questions.lock().unwrap().push(question.clone());
        answer.clone()
    }));
    (files, asked)
}

/// Carries an action out and all that comes of it.
fn carry_out(files: &mut Files, action: FilesAction, outside: &mut Recorder) -> Option<String> {
    let chart = (&CHART.into(), NoteNames::English);
    let mut text = files.apply(action, chart, outside);
    for _ in 0..2 {
        outside.do_work();
        if let Some(action) = files.answered() {
            text = text.or(files.apply(action, chart, outside));
        }
        text = text.or_else(|| files.refresh(outside).map(chart_of));
    }
    text.map(|chart| chart.text)
}

#[test]
fn a_file_that_is_picked_is_read_and_remembered() {
    let folder = folder();
    let path = file(&folder, "chart.txt");
    fs::write(&path, "| F6 |").unwrap();
    let (mut files, asked) = answering(Answer::Path(path.clone().into()));
    let mut outside = Recorder::default();
    let text = carry_out(&mut files, FilesAction::Open, &mut outside);
    assert_eq!(text.as_deref(), Some("| F6 |"));
    assert_eq!(files.path(), path);
    assert_eq!(outside.recent_files, [path]);
    let question = asked.lock().unwrap().pop().unwrap();
    assert_eq!((question.folder, question.name), (None, None));

    // The next dialog begins there.
    files.apply(
        FilesAction::Path(String::new()),
        (&CHART.into(), NoteNames::English),
        &mut outside,
    );
    carry_out(&mut files, FilesAction::Open, &mut outside);
    let question = asked.lock().unwrap().pop().unwrap();
    assert_eq!(question.folder.as_deref(), Some(folder.path()));
}

#[test]
fn a_performance_is_written_where_it_was_picked() {
    let folder = folder();
    for (kind, name) in [
        (FileKind::Midi, "a.mid"),
        (FileKind::MusicXml, "a.musicxml"),
    ] {
        let path = file(&folder, name);
        let (mut files, asked) = answering(Answer::Path(path.clone().into()));
        let mut outside = Recorder::default();
        carry_out(&mut files, FilesAction::SaveAs(kind), &mut outside);
        assert!(said(&files, false).ends_with("is written."));
        let bytes = fs::read(&path).unwrap();
        let question = asked.lock().unwrap().pop().unwrap();
        let expected = format!("chart.{}", kind.ending());
        assert_eq!(question.name, Some(expected));

        // What is there is not lost by picking it: the panel asks, whatever the dialog has asked.
        fs::write(&path, "mine").unwrap();
        carry_out(&mut files, FilesAction::SaveAs(kind), &mut outside);
        assert!(said(&files, true).contains("press Export"), "{kind:?}");
        assert_eq!(fs::read(&path).unwrap(), b"mine");
        let question = asked.lock().unwrap().pop().unwrap();
        assert_eq!(question.name.as_deref(), Some(name));
        carry_out(&mut files, FilesAction::Write(kind), &mut outside);
        said(&files, false);
        assert_eq!(fs::read(&path).unwrap(), bytes);
        // So is picking it twice.
        carry_out(&mut files, FilesAction::SaveAs(kind), &mut outside);
        said(&files, true);
        carry_out(&mut files, FilesAction::SaveAs(kind), &mut outside);
        said(&files, false);
        assert_eq!(outside.recent_files, [path]);
    }
}

#[test]
fn a_dialog_that_is_closed_or_missing_changes_nothing() {
    for (answer, failed, words) in [
        (Answer::Nothing, false, "No file was picked."),
        (
            Answer::NoDialog("the bus is away".to_owned()),
            true,
            "No file dialog: the bus is away. Type a path instead.",
        ),
    ] {
        let (mut files, _) = answering(answer);
        files.path = "mine.mid".to_owned();
        let mut outside = Recorder::default();
        for action in [FilesAction::Open, FilesAction::SaveAs(FileKind::Midi)] {
            assert_eq!(carry_out(&mut files, action, &mut outside), None);
            assert_eq!(said(&files, failed), words);
            assert_eq!(files.path(), "mine.mid");
            assert_eq!(files.under_way(), None);
        }
        assert_eq!(outside.recent_files, [""; 0]);
    }
}

#[test]
fn one_dialog_is_open_at_a_time_and_can_be_cancelled() {
    let (mut files, asked) = answering(Answer::Path("/late.mid".into()));
    let mut outside = Recorder::default();
    let chart = (&CHART.into(), NoteNames::English);
    files.apply(FilesAction::Open, chart, &mut outside);
    assert!(files.under_way().unwrap().contains("dialog"));
    assert!(!files.has_result());
    files.apply(FilesAction::SaveAs(FileKind::Midi), chart, &mut outside);
    assert!(said(&files, true).contains("open already"));
    assert_eq!(outside.work.len(), 1);
    files.apply(FilesAction::Cancel, chart, &mut outside);
    assert!(said(&files, false).starts_with("Cancelled"));
    assert_eq!(files.under_way(), None);
    // What is picked after all does nothing.
    outside.do_work();
    assert_eq!(asked.lock().unwrap().len(), 1);
    assert!(!files.has_result());
    assert_eq!(files.answered(), None);
    assert_eq!(files.path(), "");
}

#[test]
fn a_dialog_without_a_thread_or_with_a_defect_is_said() {
    let mut files = Files::default();
    let mut outside = Recorder::default();
    outside.no_thread = Some(8);
    let chart = (&CHART.into(), NoteNames::English);
    files.apply(FilesAction::Open, chart, &mut outside);
    assert!(said(&files, true).starts_with("Nothing is done: "));
    assert_eq!(files.under_way(), None);
    outside.no_thread = None;
    files.apply(FilesAction::Open, chart, &mut outside);
    outside.work.clear();
    assert!(files.has_result());
    assert_eq!(files.answered(), None);
    assert!(said(&files, true).contains("inside Guidehand"));
}

#[test]
fn a_file_can_be_typed_while_a_dialog_is_open() {
    let folder = folder();
    let path = file(&folder, "chart.txt");
    fs::write(&path, "| F6 |").unwrap();
    let (mut files, _) = answering(Answer::Nothing);
    let mut outside = Recorder::default();
    let chart = (&CHART.into(), NoteNames::English);
    files.apply(FilesAction::Open, chart, &mut outside);
    let dialog = outside.work.pop().unwrap();
    files.apply(FilesAction::Path(path), chart, &mut outside);
    let text = carry_out(&mut files, FilesAction::Read, &mut outside);
    assert_eq!(text.as_deref(), Some("| F6 |"));
    dialog();
    assert_eq!(files.answered(), None);
    said(&files, false);
}

#[test]
fn the_last_files_come_first_and_can_be_forgotten() {
    let folder = folder();
    let [one, two] = ["one.txt", "two.txt"].map(|name| {
        let path = file(&folder, name);
        fs::write(&path, CHART).unwrap();
        path
    });
    let mut files = Files::default();
    let mut outside = Recorder::default();
    for path in [&one, &two, &one] {
        let read = FilesAction::ReadFrom(path.into());
        assert!(carry_out(&mut files, read, &mut outside).is_some());
        assert_eq!(files.path(), path);
    }
    assert_eq!(outside.recent_files, [&one, &two].map(String::clone));
    // What cannot be read is no file that was used.
    let missing = FilesAction::ReadFrom(file(&folder, "none.txt").into());
    assert_eq!(carry_out(&mut files, missing, &mut outside), None);
    said(&files, true);
    assert_eq!(outside.recent_files, [one, two]);
    carry_out(&mut files, FilesAction::Forget, &mut outside);
    assert_eq!(outside.recent_files, [""; 0]);
}

#[test]
fn the_first_of_several_dropped_files_is_read() {
    let folder = folder();
    let [one, two] = [("one.txt", "| F6 |"), ("two.txt", "| C6 |")].map(|(name, chart)| {
        let path = file(&folder, name);
        fs::write(&path, chart).unwrap();
        PathBuf::from(path)
    });
    let mut files = Files::default();
    let mut outside = Recorder::default();
    let drop = FilesAction::Drop(vec![one, two]);
    let text = carry_out(&mut files, drop, &mut outside);
    assert_eq!(text.as_deref(), Some("| F6 |"));
    let told = files.said().unwrap().clone();
    assert!(told.lines[0].contains("first of 2"), "{told:?}");
}

/// A name of bytes that are no text cannot be typed, but it can be picked.
#[cfg(target_os = "linux")]
#[test]
fn a_picked_name_need_not_be_text() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let folder = folder();
    let path = folder.path().join(OsStr::from_bytes(b"\xff.txt"));
    fs::write(&path, "| F6 |").unwrap();
    let (mut files, _) = answering(Answer::Path(path));
    let mut outside = Recorder::default();
    for action in [FilesAction::Open, FilesAction::Read] {
        let text = carry_out(&mut files, action, &mut outside);
        assert_eq!(text.as_deref(), Some("| F6 |"), "{:?}", files.said());
    }
    assert_eq!(outside.recent_files, [""; 0], "it cannot be saved");
}
