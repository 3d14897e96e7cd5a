//! Guidehand without a host, for players who have none: it plays its chart from the
//! start, sends MIDI, and shows the panel, on JACK or the system's own sound. The
//! framework does all of it; `--help` lists its options. Imports the plugin.

use std::process::ExitCode;

fn main() -> ExitCode {
    if nice_plug::prelude::nice_export_standalone::<guidehand::Guidehand>() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
