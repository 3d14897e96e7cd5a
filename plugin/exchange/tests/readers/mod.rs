//! The Python environment of the programs that read our music: mido, music21 and the
//! W3C's schema. The tests of the exchange and `cargo xtask bench harmony` share it. Its
//! first use sets it up (some 370 MB, minutes).

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The programs, pinned. The schema lies in `musicxml`, and what it imports in
/// `xmlschema`.
const PINS: [&str; 5] = [
    "lxml==6.1.3",
    "mido==1.3.3",
    "music21==10.5.1",
    "musicxml==1.6.3",
    "xmlschema==4.3.2",
];

/// The Python of the environment, under Cargo's target directory.
pub fn python(target: &Path) -> PathBuf {
    let folder = target.join("exchange-readers");
    let done = folder.join("pins.txt");
    let pins = PINS.join("\n");
    let bin = folder
        .join("venv")
        .join(if cfg!(windows) { "Scripts" } else { "bin" });
    if fs::read_to_string(&done).ok().as_deref() != Some(&pins) {
        fs::create_dir_all(&folder).unwrap();
        let system = if cfg!(windows) { "python" } else { "python3" };
        run(Command::new(system)
            .args(["-m", "venv", "venv"])
            .current_dir(&folder));
        let pip = [
            "-m",
            "pip",
            "install",
            "--quiet",
            "--disable-pip-version-check",
        ];
        run(Command::new(bin.join("python")).args(pip).args(PINS));
        fs::write(&done, pins).unwrap();
    }
    bin.join("python")
}

/// What a program prints, if it succeeds.
pub fn run(command: &mut Command) -> String {
    let output = command
        .output()
        .unwrap_or_else(|error| panic!("{command:?}: {error}"));
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}\n{errors}");
    String::from_utf8(output.stdout).unwrap()
}
