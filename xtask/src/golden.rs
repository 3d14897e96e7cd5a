//! `cargo xtask golden`: writes the golden performances anew, after a change that is meant to be
//! heard. It imports `build`, `command`, `outputs` and `workspace`; only `main` imports it.

use anyhow::Result;
use guidehand_tests::golden;

use crate::build;
use crate::command::{self, Command};
use crate::outputs::Outputs;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "golden",
    arguments: "",
    summary: "write the golden performances in tests/data/golden anew",
    read: |parser| {
        command::nothing_more(parser)?;
        Ok(Box::new(run))
    },
};

fn run() -> Result<()> {
    let clap = build::release_plugin()?.clap;
    let folder = Workspace::locate()?
        .shell
        .current_dir()
        .join("tests/data/golden");
    let mut outputs = Outputs::default();
    let mut paths = Vec::new();
    for performance in golden::all() {
        let path = folder.join(performance.file_name());
        let bytes = performance.render(&clap)?;
        outputs.add(&path, bytes);
        paths.push(path);
    }
    outputs.write()?;
    for path in paths {
        println!("{}", path.display());
    }
    Ok(())
}
