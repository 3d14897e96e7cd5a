//! The files of the commands, where a disk has no room for them. The limit on the size of files is
//! that of POSIX (`ulimit`), and stands for a full disk.

#![cfg(unix)]

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

/// Runs `practice` with two files, as a shell does after these words.
fn practice(before: &str, folder: &Path, files: [&str; 2]) -> Output {
    let [midi, page] = files;
    let line = format!(
        "{before} exec \"$0\" practice '| Dm7 | G7 | Cmaj7 |' --mid {midi} --musicxml {page}"
    );
    let command = env!("CARGO_BIN_EXE_xtask");
    let mut shell = Command::new("sh");
    shell.args(["-c", &line, command]).current_dir(folder);
    shell.output().unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let mut names: Vec<String> = names.collect();
    names.sort();
    names
}

#[test]
fn a_disk_without_room_leaves_the_old_files() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["a.mid", "b.musicxml"] {
        fs::write(folder.path().join(name), "old").unwrap();
    }
    let untouched = || {
        assert_eq!(names(folder.path()), ["a.mid", "b.musicxml"]);
        for name in ["a.mid", "b.musicxml"] {
            assert_eq!(
                fs::read(folder.path().join(name)).unwrap(),
                b"old",
                "{name}"
            );
        }
    };
    // The signal of the limit is ignored, so that writing fails with an error.
    let limit = "trap '' XFSZ; ulimit -f 1;";
    let done = practice(limit, folder.path(), ["a.mid", "b.musicxml"]);
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(
        !done.status.success() && said.contains("cannot write a.mid"),
        "{said}"
    );
    untouched();
    // The second file alone cannot be written.
    let done = practice("", folder.path(), ["a.mid", "a.mid/b.musicxml"]);
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(!done.status.success() && said.contains("a.mid"), "{said}");
    untouched();
    let done = practice("", folder.path(), ["a.mid", "."]);
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(
        !done.status.success() && said.contains("cannot write"),
        "{said}"
    );
    untouched();
    let done = practice("", folder.path(), ["a.mid", "new/b.musicxml"]);
    assert!(done.status.success(), "{done:?}");
    assert_eq!(
        &fs::read(folder.path().join("a.mid")).unwrap()[..4],
        b"MThd"
    );
    let page = fs::read_to_string(folder.path().join("new/b.musicxml")).unwrap();
    assert!(page.starts_with("<?xml"), "{page}");
}

/// A file without a name is told as such.
#[test]
fn an_empty_name_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let done = practice("", folder.path(), ["''", "b.musicxml"]);
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(said.contains("expected the name of a file"), "{said}");
    assert_eq!(names(folder.path()), [""; 0]);
}
