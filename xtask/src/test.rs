//! `cargo xtask test`: every check that a change must pass, in steps, up to the first failure. It
//! imports `build`, `command`, `setup`, `test_programs` and `workspace`; only `main` imports it.

use std::time::{Duration, Instant};

use anyhow::{Context, Result};
use xshell::cmd;

use crate::build::{self, TEST_FEATURES};
use crate::command::{self, Command};
use crate::setup;
use crate::test_programs;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "test",
    arguments: "",
    summary: "run every check that a change must pass",
    read: |parser| {
        command::nothing_more(parser)?;
        Ok(Box::new(|| run(&STEPS)))
    },
};

/// The feature that opens the panel to its benchmarks.
const FRAME_BENCH: &str = "guidehand/frame_bench";

/// One step of the command: its name in the headlines, and its work.
type TestStep = (&'static str, fn(&Workspace) -> Result<()>);

/// Quick answers first. The tests come last, so that the output ends with their results.
const STEPS: [TestStep; 6] = [
    ("tools", setup::for_tests),
    ("format", format),
    ("lints", lints),
    ("documentation", documentation),
    ("plugins", build::for_tests),
    ("tests", tests),
];

/// Headlines go to standard error, as Cargo's own do: standard output is left to the tests.
fn run(steps: &[TestStep]) -> Result<()> {
    let workspace = Workspace::locate()?;
    let count = steps.len();
    let mut passed = Vec::new();
    for (number, (name, work)) in (1..).zip(steps) {
        eprintln!("\n=== {number} of {count}: {name}");
        let start = Instant::now();
        work(&workspace).with_context(|| format!("step {number} of {count}, {name}, failed"))?;
        passed.push((*name, start.elapsed()));
    }
    eprint!("\n{}", summary(&passed));
    Ok(())
}

fn summary(passed: &[(&str, Duration)]) -> String {
    let seconds = |(name, time): &(&str, Duration)| format!("{name} {} s", time.as_secs());
    let parts: Vec<String> = passed.iter().map(seconds).collect();
    format!(
        "=== all {} steps passed: {}\n",
        passed.len(),
        parts.join(", ")
    )
}

fn format(workspace: &Workspace) -> Result<()> {
    let shell = &workspace.shell;
    cmd!(shell, "cargo fmt --all --check").run()?;
    let guide = "xtask/guide/Cargo.toml";
    Ok(cmd!(shell, "cargo fmt --manifest-path {guide} --check").run()?)
}

/// Checks every target once: those of the workspace, the benchmarks of the panel, which need one
/// more feature, and the fuzz targets.
fn lints(workspace: &Workspace) -> Result<()> {
    let shell = &workspace.shell;
    let deny = ["--", "-D", "warnings"];
    let features = ["--locked", "--features", TEST_FEATURES];
    cmd!(
        shell,
        "cargo clippy --workspace --all-targets {features...} {deny...}"
    )
    .run()?;
    let features = [&features[..], &["--features", FRAME_BENCH]].concat();
    cmd!(
        shell,
        "cargo clippy --workspace --bench frame --bench keystroke {features...} {deny...}"
    )
    .run()?;
    let target = &workspace.target;
    cmd!(
        shell,
        "cargo clippy --manifest-path tests/fuzz/Cargo.toml --features plugin --locked --target-dir {target} {deny...}"
    )
    // Nothing is linked, so the fuzzer's own C++ need not be compiled.
    .env("CUSTOM_LIBFUZZER_PATH", "nowhere/libfuzzer.a")
    .run()?;
    Ok(())
}

fn documentation(workspace: &Workspace) -> Result<()> {
    Ok(cmd!(
        workspace.shell,
        "cargo doc --workspace --no-deps --locked --features {TEST_FEATURES}"
    )
    .env("RUSTDOCFLAGS", "-D warnings")
    .run()?)
}

fn tests(workspace: &Workspace) -> Result<()> {
    let libraries = build::under_test(workspace);
    for (name, path) in libraries.variables() {
        eprintln!("{name}={}", path.display());
    }
    let variables: Vec<_> = libraries.variables().collect();
    test_programs::run(workspace, TEST_FEATURES, &variables)?;
    Ok(cmd!(
        workspace.shell,
        "cargo test --workspace --doc --locked --features {TEST_FEATURES}"
    )
    .run()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_failure_ends_the_run_and_is_named() {
        let steps: [TestStep; 3] = [
            ("first", |_| Ok(())),
            ("second", |_| anyhow::bail!("as planned")),
            ("third", |_| panic!("this step comes after a failure")),
        ];
        let error = run(&steps).unwrap_err();
        assert_eq!(
            format!("{error:#}"),
            "step 2 of 3, second, failed: as planned"
        );
    }

    #[test]
    fn the_summary_names_each_step_and_its_time() {
        let passed = [
            ("format", Duration::from_millis(900)),
            ("tests", Duration::from_secs(61)),
        ];
        assert_eq!(
            summary(&passed),
            "=== all 2 steps passed: format 0 s, tests 61 s\n"
        );
    }
}
