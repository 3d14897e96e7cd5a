//! The commands' output, read by somebody who stops early.

#![cfg(unix)]

use std::io;
use std::os::unix::process::ExitStatusExt as _;
use std::process::Command;

/// The number of SIGPIPE on Linux, macOS and the BSDs.
const SIGPIPE: i32 = 13;

/// POSIX, `write`: whoever writes where nobody reads gets SIGPIPE, which ends a process.
#[test]
fn a_reader_that_has_read_enough_ends_a_command_without_a_word() {
    let (reader, writer) = io::pipe().unwrap();
    drop(reader);
    let output = Command::new(env!("CARGO_BIN_EXE_xtask"))
        .arg("--help")
        .stdout(writer)
        .output()
        .unwrap();
    assert_eq!(output.status.signal(), Some(SIGPIPE), "{}", output.status);
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}
