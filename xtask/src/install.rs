//! `cargo xtask install`: the release build, copied to where hosts look for plug-ins. It imports
//! `build`, `command` and `folders`; only `main` imports it.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use fs_extra::dir::CopyOptions;

use crate::build::{self, Bundles};
use crate::command::Command;
use crate::folders;

/// The command.
pub const COMMAND: Command = Command {
    name: "install",
    arguments: "[--to DIR]",
    summary: "build for release and copy both bundles into your plug-in folders, or into DIR",
    read: |parser| {
        let destination = folders::read(parser)?;
        Ok(Box::new(move || {
            let places = folders::places(&destination)?;
            copy(&build::release_plugin()?, &places)
        }))
    },
};

fn copy(from: &Bundles, to: &Bundles) -> Result<()> {
    replace(&from.clap, &to.clap)?;
    replace(&from.vst3, &to.vst3)
}

/// Copies a bundle, and replaces an older one of the same name.
fn replace(from: &Path, to: &Path) -> Result<()> {
    let folder = to.parent().context("a bundle lies in a folder")?;
    fs::create_dir_all(folder).with_context(|| format!("cannot create {}", folder.display()))?;
    // A host may have loaded the old bundle. If the file is removed, that host keeps it; if it is
    // overwritten in place, the host crashes. Removing also leaves no old files in a directory.
    build::remove(to)?;
    fs_extra::copy_items(&[from], folder, &CopyOptions::new())
        .with_context(|| format!("cannot copy {} into {}", from.display(), folder.display()))?;
    println!("installed {}", to.display());
    Ok(())
}

#[cfg(test)]
mod tests {
    use xshell::Shell;

    use super::*;

    /// Bundles as they look on Linux: a file, and a directory with the library deep inside.
    fn bundles(shell: &Shell, directory: &Path, library: &str) -> Bundles {
        let bundles = Bundles::within(directory);
        let inner = bundles.vst3.join("Contents").join(library);
        shell.write_file(&bundles.clap, library).unwrap();
        shell.write_file(inner, library).unwrap();
        bundles
    }

    #[test]
    fn the_new_replaces_the_old_whole() {
        let shell = Shell::new().unwrap();
        let temporary = shell.create_temp_dir().unwrap();
        let old = bundles(&shell, &temporary.path().join("old"), "old.so");
        let new = bundles(&shell, &temporary.path().join("new"), "new.so");
        let to = Bundles::within(&temporary.path().join("not yet").join("there"));

        copy(&old, &to).unwrap();
        assert_eq!(shell.read_file(&to.clap).unwrap(), "old.so");
        copy(&new, &to).unwrap();

        assert_eq!(shell.read_file(&to.clap).unwrap(), "new.so");
        let inside = to.vst3.join("Contents");
        let held = shell.read_dir(&inside).unwrap();
        assert_eq!(held, [inside.join("new.so")], "no old file lingers");
        assert_eq!(shell.read_file(&held[0]).unwrap(), "new.so");
    }

    #[test]
    #[cfg(unix)]
    fn a_link_is_replaced_and_what_it_points_to_is_left_alone() {
        let shell = Shell::new().unwrap();
        let temporary = shell.create_temp_dir().unwrap();
        let built = bundles(&shell, &temporary.path().join("built"), "built.so");
        let to = Bundles::within(temporary.path());
        let linked = temporary.path().join("linked");
        shell.create_dir(&linked).unwrap();
        std::os::unix::fs::symlink(&linked, &to.vst3).unwrap();

        copy(&built, &to).unwrap();

        assert!(!to.vst3.is_symlink());
        assert_eq!(shell.read_dir(&linked).unwrap().len(), 0);
    }
}
