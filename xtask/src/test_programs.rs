//! Runs the test programs that Cargo builds, several at the same time: many tests of the plugin
//! wait for a window or for music in real time, and others can compute meanwhile.
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

/// The number of programs that run at the same time: one for each of two cores, and the windows,
/// which mostly wait.
const AT_ONCE: usize = 3;

/// The number of tests of one program that run at the same time on each core. Many of them wait.
const TESTS_FOR_EACH_CORE: usize = 3;

/// The program that takes longest, by the folder of its package and its target. It runs first, and in
/// two parts, so that its windows do not come last.
const LONGEST: &str = "tests/guidehand";

/// The parts of the longest program, as arguments.
const PARTS: [&[&str]; 2] = [&["window::"], &["--skip", "window::"]];

/// A test program.
#[derive(Clone)]
struct TestProgram {
    /// The folder of its package within the workspace, and its target.
    name: String,
    file: PathBuf,
    /// The folder of its package, in which it runs, as under Cargo.
    folder: PathBuf,
    /// Which of its tests run; empty for all.
    arguments: &'static [&'static str],
}

impl TestProgram {
    /// The program as it runs: whole, or in parts.
    fn parts(self) -> Vec<TestProgram> {
        if self.name != LONGEST {
            return vec![self];
        }
        let part = |arguments: &&'static [&'static str]| TestProgram {
            arguments,
            ..self.clone()
        };
        PARTS.iter().map(part).collect()
    }
}

/// Builds the programs with these features and runs all of them, even after a failure.
///
/// Fails if a program cannot be built or a test fails, and names all programs that failed.
pub fn run(workspace: &Workspace, features: &str, variables: &[(&str, &Path)]) -> Result<()> {
    let programs = build(workspace, features)?;
    let parts = programs.into_iter().flat_map(TestProgram::parts);
    let mut programs: Vec<TestProgram> = parts.collect();
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
                .args(program.arguments)
                .current_dir(&program.folder)
                .envs(variables.iter().copied())
                .env("RUST_TEST_THREADS", &tests_at_once);
            let (passed, words) = output(command)?;
            let label = [&[program.name.as_str()], program.arguments].concat();
            print!("\n--- {}\n{words}", label.join(" "));
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

/// Runs a program to its end. Returns whether it succeeded, and everything that it printed.
fn output(mut command: Command) -> Result<(bool, String)> {
    let (mut reader, writer) = io::pipe()?;
    let mut child = command
        .stdin(Stdio::null())
        .stdout(writer.try_clone()?)
        .stderr(writer)
        .spawn()
        .with_context(|| format!("cannot start {command:?}"))?;
    // The command holds the writing end of the pipe. As long as it lives, reading never ends.
    drop(command);
    let mut words = Vec::new();
    reader.read_to_end(&mut words)?;
    let passed = child.wait()?.success();
    Ok((passed, String::from_utf8_lossy(&words).into_owned()))
}

fn build(workspace: &Workspace, features: &str) -> Result<Vec<TestProgram>> {
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
        programs.push(TestProgram {
            name: within.join(&artifact.target.name).into_string(),
            file: file.into(),
            folder: folder.into(),
            arguments: &[],
        });
    }
    ensure!(child.wait()?.success(), "the tests cannot be built");
    Ok(programs)
}
