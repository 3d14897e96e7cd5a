//! `cargo xtask soak`: plays random sessions on the built plugin until a number of blocks has been
//! played, some more by a rude VST3 host, and some in windows, then fuzzes texts and files
//! for a while. It imports `build`, `command`, `fuzz` and `workspace`; only `main` imports it.

#[cfg(target_os = "linux")]
mod windows;

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use anyhow::{Result, anyhow};
use guidehand_tests::Library;
use guidehand_tests::soak::{self, CHECKS};
use guidehand_tests::vst3::{Module, bundle, rude};
use lexopt::prelude::*;

use crate::build;
use crate::command::{self, Command};
use crate::fuzz;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "soak",
    arguments: "[--blocks N] [--seed S] [--windows N] [--seconds N]",
    summary: "play random sessions, a million blocks unless told otherwise, resize the editor and click in it in N windows, and fuzz the importers",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

/// How often progress is printed.
const EVERY: Duration = Duration::from_secs(10);

#[derive(Debug, PartialEq, Eq)]
struct Arguments {
    blocks: u64,
    /// The first session's seed; the others count up from it.
    seed: u64,
    /// How many sessions of the editor's size are played, each on a screen of its own; 0 for none.
    windows: u64,
    /// Plays such a session on the display of the environment, and nothing else.
    window: Option<PathBuf>,
    /// How long each importer and the text of charts is fuzzed; 0 for not at all.
    seconds: u32,
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut arguments = Arguments {
        blocks: 1_000_000,
        seed: 1,
        windows: 4,
        window: None,
        seconds: 10,
    };
    while let Some(argument) = parser.next()? {
        match argument {
            Long("blocks") => arguments.blocks = command::number(parser)?,
            Long("seed") => arguments.seed = command::number(parser)?,
            Long("windows") => arguments.windows = command::number(parser)?,
            Long("in-a-window") => arguments.window = Some(parser.value()?.into()),
            Long("seconds") => arguments.seconds = command::number(parser)?,
            other => return Err(other.unexpected()),
        }
    }
    Ok(arguments)
}

fn run(arguments: &Arguments) -> Result<()> {
    #[cfg(target_os = "linux")]
    if let Some(library) = &arguments.window {
        return windows::play(library, arguments.seed);
    }
    let workspace = Workspace::locate()?;
    let path = build::for_soak(&workspace)?;
    let library = Library::open(&path)?;
    let start = Instant::now();
    let mut told = start;
    let counts = soak::soak(&library, arguments.blocks, arguments.seed, |counts| {
        if told.elapsed() >= EVERY {
            told = Instant::now();
            println!("{:4} s: {counts}", start.elapsed().as_secs());
        }
    })?;
    println!("{:4} s: {counts}", start.elapsed().as_secs());
    soak_rude_vst3(&workspace, &path, arguments)?;
    #[cfg(target_os = "linux")]
    windows::soak(&workspace, &path, arguments.seed, arguments.windows)?;
    println!("\nseeds from {}, all passed:", arguments.seed);
    for check in CHECKS {
        println!("- {check}");
    }
    if arguments.seconds > 0 {
        fuzz::texts_and_files(&workspace, arguments.seconds)?;
    }
    Ok(())
}

/// Of a hundred blocks of the soak one more is played in the VST3 build by a rude host.
const RUDE_SHARE: u64 = 100;
/// The number of blocks that one instance plays.
const RUDE_BLOCKS: u32 = 400;

fn soak_rude_vst3(workspace: &Workspace, library: &Path, arguments: &Arguments) -> Result<()> {
    let folder = workspace.target.join("soak");
    let module = Module::open(&bundle::lay_out(library, &folder)?)?;
    let instances = (arguments.blocks / RUDE_SHARE).div_ceil(RUDE_BLOCKS.into());
    let mut notes = 0;
    for seed in (arguments.seed..).take(usize::try_from(instances)?) {
        let played = rude::survive(&module, seed, RUDE_BLOCKS);
        notes += played.map_err(|fault| anyhow!("the rude VST3 host with seed {seed}: {fault}"))?;
    }
    println!("{instances} instances in a rude VST3 host sent {notes} notes");
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arguments(words: &[&str]) -> Result<Arguments, lexopt::Error> {
        read(&mut lexopt::Parser::from_args(words))
    }

    #[test]
    fn takes_blocks_a_seed_and_seconds() {
        let expected = |blocks, seed, seconds| Arguments {
            blocks,
            seed,
            windows: 4,
            window: None,
            seconds,
        };
        assert_eq!(arguments(&[]).unwrap(), expected(1_000_000, 1, 10));
        let words = ["--seed", "7", "--blocks", "500", "--seconds", "0"];
        assert_eq!(arguments(&words).unwrap(), expected(500, 7, 0));
        assert!(arguments(&["--blocks", "many"]).is_err());
        assert!(arguments(&["500"]).is_err());
    }
}
