//! The examples in the README and in the guide are what the commands print.

use std::process::Command;

use guidehand_tests::guide;

/// The words of a command line; quotes hold words together.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (part, quoted) in line.split('"').zip([false, true].into_iter().cycle()) {
        if quoted {
            words.push(part.to_owned());
        } else {
            words.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    words
}

/// Commands behind `$` in a block of code, each with the lines up to the next one.
fn examples() -> Vec<(Vec<String>, String)> {
    let texts = guide::all().unwrap();
    let blocks = texts
        .iter()
        .flat_map(|text| text.text.split("```").skip(1).step_by(2));
    let mut examples: Vec<(Vec<String>, String)> = Vec::new();
    for block in blocks {
        let mut shows = false;
        for line in block.lines().skip(1) {
            if let Some(command) = line.strip_prefix("$ cargo xtask ") {
                examples.push((words(command), String::new()));
                shows = true;
            } else if let (true, Some((_, output))) = (shows, examples.last_mut()) {
                output.push_str(line);
                output.push('\n');
            }
        }
    }
    examples
}

#[test]
fn examples_print_what_is_shown() {
    let examples = examples();
    assert!(examples.len() >= 3, "{examples:?}");
    for (arguments, shown) in examples {
        let output = Command::new(env!("CARGO_BIN_EXE_xtask"))
            .args(&arguments)
            .output()
            .unwrap();
        let printed = String::from_utf8(output.stdout).unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(printed, shown, "{arguments:?}: {said}");
        assert!(output.status.success(), "{arguments:?}: {said}");
    }
}
