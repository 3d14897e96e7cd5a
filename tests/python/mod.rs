//! Python environments with the programs of others that tests and benchmarks ask. Each is made of
//! a pinned list under Cargo's target directory where it is missing. The tests of the exchange,
//! the tests of the plugin and the project's commands include this file; it imports nothing of
//! ours.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::Command;

/// What the tests ask: mido, music21 and the W3C's schema for files, pedalboard for the VST3
/// build. The schema lies in `musicxml`, and what it imports in `xmlschema`.
const FOR_TESTS: [&str; 7] = [
    "lxml==6.1.3",
    "mido==1.3.3",
    "music21==10.5.1",
    "musicxml==1.6.3",
    "numpy==2.4.6",
    "pedalboard==0.9.26",
    "xmlschema==4.3.2",
];

/// The Python of the tests; its first use takes minutes and some 390 MB.
///
/// # Panics
/// As [`environment`].
pub fn for_tests(target: &Path) -> PathBuf {
    environment(target, "tests", &FOR_TESTS)
}

/// The Python of the environment of a name, which holds what `pins` list.
///
/// # Panics
/// If there is no Python 3 with `venv`, or a package cannot be installed.
pub fn environment(target: &Path, name: &str, pins: &[&str]) -> PathBuf {
    let folder = target.join("python").join(name);
    fs::create_dir_all(&folder).unwrap();
    // Only one of several test programs sets it up.
    let lock = File::create(folder.join("lock")).unwrap();
    lock.lock().unwrap();
    let done = folder.join("pins.txt");
    let pins_text = pins.join("\n");
    let (system, programs) = if cfg!(windows) {
        ("python", "Scripts")
    } else {
        ("python3", "bin")
    };
    let python = folder.join("venv").join(programs).join("python");
    if fs::read_to_string(&done).ok().as_deref() != Some(&pins_text) {
        run(Command::new(system)
            .args(["-m", "venv", "--clear", "venv"])
            .current_dir(&folder));
        run(Command::new(&python)
            .args(["-m", "pip", "install", "--quiet"])
            .arg("--disable-pip-version-check")
            .args(pins));
        fs::write(&done, pins_text).unwrap();
    }
    python
}

/// What a program prints.
///
/// # Panics
/// If it cannot be started or fails.
pub fn run(command: &mut Command) -> String {
    let output = command
        .output()
        .unwrap_or_else(|error| panic!("{command:?}: {error}"));
    let errors = String::from_utf8_lossy(&output.stderr);
    let status = output.status;
    assert!(status.success(), "{command:?}: {status}\n{errors}");
    String::from_utf8(output.stdout).unwrap()
}
