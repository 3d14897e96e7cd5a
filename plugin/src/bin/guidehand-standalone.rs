//! Guidehand without a host, for players who have none: it plays its chart from the
//! start, sends MIDI, and shows the panel, on JACK or the system's own sound. `--help`
//! lists its options. Imports the plugin.

use std::process::ExitCode;

fn main() -> ExitCode {
    guidehand::run_program(std::env::args())
}
