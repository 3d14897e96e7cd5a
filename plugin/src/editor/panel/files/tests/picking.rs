//! Files that are picked in a dialog, dropped or used again, by mouse and by keyboard.

use super::{assert_shows, shows};
use crate::disk::dialog::{Answer, Desktop};
use crate::editor::bench::Bench;
use crate::editor::model::page::Page;
use crate::params::{PANEL_SIZE, PanelView, SMALLEST_PANEL, SavedPanel};
use egui::{DroppedFile, Key};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, mpsc};

/// The page of files, whose dialogs are answered so.
fn answering(answer: Answer) -> Bench {
    let mut bench = Bench::new();
    let files = &mut bench.harness.state_mut().session.model.pages.files;
    files.set_desktop(Desktop::answering(move |_| answer.clone()));
    bench.click("Files");
    bench
}

fn press_key(bench: &mut Bench, name: &str) {
    bench.control(name).focus();
    bench.settle();
    bench.key(Key::Enter);
}

#[test]
fn a_file_is_picked_by_mouse_and_by_keyboard() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("chart.txt");
    fs::write(&path, "| F6 | Bb6 |").unwrap();
    for press in [Bench::click, press_key] {
        let mut bench = answering(Answer::Path(path.clone()));
        let chart = bench.params().chart.text();
        press(&mut bench, "Open a file");
        let seen = bench.await_file();
        assert_shows(&seen, "is read; undo");
        assert_eq!(bench.params().chart.text(), "| F6 | Bb6 |");
        assert_eq!(bench.value("File"), Some(path.display().to_string()));
        bench.click("Undo");
        bench.settle();
        assert_eq!(bench.params().chart.text(), chart);
    }
}

#[test]
fn a_file_is_saved_by_mouse_and_by_keyboard() {
    let folder = tempfile::tempdir().unwrap();
    for (nth, press) in [Bench::click, press_key].into_iter().enumerate() {
        for (button, ending, begins) in [
            ("Save MIDI as", "mid", "MThd"),
            ("Save MusicXML as", "musicxml", "<?xml"),
        ] {
            let path = folder.path().join(format!("{nth}.{ending}"));
            let mut bench = answering(Answer::Path(path.clone()));
            press(&mut bench, button);
            assert_shows(&bench.await_file(), "is written.");
            assert!(fs::read(&path).unwrap().starts_with(begins.as_bytes()));
        }
    }
}

#[test]
fn the_panel_says_that_there_is_no_dialog() {
    let mut bench = answering(Answer::NoDialog("the bus is away".to_owned()));
    bench.click("Open a file");
    let seen = bench.await_file();
    assert_shows(
        &seen,
        "No file dialog: the bus is away. Type a path instead.",
    );
}

/// The panel works on behind an open dialog, and is dropped before the answer.
#[test]
fn the_panel_goes_on_while_a_dialog_is_open() {
    let (answer, answers) = mpsc::channel::<()>();
    let (tell, opened) = mpsc::channel();
    let ends = Mutex::new((answers, tell));
    let mut bench = Bench::new();
    let files = &mut bench.harness.state_mut().session.model.pages.files;
    files.set_desktop(Desktop::answering(move |_| {
        let (answers, tell) = &*ends.lock().unwrap();
        let _gone = tell.send(());
        let _answered = answers.recv();
        Answer::Nothing
    }));
    bench.click("Files");
    bench.click("Open a file");
    opened.recv().unwrap();
    assert_shows(&bench.settle(), "Waiting for the file dialog ...");
    bench.click("by half steps");
    assert!(bench.params().chart.text().contains("Ebm7"));
    bench.click("Save MIDI as");
    assert_shows(&bench.settle(), "A file dialog is open already");
    bench.click("Cancel");
    assert_shows(&bench.settle(), "Cancelled");
    bench.click("Open a file");
    answer.send(()).unwrap();
    opened.recv().unwrap();
    answer.send(()).unwrap();
    assert_shows(&bench.await_file(), "No file was picked.");
    bench.click("Open a file");
    opened.recv().unwrap();
    drop(bench);
    drop(answer);
}

/// Reads files one after the other by their typed paths.
fn read_all(bench: &mut Bench, paths: &[PathBuf]) {
    bench.click("Files");
    for path in paths {
        fs::write(path, "| C6 | F6 |").unwrap();
        bench.control("File").focus();
        bench.settle();
        bench
            .harness
            .key_press_modifiers(egui::Modifiers::COMMAND, Key::A);
        bench.type_text(&path.display().to_string());
        bench.settle();
        bench.click("Import");
        bench.await_file();
    }
}

#[test]
fn recent_files_are_read_again_and_forgotten() {
    let folder = tempfile::tempdir().unwrap();
    let paths: Vec<_> = (0..9)
        .map(|nth| folder.path().join(format!("{nth}.txt")))
        .collect();
    let mut bench = Bench::new();
    read_all(&mut bench, &paths);
    let again = |path: &Path| format!("Import {} again", path.display());
    let newest = &paths[8];
    assert_eq!(bench.params().files.recent().len(), 8);
    assert!(bench.params().files.recent()[0].ends_with("8.txt"));

    fs::write(newest, "| Eb6 |").unwrap();
    bench.click(&again(newest));
    bench.await_file();
    assert_eq!(bench.params().chart.text(), "| Eb6 |");
    fs::write(&paths[7], "| Ab6 |").unwrap();
    press_key(&mut bench, &again(&paths[7]));
    bench.await_file();
    assert_eq!(bench.params().chart.text(), "| Ab6 |");
    assert!(bench.params().files.recent()[0].ends_with("7.txt"));

    bench.told();
    bench.click("Forget the recent files");
    let seen = bench.settle();
    assert_eq!(bench.params().files.recent(), [""; 0]);
    assert!(!shows(&seen, "Recent"));
    assert!(!bench.told().is_empty(), "the host is not told to save");
    assert!(newest.exists());
}

#[test]
fn a_long_recent_path_has_room() {
    let long = format!("/home/player/{}/the end.musicxml", "far".repeat(60));
    let mut bench = Bench::new();
    bench.params().files.set_recent(vec![long.clone()]);
    bench.click("Files");
    for size in [SMALLEST_PANEL, PANEL_SIZE] {
        bench.resize(size);
        let seen = bench.settle();
        let row = seen
            .iter()
            .find(|seen| seen.words.ends_with("the end.musicxml"));
        let row = row.unwrap();
        assert!(row.words.starts_with("/home/player/far"), "{}", row.words);
        assert!(row.words.contains("..."));
        assert!(row.rect.right() <= bench.control("File").rect().right() + 1.0);
        assert!(!row.elided);
        let at = bench.control(&format!("Import {long} again")).rect();
        assert!(at.contains_rect(row.rect.shrink(1.0)), "{at:?} {row:?}");
    }
}

/// A file as a toolkit hands it over.
#[derive(Debug)]
struct Dropped(PathBuf);

impl DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        Err("the panel takes the path".to_owned())
    }
}

#[test]
fn a_dropped_file_is_read_in_both_views() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("chart.txt");
    fs::write(&path, "| F6 | Bb6 |").unwrap();
    for view in [PanelView::Full, PanelView::Small] {
        let mut bench = Bench::new();
        bench.load_panel(SavedPanel {
            view,
            ..SavedPanel::default()
        });
        bench.settle();
        let dropped = Arc::new(Dropped(path.clone()));
        bench.harness.input_mut().dropped_files.push(dropped);
        bench.frame();
        let seen = bench.await_file();
        assert_eq!(bench.params().chart.text(), "| F6 | Bb6 |");
        assert_shows(&seen, "is read; undo");
        let session = &bench.harness.state().session;
        assert_eq!(session.model.pages.open, Page::InAndOut);
        assert_eq!(bench.params().panel.get().view, PanelView::Full);
    }
}
