//! Builds of the plugin: the bundles that users install, and the bare libraries that tests and
//! benchmarks load. It imports `workspace`; the commands import it.

use std::env;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, ensure};
use xshell::cmd;

use crate::workspace::{Workspace, XTASK_DIRECTORY};

/// The package that holds the plugin.
const PLUGIN: &str = "guidehand";
/// The package that holds the plugin which benchmarks compare against.
const PASSTHROUGH: &str = "guidehand-passthrough";
/// The bundles' file name without its ending; `bundler.toml` gives the same to the bundler.
const BUNDLE_NAME: &str = "Guidehand";

/// The program that needs no host.
const STANDALONE: &str = "guidehand-standalone";

/// Features of every build that tests run against: any allocation inside `process` aborts, and the
/// program without a host is built.
///
/// All steps of `cargo xtask test` name the same features and packages, so that the dependencies
/// are compiled once rather than once a step.
pub const TEST_FEATURES: &str = "guidehand/assert_process_allocs,\
    guidehand-passthrough/assert_process_allocs,guidehand/standalone";

/// How much the compiler optimises.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Profile {
    /// Quick to build, with debug assertions.
    Dev,
    /// What users run.
    Release,
}

/// The plugin in the layouts that hosts load. Each is a file or a directory, as the platform
/// wants it.
pub struct Bundles {
    /// The CLAP bundle, `Guidehand.clap`.
    pub clap: PathBuf,
    /// The VST3 bundle, `Guidehand.vst3`.
    pub vst3: PathBuf,
}

impl Bundles {
    /// The bundles as they are called inside `directory`, whether or not they are there.
    pub fn within(directory: &Path) -> Self {
        Self {
            clap: directory.join(BUNDLE_NAME).with_extension("clap"),
            vst3: directory.join(BUNDLE_NAME).with_extension("vst3"),
        }
    }
}

/// What tests and benchmarks load in our host, or run without one. The paths are absolute.
pub struct Libraries(Vec<(&'static str, PathBuf)>);

impl Libraries {
    /// The environment variable for each, and its path.
    pub fn variables(&self) -> impl Iterator<Item = (&'static str, &Path)> {
        self.0.iter().map(|(name, path)| (*name, path.as_path()))
    }
}

/// Builds the plugin as users run it, and bundles it.
pub fn release_plugin() -> Result<Bundles> {
    bundles(&Workspace::locate()?, Profile::Release)
}

/// Builds the plugin and bundles it into the target directory's `bundled`.
///
/// Fails when it does not compile, or when it exports only one of the two formats.
pub fn bundles(workspace: &Workspace, profile: Profile) -> Result<Bundles> {
    let arguments: &[&str] = match profile {
        Profile::Dev => &["--locked"],
        Profile::Release => &["--locked", "--release"],
    };
    cmd!(workspace.shell, "cargo build -p {PLUGIN} {arguments...}").run()?;

    let bundles = Bundles::within(&workspace.target.join("bundled"));
    // The bundler skips a format that the library does not export: an old bundle would pass for
    // a new one.
    remove(&bundles.clap)?;
    remove(&bundles.vst3)?;
    bundle(&workspace.target, arguments)?;
    for bundle in [&bundles.clap, &bundles.vst3] {
        ensure!(
            bundle.exists(),
            "the plugin exports nothing for {}",
            bundle.display()
        );
    }
    Ok(bundles)
}

/// Runs the bundler in the folder of its settings, and returns to the current directory.
fn bundle(target: &Path, arguments: &[&str]) -> Result<()> {
    let arguments: Vec<String> = arguments.iter().map(ToString::to_string).collect();
    let here = env::current_dir().context("cannot tell the current directory")?;
    // The bundler looks for `bundler.toml` in the current directory and nowhere else.
    env::set_current_dir(XTASK_DIRECTORY)
        .with_context(|| format!("cannot enter {XTASK_DIRECTORY}"))?;
    let bundled = nice_plug_xtask::bundle(target, PLUGIN, &arguments, false);
    env::set_current_dir(&here).with_context(|| format!("cannot enter {}", here.display()))?;
    bundled
}

/// Builds everything that the tests need, the tests themselves included. Copies the plugins to
/// where no later build overwrites them, see [`under_test`].
pub fn for_tests(workspace: &Workspace) -> Result<()> {
    // `--tests` adds the tests' own dependencies, as `cargo test` does later. Without it the window
    // toolkit would be compiled a second time, with other features.
    cmd!(
        workspace.shell,
        "cargo build --workspace --lib --bin {STANDALONE} --tests --locked --features {TEST_FEATURES}"
    )
    .run()?;
    put_aside(workspace, PLUGIN, "guidehand")?;
    put_aside(workspace, PASSTHROUGH, "passthrough")
}

/// What [`for_tests`] leaves for the tests to load.
pub fn under_test(workspace: &Workspace) -> Libraries {
    let aside = |name| aside(workspace, name);
    Libraries(vec![
        ("GUIDEHAND_CLAP", aside("guidehand")),
        ("GUIDEHAND_PASSTHROUGH_CLAP", aside("passthrough")),
        (
            "GUIDEHAND_STANDALONE",
            workspace.program("debug", STANDALONE),
        ),
    ])
}

fn aside(workspace: &Workspace, name: &str) -> PathBuf {
    let directory = workspace.target.join("under-test");
    directory.join(name).with_extension("clap")
}

fn put_aside(workspace: &Workspace, package: &str, name: &str) -> Result<()> {
    let from = workspace.library("debug", package);
    let to = aside(workspace, name);
    // A host that still runs keeps a file that is removed. Overwriting it would crash the host.
    remove(&to)?;
    workspace
        .shell
        .create_dir(workspace.target.join("under-test"))?;
    Ok(workspace.shell.copy_file(from, to)?)
}

/// Builds what the benchmarks load: the plugin as users run it, and the one it is compared with.
pub fn for_benches(workspace: &Workspace) -> Result<Libraries> {
    cmd!(
        workspace.shell,
        "cargo build -p {PLUGIN} -p {PASSTHROUGH} --release --locked"
    )
    .run()?;
    Ok(Libraries(vec![
        ("GUIDEHAND_CLAP", workspace.library("release", PLUGIN)),
        (
            "GUIDEHAND_PASSTHROUGH_CLAP",
            workspace.library("release", PASSTHROUGH),
        ),
    ]))
}

/// Builds the program without a host, and returns its path.
pub fn standalone(workspace: &Workspace, profile: Profile) -> Result<PathBuf> {
    let (directory, arguments): (_, &[&str]) = match profile {
        Profile::Dev => ("debug", &["--locked"]),
        Profile::Release => ("release", &["--locked", "--release"]),
    };
    cmd!(
        workspace.shell,
        "cargo build -p {PLUGIN} --bin {STANDALONE} --features standalone {arguments...}"
    )
    .run()?;
    Ok(workspace.program(directory, STANDALONE))
}

/// Builds the plugin for the soak: optimised as for users, with the tests' assertion on
/// allocations, which needs the debug assertions of this profile.
pub fn for_soak(workspace: &Workspace) -> Result<PathBuf> {
    cmd!(
        workspace.shell,
        "cargo build -p {PLUGIN} --lib --profile soak --locked --features assert_process_allocs"
    )
    .run()?;
    Ok(workspace.library("soak", PLUGIN))
}

/// Removes a file, a link, or a directory with everything in it. Returns whether it was there.
pub fn remove(path: &Path) -> Result<bool> {
    let removed = match fs::symlink_metadata(path) {
        Ok(found) if found.is_dir() => fs::remove_dir_all(path),
        Ok(_) => fs::remove_file(path),
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(false),
        Err(error) => Err(error),
    };
    removed.with_context(|| format!("cannot remove {}", path.display()))?;
    Ok(true)
}
