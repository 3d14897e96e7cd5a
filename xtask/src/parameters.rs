//! `cargo xtask parameters`: writes the table of parameters into the guide, from the built
//! plugin. It imports `build`, `command`, `outputs` and `workspace`; only `main` imports it.

use anyhow::{Context, Result};
use guidehand_tests::Host;
use guidehand_tests::guide;
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
    summary: "write the table of parameters in the guide anew",
    read: |parser| {
        command::nothing_more(parser)?;
        Ok(Box::new(run))
    },
};

fn run() -> Result<()> {
    let clap = build::release_plugin()?.clap;
    let table = parameters::table(&mut Host::open(&clap, PLUGIN_ID)?)?;
    let chapter = guide::chapter(parameters::CHAPTER)?;
    let path = Workspace::locate()?.shell.current_dir().join(chapter.path);
    let text = parameters::within(&chapter.text, &table)
        .with_context(|| format!("{} lost the table's marks", path.display()))?;
    outputs::save(&path, text.into_bytes())?;
    print!("{table}");
    Ok(())
}
