//! Sessions of the editor's size and of the chord in hand, each on a screen and in a process of its own, because the editor
//! looks for the screen in the environment. Imports `setup` and `workspace`; only `soak` imports it.
//! Linux only.

use std::env;
use std::path::Path;
use std::process::Command;

use anyhow::{Result, anyhow, ensure};
use guidehand_tests::Library;
use guidehand_tests::screen::Screen;
use guidehand_tests::soak::{handled, resized};

use crate::setup;
use crate::workspace::Workspace;

/// Plays so many sessions, with ascending seeds.
pub fn soak(workspace: &Workspace, library: &Path, first_seed: u64, sessions: u64) -> Result<()> {
    if sessions > 0 {
        setup::ensure_packages(&workspace.shell, setup::SCREEN)?;
    }
    for seed in (first_seed..).take(usize::try_from(sessions)?) {
        let screen = Screen::start()?;
        let status = Command::new(env::current_exe()?)
            .args(["soak", "--seed", &seed.to_string(), "--in-a-window"])
            .arg(library)
            .envs(screen.variables())
            .status()?;
        ensure!(status.success(), "in a window, seed {seed}: {status}");
    }
    Ok(())
}

/// Plays one session of each kind on the display of the environment.
pub fn play(library: &Path, seed: u64) -> Result<()> {
    let library = Library::open(library)?;
    let played = resized::survive(&library, seed);
    let sizes = played.map_err(|fault| anyhow!("seed {seed}: {fault}"))?;
    println!("the editor has taken another size {sizes} times, seed {seed}");
    let played = handled::survive(&library, seed);
    let notes = played.map_err(|fault| anyhow!("the chord in hand, seed {seed}: {fault}"))?;
    println!("clicks on the chord in hand have sounded {notes} notes, seed {seed}");
    Ok(())
}
