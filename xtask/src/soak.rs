//! `cargo xtask soak`: random sessions on the built plugin until so many blocks have been played.
//! It imports `build`, `command` and `workspace`; only `main` imports it.

use std::time::{Duration, Instant};

use anyhow::Result;
use guidehand_tests::Library;
use guidehand_tests::soak::{self, CHECKS};
use lexopt::prelude::*;

use crate::build;
use crate::command::Command;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "soak",
    arguments: "[--blocks N] [--seed S]",
    summary: "play random sessions on the plugin, a million blocks unless N says otherwise",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

/// How often progress is told.
const EVERY: Duration = Duration::from_secs(10);

#[derive(Debug, PartialEq, Eq)]
struct Arguments {
    blocks: u64,
    /// The first session's seed; the others count up from it.
    seed: u64,
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut arguments = Arguments {
        blocks: 1_000_000,
        seed: 1,
    };
    while let Some(argument) = parser.next()? {
        match argument {
            Long("blocks") => arguments.blocks = parser.value()?.parse()?,
            Long("seed") => arguments.seed = parser.value()?.parse()?,
            other => return Err(other.unexpected()),
        }
    }
    Ok(arguments)
}

fn run(arguments: &Arguments) -> Result<()> {
    let workspace = Workspace::locate()?;
    let library = Library::open(&build::for_soak(&workspace)?)?;
    let start = Instant::now();
    let mut told = start;
    let counts = soak::soak(&library, arguments.blocks, arguments.seed, |counts| {
        if told.elapsed() >= EVERY {
            told = Instant::now();
            println!("{:4} s: {counts}", start.elapsed().as_secs());
        }
    })?;
    println!("{:4} s: {counts}", start.elapsed().as_secs());
    println!("\nseeds from {}, all passed:", arguments.seed);
    for check in CHECKS {
        println!("- {check}");
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arguments(words: &[&str]) -> Result<Arguments, lexopt::Error> {
        read(&mut lexopt::Parser::from_args(words))
    }

    #[test]
    fn takes_blocks_and_a_seed() {
        let expected = |blocks, seed| Arguments { blocks, seed };
        assert_eq!(arguments(&[]).unwrap(), expected(1_000_000, 1));
        let words = ["--seed", "7", "--blocks", "500"];
        assert_eq!(arguments(&words).unwrap(), expected(500, 7));
        assert!(arguments(&["--blocks", "many"]).is_err());
        assert!(arguments(&["500"]).is_err());
    }
}
