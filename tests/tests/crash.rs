//! Tests that could end the whole process run in a process of their own: the control of the
//! allocation check, and threads that outlive a library.
//!
//! Those processes run the ignored tests. Run directly, these pass too.

use crate::host::{RATE_HZ, passthrough};
use guidehand_tests::{Session, paths, render};
use std::process::Command;
use std::{env, thread};

/// Enough rounds to catch a library that is unloaded too early: the last host must end while
/// another thread is ending.
const ROUNDS: u32 = 200;

/// An ignored test of this module, to be run in a process of its own.
fn alone(test: &str) -> Command {
    let mut command = Command::new(env::current_exe().unwrap());
    command
        .args(["--exact", &format!("crash::{test}")])
        .args(["--ignored", "--nocapture"]);
    command
}

/// Fails unless the test ran in its process and passed.
fn expect_pass(test: &str) {
    let output = alone(test).output().unwrap();
    let words = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{}: {words}", output.status);
    assert!(words.contains("1 passed"), "{test} did not run: {words}");
}

#[test]
#[ignore = "runs in a process of its own"]
fn play_a_note() {
    let mut session = Session::new(RATE_HZ, 120.0, 1_000);
    session.note(10, 500, 60);
    let performance = render(&mut passthrough(), &session).unwrap();
    assert_eq!(performance.events, session.events);
}

#[test]
fn a_planted_allocation_aborts() {
    let mut note = alone("play_a_note");
    let output = note.env(paths::PLANTED_ALLOCATION, "1").output().unwrap();
    let words = String::from_utf8_lossy(&output.stderr);
    assert!(!output.status.success(), "the allocation went unnoticed");
    assert!(
        words.contains("memory allocation of 8 bytes failed"),
        "{words}"
    );
}

#[test]
fn without_the_allocation_the_note_plays() {
    expect_pass("play_a_note");
}

#[test]
#[ignore = "runs in a process of its own"]
fn end_threads_while_others_drop_their_hosts() {
    for _ in 0..ROUNDS {
        let threads: Vec<_> = (0..4)
            .map(|_| thread::spawn(|| drop(passthrough())))
            .collect();
        for thread in threads {
            thread.join().unwrap();
        }
    }
}

#[test]
fn a_library_outlives_the_threads_that_used_it() {
    expect_pass("end_threads_while_others_drop_their_hosts");
}
