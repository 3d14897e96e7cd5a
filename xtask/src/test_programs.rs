//! Runs the programs that `cargo test` builds, some at the same time: many tests of the plugin
//! wait for a window or for music that plays in real time, and other programs compute meanwhile.
//! It imports `workspace`; only `test` imports it.

use std::collections::VecDeque;
use std::io::{self, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::thread;

use anyhow::{Context, Result, bail, ensure};
use cargo_metadata::Message;

use crate::workspace::Workspace;

/// Programs that run at the same time.
const AT_ONCE: usize = 2;

/// Tests of one program that run at the same time on each core, since many of them wait.
const TESTS_FOR_EACH_CORE: usize = 3;

/// The program that takes longest, so that it runs first: the folder of its package, and its target.
const LONGEST: &str = "tests/guidehand";

/// A program of tests.
struct Program {
    /// The folder of its package within the workspace, and its target.
    name: String,
    file: PathBuf,
    /// Where it runs, as under Cargo: the folder of its package.
    folder: PathBuf,
}

/// Builds the programs with these features and runs all of them, even after a failure.
///
/// Fails if one cannot be built or fails, and names all that failed.
pub fn run(workspace: &Workspace, features: &str, variables: &[(&str, &Path)]) -> Result<()> {
    let mut programs = build(workspace, features)?;
    programs.sort_by_key(|program| program.name != LONGEST);
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let tests_at_once = (TESTS_FOR_EACH_CORE * cores).to_string();
    let waiting = Mutex::new(VecDeque::from(programs));
    let failed = Mutex::new(Vec::new());
    let next = || waiting.lock().ok()?.pop_front();
    let work = || -> Result<()> {
        while let Some(program) = next() {
            let mut command = Command::new(&program.file);
            command
                .current_dir(&program.folder)
                .envs(variables.iter().copied())
                .env("RUST_TEST_THREADS", &tests_at_once);
            let (passed, words) = output(command)?;
            print!("\n--- {}\n{words}", program.name);
            if !passed && let Ok(mut failed) = failed.lock() {
                failed.push(program.name);
            }
        }
        Ok(())
    };
    thread::scope(|scope| {
        let workers: Vec<_> = (0..AT_ONCE).map(|_| scope.spawn(work)).collect();
        workers.into_iter().try_for_each(|worker| {
            let result = worker.join();
            result.unwrap_or_else(|_| bail!("a thread of this command panicked"))
        })
    })?;
    let failed = failed.into_inner().unwrap_or_default();
    ensure!(failed.is_empty(), "failed: {}", failed.join(", "));
    Ok(())
}

/// Runs a program to its end. Tells whether it succeeded, and all that it printed.
fn output(mut command: Command) -> Result<(bool, String)> {
    let (mut reader, writer) = io::pipe()?;
    let mut child = command
        .stdin(Stdio::null())
        .stdout(writer.try_clone()?)
        .stderr(writer)
        .spawn()
        .with_context(|| format!("cannot start {command:?}"))?;
    // It holds the writing end, and reading would wait for ever.
    drop(command);
    let mut words = Vec::new();
    reader.read_to_end(&mut words)?;
    let passed = child.wait()?.success();
    Ok((passed, String::from_utf8_lossy(&words).into_owned()))
}

fn build(workspace: &Workspace, features: &str) -> Result<Vec<Program>> {
    let root = workspace.shell.current_dir();
    let mut child = Command::new("cargo")
        .args(["test", "--workspace", "--locked", "--no-run"])
        .args(["--features", features])
        .arg("--message-format=json-render-diagnostics")
        .current_dir(&root)
        .stdout(Stdio::piped())
        .spawn()?;
    let messages = child.stdout.take().context("Cargo has an output")?;
    let mut programs = Vec::new();
    for message in Message::parse_stream(BufReader::new(messages)) {
        let Message::CompilerArtifact(artifact) = message? else {
            continue;
        };
        let Some(file) = artifact.executable.filter(|_| artifact.profile.test) else {
            continue;
        };
        let folder = artifact.manifest_path.parent();
        let folder = folder.context("a manifest lies in a folder")?.to_owned();
        let within = folder.strip_prefix(&root).unwrap_or(&folder);
        programs.push(Program {
            name: within.join(&artifact.target.name).into_string(),
            file: file.into(),
            folder: folder.into(),
        });
    }
    ensure!(child.wait()?.success(), "the tests cannot be built");
    Ok(programs)
}
