//! `cargo xtask bench bass`: compares the ear for a bass with other pitch trackers, on the same
//! files. It
//! imports `python` and `workspace`; only `bench` imports it.

use anyhow::{Context, Result};
use xshell::cmd;

use crate::python;
use crate::workspace::Workspace;

/// The tracker from PyPI, at a fixed version.
const LIBROSA: &str = "librosa==0.11.0";

/// Notes for each sound and tempo: as many as take about ten minutes on two quiet cores.
const NOTES: u32 = 96;

/// Runs the benchmark. FluidSynth, its sound fonts and aubio come from the system
/// (Debian: fluidsynth timgm6mb-soundfont fluid-soundfont-gm aubio-tools); librosa goes into an
/// environment of its own under the target directory.
///
/// # Errors
/// Says which program is missing.
pub fn run() -> Result<()> {
    let workspace = Workspace::locate()?;
    let shell = &workspace.shell;
    cmd!(shell, "fluidsynth --version")
        .quiet()
        .ignore_stdout()
        .run()
        .context("no fluidsynth (Debian: fluidsynth timgm6mb-soundfont fluid-soundfont-gm)")?;
    let python = python::environment(&workspace.target, "bass", &[LIBROSA]);
    let notes = NOTES.to_string();
    cmd!(
        shell,
        "cargo bench -p guidehand-bass --bench peers --locked -- --notes {notes}"
    )
    .env("GUIDEHAND_PYTHON", &python)
    .run()?;
    Ok(())
}
