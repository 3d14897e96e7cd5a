//! Commands as scripts use them: what they take, what they print, and with which exit code they end.

use std::fs;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

/// Runs a command to its end, with a text at its standard input.
fn run_with(input: &str, arguments: &[&str]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_xtask"))
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let input = input.to_owned();
    // A command that refuses its arguments does not read its input.
    let writer = std::thread::spawn(move || drop(stdin.write_all(input.as_bytes())));
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap();
    output
}

fn run(arguments: &[&str]) -> Output {
    run_with("", arguments)
}

fn printed(output: &Output) -> String {
    assert!(output.status.success(), "{}", said(output));
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A file of this test program.
fn file(name: &str, text: &str) -> PathBuf {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::write(&path, text).unwrap();
    path
}

/// What cannot be understood ends with 2, what cannot be done with 1 (common practice, no published
/// source).
#[test]
fn the_exit_code_tells_what_is_not_understood_from_what_fails() {
    let nowhere = std::env::temp_dir().join("no folder/no file.txt");
    let nowhere = nowhere.to_str().unwrap();
    let latin = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("latin.txt");
    fs::write(&latin, b"| C\xe97 |").unwrap();
    let latin = latin.to_str().unwrap();
    for (arguments, code, words) in [
        (&["read", "F3 A3 C4"][..], 0, ""),
        (&["practice", "| C6 |"], 0, ""),
        (&[], 2, "usage"),
        (&["red"], 2, "no command 'red'"),
        (&["read", "F3"], 2, "at least two notes"),
        (&["read", "F3 A3", "--key", "E#"], 2, "11 sharps"),
        (&["read", "F3 A3", "--key", "Fb minor"], 2, "E minor"),
        (&["dress", "G7", "--after", "Dm7"], 0, ""),
        (&["dress"], 2, "a chord is missing"),
        (&["dress", "H7"], 2, "B7"),
        (&["dress", "G7", "--form", "C"], 2, "expected A or B"),
        (&["dress", "G7", "--before", "Cmajj"], 2, "Cmajj"),
        (&["dress", "G7", "--key", "E#"], 2, "11 sharps"),
        (&["judge", "G7", "F3 A3 B3 E4"], 0, ""),
        (&["judge", "G7", "C2"], 0, ""),
        (&["judge", "G7"], 2, "an answer is missing"),
        (&["judge", "H7", "F3"], 2, "B7"),
        (&["judge", "G7", "F3 A"], 2, "note 2: \"A\" is no note"),
        (
            &[
                "judge",
                "Cmaj7",
                "E3",
                "--texture",
                "fourths",
                "--position",
                "a",
            ],
            2,
            "no voicing in the A form in the texture quartal",
        ),
        (&["comp"], 2, "a chart is missing"),
        (&["comp", "| H7 |"], 2, "H7"),
        (&["comp", "| C6 |", "--mid", ""], 2, "the name of a file"),
        (&["comp", "| C6 |", "--musicxml="], 2, "the name of a file"),
        (&["comp", "| C6 |", "--wav", ""], 2, "the name of a file"),
        (&["comp", "| C6 |", "--file", "chart.txt"], 2, "--file"),
        (&["practice", "| H7 |"], 2, "H7"),
        (&["practice", ""], 2, "no chords"),
        (&["practice", "| C6 |", "--seed", "x"], 2, "a whole number"),
        (&["practice", "Dm7", "G7"], 2, "a second chart, \"G7\""),
        (&["help", "comp", "more"], 2, "unexpected argument"),
        (
            &["practice", "| C6 |", "--mid", ""],
            2,
            "the name of a file",
        ),
        (&["practice", "--file", latin], 2, "UTF-8"),
        (&["practice", "--file", nowhere], 1, "cannot read"),
        (
            &["practice", "| C6 |", "--mid", "/dev/null/a.mid"],
            1,
            "cannot make /dev/null",
        ),
        (&["help", "red"], 2, "no command 'red'"),
    ] {
        let output = run(arguments);
        let said = said(&output);
        assert_eq!(output.status.code(), Some(code), "{arguments:?}: {said}");
        assert!(said.contains(words), "{arguments:?}: {said}");
    }
}

/// Long charts: 20,001 bars, a mistake far to the right, and one that is long itself.
#[test]
fn what_is_wrong_in_a_long_line_is_shown_in_a_short_one() {
    let bars = "C|".repeat(20_001);
    let far = format!("{}| H7 | C6 |", "| C6 ".repeat(14_000));
    let long = format!("| C6 | {} | C6 |", "H".repeat(70_000));
    for (text, words) in [
        (&bars, "at most 20000"),
        (&far, "... C6 | C6"),
        (&far, "H7 | C6 |\n"),
        (&long, "| C6 | HHH"),
    ] {
        let output = run(&["practice", text]);
        let said = said(&output);
        assert_eq!(
            output.status.code(),
            Some(2),
            "{}",
            &said[..said.len().min(500)]
        );
        assert!(said.contains(words), "{said}");
        assert!(said.contains('^') && said.lines().all(|line| line.chars().count() < 500));
    }
}

#[test]
fn charts_come_as_an_argument_from_a_file_and_from_the_standard_input() {
    let chart = "Low Tide\n|: Dm7 | G7 :|\n| Cmaj7 | % |\n";
    let sheet = printed(&run(&["practice", chart]));
    let path = file("low-tide.txt", chart);
    let path = path.to_str().unwrap();
    assert_eq!(printed(&run(&["practice", "--file", path])), sheet);
    assert_eq!(
        printed(&run(&["practice", &format!("--file={path}")])),
        sheet
    );
    assert_eq!(printed(&run_with(chart, &["practice", "-"])), sheet);
    assert_eq!(
        printed(&run_with(chart, &["practice", "--file", "-"])),
        sheet
    );
    // Windows, and a mark of the byte order.
    let windows = format!("\u{feff}{}", chart.replace('\n', "\r\n"));
    assert_eq!(printed(&run_with(&windows, &["practice", "-"])), sheet);
    let output = run_with("| H7 |", &["practice", "-"]);
    assert!(said(&output).contains("H7"), "{}", said(&output));
    for chart in [
        &["-", "| C6 |"][..],
        &["| C6 |", "-"],
        &["--file", path, "-"],
    ] {
        let output = run(&[&["practice"], chart].concat());
        assert_eq!(output.status.code(), Some(2), "{chart:?}");
    }
}

#[test]
fn help_is_given_for_one_command() {
    let help = printed(&run(&["practice", "--help"]));
    assert!(help.starts_with("cargo xtask practice "), "{help}");
    assert!(help.contains("--order"), "{help}");
    assert_eq!(printed(&run(&["help", "practice"])), help);
    assert_eq!(printed(&run(&["practice", "-h"])), help);
    assert_eq!(printed(&run(&["help"])), printed(&run(&["--help"])));
    let all = printed(&run(&["help"]));
    assert!(all.contains("\n  read "), "{all}");
    let long = printed(&run(&["help", "comp"]));
    for line in all.lines().chain(long.lines()) {
        assert!(line.chars().count() <= 100, "{line}");
    }
}
