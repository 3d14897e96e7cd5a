//! `cargo xtask audit`: checks the licences and sources of everything in the plugin, and whether a
//! locked crate has a known defect or was withdrawn. It imports `command`, `licences` and
//! `workspace`; only `main` imports it.

use anyhow::{Context, Result};
use lexopt::prelude::*;
use xshell::cmd;

use crate::command::Command;
use crate::licences;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "audit",
    arguments: "[--advisories]",
    summary: "check licences and sources of all dependencies; with --advisories known defects too, from the network",
    read: |parser| {
        let advisories = read(parser)?;
        Ok(Box::new(move || run(advisories)))
    },
};

fn read(parser: &mut lexopt::Parser) -> Result<bool, lexopt::Error> {
    let mut advisories = false;
    while let Some(argument) = parser.next()? {
        match argument {
            Long("advisories") => advisories = true,
            other => return Err(other.unexpected()),
        }
    }
    Ok(advisories)
}

fn run(advisories: bool) -> Result<()> {
    let workspace = Workspace::locate()?;
    let crates = licences::linked_crates(&workspace, "guidehand")?;
    println!(
        "{} crates in the plugin, all from the registry, all under accepted licences",
        crates.len()
    );
    if advisories {
        cmd!(workspace.shell, "cargo deny --locked check advisories")
            .run()
            .context("this needs cargo-deny (cargo install cargo-deny --locked) and the network")?;
    }
    Ok(())
}
