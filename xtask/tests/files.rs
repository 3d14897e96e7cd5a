//! The files of the commands: where a disk has no room for them, and where they are not what was
//! expected. The limit on the size of files is that of POSIX (`ulimit`), and stands for a full disk.

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

/// Two outputs that are one file would leave only the second.
#[test]
fn one_file_for_two_outputs_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let done = practice("", folder.path(), ["a", "./a"]);
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(
        said.contains("cannot write ./a: it is asked for twice"),
        "{said}"
    );
    assert_eq!(names(folder.path()), [""; 0]);
    fs::write(folder.path().join("a"), "old").unwrap();
    let done = practice("", folder.path(), ["a", "./a"]);
    assert_eq!(done.status.code(), Some(1));
    assert_eq!(fs::read(folder.path().join("a")).unwrap(), b"old");
}

/// A device without room is told before any file is replaced (`full(4)`).
#[cfg(target_os = "linux")]
#[test]
fn a_full_device_leaves_the_old_files() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.mid"), "old").unwrap();
    for files in [["a.mid", "/dev/full"], ["/dev/full", "a.mid"]] {
        let done = practice("", folder.path(), files);
        let said = String::from_utf8_lossy(&done.stderr);
        assert_eq!(done.status.code(), Some(1), "{said}");
        assert!(said.contains("cannot write /dev/full"), "{said}");
        assert_eq!(names(folder.path()), ["a.mid"]);
        assert_eq!(fs::read(folder.path().join("a.mid")).unwrap(), b"old");
    }
}

/// A pipe is written to as it is (`/dev/stdout`: common practice, no published source).
#[test]
fn a_pipe_is_an_output_too() {
    let folder = tempfile::tempdir().unwrap();
    let done = practice("", folder.path(), ["a.mid", "/dev/stdout"]);
    let page = String::from_utf8_lossy(&done.stdout);
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    assert!(
        page.starts_with("<?xml") && page.contains("| Gm7 |"),
        "{page}"
    );
    assert_eq!(names(folder.path()), ["a.mid"]);
}

/// A pipe whose reader is gone ends the program (POSIX, `SIGPIPE`), but not before its files.
#[test]
fn files_are_written_although_nobody_reads_what_is_printed() {
    let folder = tempfile::tempdir().unwrap();
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let mut command = Command::new(env!("CARGO_BIN_EXE_xtask"));
    command.args(["practice", "| Dm7 | G7 | Cmaj7 |", "--mid", "a.mid"]);
    let mut child = command
        .current_dir(folder.path())
        .stdout(writer)
        .spawn()
        .unwrap();
    child.wait().unwrap();
    let file = fs::read(folder.path().join("a.mid")).unwrap();
    assert_eq!(&file[..4], b"MThd");
}

/// A file that cannot be read is told from one that holds no chart.
#[test]
fn import_tells_what_was_expected() {
    let folder = tempfile::tempdir().unwrap();
    let part = |id: &str| {
        format!(
            "<part id=\"{id}\"><measure number=\"1\"><harmony><root><root-step>C</root-step></root>\
             <kind>major</kind></harmony><note><rest/><duration>4</duration></note></measure></part>"
        )
    };
    let score = format!(
        "<score-partwise>{}{}</score-partwise>",
        part("a"),
        part("b")
    );
    let silent = "<score-partwise><part id=\"a\"><measure/></part></score-partwise>";
    for (name, text) in [
        ("score.xml", score.as_str()),
        ("cut.xml", &score[..90]),
        ("silent.xml", silent),
        ("empty.mid", ""),
        ("cut.mid", "MThd\0\0\0\x06"),
        ("chart.txt", "| C | Hm7 |"),
    ] {
        fs::write(folder.path().join(name), text).unwrap();
    }
    for (arguments, code, words) in [
        (&["score.xml"][..], 0, "\"Part 2\" has chords too"),
        (
            &["score.xml", "--part", "part 2"],
            0,
            "\"Part 1\" has chords too",
        ),
        (
            &["score.xml", "--part", "Horn"],
            2,
            "expected \"Part 1\", \"Part 2\"",
        ),
        (&["cut.xml"], 2, "cut.xml: the MusicXML is broken at byte "),
        (&["silent.xml"], 2, "silent.xml: there are no chords"),
        (&["empty.mid"], 2, "empty.mid: expected MusicXML"),
        (&["cut.mid"], 2, "cut.mid: the MIDI file cannot be read"),
        (&["chart.txt"], 2, "bar 2: \"Hm7\""),
        (&["."], 1, "cannot read ."),
        (&["nowhere"], 1, "cannot read nowhere"),
        (&[""], 2, "expected the name of a file"),
    ] {
        let mut command = Command::new(env!("CARGO_BIN_EXE_xtask"));
        let command = command.arg("import").args(arguments);
        let done = command.current_dir(folder.path()).output().unwrap();
        let said = String::from_utf8_lossy(&done.stderr);
        assert_eq!(done.status.code(), Some(code), "{arguments:?}: {said}");
        assert!(said.contains(words), "{arguments:?}: {said}");
    }
}
