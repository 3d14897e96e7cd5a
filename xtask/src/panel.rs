//! `cargo xtask panel`: pictures of the plugin's panel, drawn by the built plugin on an invisible
//! screen. It imports `build`, `command`, `setup` and `workspace`; only `main` imports it.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process;

use anyhow::{Context, Result, anyhow, ensure};
use guidehand_tests::scene::{self, SCENES};
use guidehand_tests::screen::Screen;
use lexopt::prelude::*;

use crate::build;
use crate::command::{self, Command};
use crate::setup;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "panel",
    arguments: "[--out DIR] [--plugin CLAP]",
    summary: "draw the panel into pictures; with --plugin that plugin's panel, on the display in use",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

#[derive(Debug, Default, PartialEq, Eq)]
struct Arguments {
    out: Option<PathBuf>,
    plugin: Option<PathBuf>,
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut arguments = Arguments::default();
    while let Some(argument) = parser.next()? {
        match argument {
            Long("out") => arguments.out = Some(command::file(parser)?),
            Long("plugin") => arguments.plugin = Some(command::file(parser)?),
            other => return Err(other.unexpected()),
        }
    }
    Ok(arguments)
}

fn run(arguments: &Arguments) -> Result<()> {
    let workspace = Workspace::locate()?;
    let out = match &arguments.out {
        Some(out) => out.clone(),
        None => workspace.target.join("panel"),
    };
    fs::create_dir_all(&out).with_context(|| format!("cannot create {}", out.display()))?;
    match &arguments.plugin {
        Some(plugin) => draw(plugin, &out),
        None => {
            setup::ensure_packages(&workspace.shell, setup::SCREEN)?;
            draw_unseen(&build::release_plugin()?.clap, &out)
        }
    }
}

/// Runs this command again in a process whose environment names the screen.
fn draw_unseen(plugin: &Path, out: &Path) -> Result<()> {
    let screen = Screen::start().context("cannot start a virtual screen")?;
    let status = process::Command::new(env::current_exe()?)
        .arg(COMMAND.name)
        .args(["--out".as_ref(), out.as_os_str()])
        .args(["--plugin".as_ref(), plugin.as_os_str()])
        .envs(screen.variables())
        .status()?;
    ensure!(status.success(), "no pictures were drawn: {status}");
    Ok(())
}

fn draw(plugin: &Path, out: &Path) -> Result<()> {
    for scene in &SCENES {
        let path = out.join(scene.name).with_extension("png");
        scene::picture(plugin, scene)
            .and_then(|picture| picture.save(&path))
            .map_err(|error| anyhow!("the picture {} failed: {error}", scene.name))?;
        println!("{}", path.display());
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arguments(words: &[&str]) -> Result<Arguments, String> {
        read(&mut lexopt::Parser::from_args(words)).map_err(|error| error.to_string())
    }

    #[test]
    fn both_options_take_a_path() {
        let read = arguments(&["--out", "a", "--plugin", "b.clap"]);
        let wanted = Arguments {
            out: Some("a".into()),
            plugin: Some("b.clap".into()),
        };
        assert_eq!(read, Ok(wanted));
        assert_eq!(arguments(&[]), Ok(Arguments::default()));
        assert!(arguments(&["--out"]).is_err());
        assert!(arguments(&["roots"]).is_err());
    }
}
