//! Where the workspace and its build results lie, and a shell that stands in its root. It imports
//! no other file of this crate; every command imports it.

use std::env::consts::{DLL_PREFIX, DLL_SUFFIX, EXE_SUFFIX};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use cargo_metadata::MetadataCommand;
use xshell::Shell;

/// The directory of this crate, where `bundler.toml` lies.
pub const XTASK_DIRECTORY: &str = env!("CARGO_MANIFEST_DIR");

/// The workspace on disk.
pub struct Workspace {
    /// Runs commands in the workspace's root, and prints each one before it runs.
    pub shell: Shell,
    /// Cargo's target directory, wherever the user's settings put it; absolute.
    pub target: PathBuf,
}

impl Workspace {
    /// Asks Cargo where things are. Fails when Cargo cannot be run or cannot read the manifests.
    pub fn locate() -> Result<Self> {
        let metadata = MetadataCommand::new()
            .manifest_path(Path::new(XTASK_DIRECTORY).join("Cargo.toml"))
            .no_deps()
            .exec()
            .context("cannot read the workspace's manifests")?;
        let shell = Shell::new()?;
        shell.change_dir(&metadata.workspace_root);
        Ok(Self {
            shell,
            target: metadata.target_directory.into(),
        })
    }

    /// The shared library that Cargo builds from `package` into the target's subdirectory
    /// `directory`, which is `debug` or `release`.
    pub fn library(&self, directory: &str, package: &str) -> PathBuf {
        let stem = package.replace('-', "_");
        self.target
            .join(directory)
            .join(format!("{DLL_PREFIX}{stem}{DLL_SUFFIX}"))
    }

    /// The program that Cargo builds of that name into the target's subdirectory `directory`.
    pub fn program(&self, directory: &str, name: &str) -> PathBuf {
        self.target
            .join(directory)
            .join(format!("{name}{EXE_SUFFIX}"))
    }
}
