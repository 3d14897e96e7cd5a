//! `cargo xtask parameters`: writes the table of parameters into the README, from the built
//! plugin. It imports `build`, `command`, `outputs` and `workspace`; only `main` imports it.

use anyhow::{Context, Result};
use guidehand_tests::Host;
use guidehand_tests::parameters;
use guidehand_tests::paths::PLUGIN_ID;

use crate::build;
use crate::command::{self, Command};
use crate::outputs;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "parameters",
    arguments: "",
    summary: "write the table of parameters in the README anew",
    read: |parser| {
        command::nothing_more(parser)?;
        Ok(Box::new(run))
    },
};

fn run() -> Result<()> {
    let clap = build::release_plugin()?.clap;
    let table = parameters::table(&mut Host::open(&clap, PLUGIN_ID)?)?;
    let path = Workspace::locate()?.shell.current_dir().join("README.md");
    let readme = std::fs::read_to_string(&path)?;
    let readme = parameters::within(&readme, &table).context("README.md lost the table's marks")?;
    outputs::save(&path, readme.into_bytes())?;
    print!("{table}");
    Ok(())
}
