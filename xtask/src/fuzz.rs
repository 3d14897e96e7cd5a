//! `cargo xtask fuzz`: made-up bytes into every way in, for a while each. It imports `command` and
//! `workspace`; `main` and `soak` import it.
//!
//! The targets lie in `tests/fuzz`, a workspace of its own, and are built with coverage by
//! cargo-fuzz. What they find on the way is kept in the target directory and serves the next run;
//! the corpus of the repository is only read.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail, ensure};
use guidehand_tests::hostile::{Takes, WAYS_IN};
use lexopt::prelude::*;
use xshell::cmd;

use crate::command::Command;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "fuzz",
    arguments: "[--seconds N] [--keep] [TARGET]",
    summary: "make up bytes for each way in, a minute each unless N says otherwise",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

/// The longest input, in bytes: long enough for every form, short enough for many a second.
const LONGEST_INPUT: usize = 8_192;
/// The longest input that is kept in the repository, in bytes.
const LONGEST_KEPT: usize = 512;
/// The longest that one input may take, in seconds.
const LONGEST_SECONDS: u32 = 10;
/// The most memory, in MB.
const MOST_MEMORY_MB: u32 = 2_048;
/// The version of cargo-fuzz that is installed.
const CARGO_FUZZ: &str = "0.13.2";

#[derive(Debug, PartialEq, Eq)]
struct Arguments {
    /// How long each target runs.
    seconds: u32,
    /// Whether short inputs that reach new code go to the corpus of the repository.
    keep: bool,
    target: Option<String>,
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut arguments = Arguments {
        seconds: 60,
        keep: false,
        target: None,
    };
    while let Some(argument) = parser.next()? {
        match argument {
            Long("seconds") => arguments.seconds = parser.value()?.parse()?,
            Long("keep") => arguments.keep = true,
            Value(name) if arguments.target.is_none() => {
                let name = name.string()?;
                if !WAYS_IN.iter().any(|way| way.name == name) {
                    let names = WAYS_IN.map(|way| way.name).join(", ");
                    return Err(format!("no target '{name}'; expected {names}").into());
                }
                arguments.target = Some(name);
            }
            other => return Err(other.unexpected()),
        }
    }
    Ok(arguments)
}

fn run(arguments: &Arguments) -> Result<()> {
    let chosen = |name: &str| arguments.target.as_deref().is_none_or(|one| one == name);
    let ways = WAYS_IN.iter().filter(|way| chosen(way.name));
    let linked = ways.clone().any(|way| !needs_bytes_only(&way.takes));
    let workspace = Workspace::locate()?;
    let fuzzer = Fuzzer::build(&workspace, linked)?;
    for way in ways {
        fuzzer.run(way.name, arguments.seconds)?;
        if arguments.keep {
            fuzzer.keep(way.name)?;
        }
    }
    Ok(())
}

/// Runs every way in that needs no plugin: symbols, charts and files.
///
/// Fails at the first broken promise, and says how to see it again.
pub fn texts_and_files(workspace: &Workspace, seconds: u32) -> Result<()> {
    let fuzzer = Fuzzer::build(workspace, false)?;
    let ways = WAYS_IN.iter();
    for way in ways.filter(|way| needs_bytes_only(&way.takes)) {
        fuzzer.run(way.name, seconds)?;
    }
    Ok(())
}

fn needs_bytes_only(takes: &Takes) -> bool {
    matches!(takes, Takes::Bytes(_))
}

/// The built targets.
struct Fuzzer<'a> {
    workspace: &'a Workspace,
    /// Where the targets are.
    programs: PathBuf,
    /// Where findings and the corpus of earlier runs are.
    found: PathBuf,
}

impl<'a> Fuzzer<'a> {
    /// Builds the targets, with the plugin those that need it; installs cargo-fuzz into the target
    /// directory first if it is not there.
    fn build(workspace: &'a Workspace, with_plugin: bool) -> Result<Self> {
        let shell = &workspace.shell;
        let tools = workspace.target.join("tools");
        let program = tools.join("bin/cargo-fuzz");
        if !program.exists() {
            let version = format!("={CARGO_FUZZ}");
            cmd!(
                shell,
                "cargo install cargo-fuzz --version {version} --locked --root {tools}"
            )
            .run()?;
        }
        let target = workspace.target.join("fuzz");
        // Without a sanitizer nothing of the nightly compiler is needed but the permission.
        let options = ["--sanitizer", "none", "--codegen-units", "16"];
        let plugin: &[&str] = if with_plugin {
            &["--features", "plugin"]
        } else {
            &[]
        };
        cmd!(
            shell,
            "{program} build --fuzz-dir tests/fuzz {options...} {plugin...} --target-dir {target}"
        )
        .env("RUSTC_BOOTSTRAP", "1")
        .run()?;
        Ok(Self {
            workspace,
            programs: target.join(host(workspace)?).join("release"),
            found: target.join("found"),
        })
    }

    /// Runs one target for a time.
    fn run(&self, name: &str, seconds: u32) -> Result<()> {
        let (corpus, crashes) = (self.corpus(name), self.found.join(name).join("crashes"));
        for folder in [&corpus, &crashes] {
            fs::create_dir_all(folder)
                .with_context(|| format!("cannot make {}", folder.display()))?;
        }
        let kept = kept(name);
        let program = self.programs.join(name);
        let prefix = format!("-artifact_prefix={}/", crashes.display());
        let limits = [
            format!("-max_total_time={seconds}"),
            format!("-max_len={LONGEST_INPUT}"),
            format!("-timeout={LONGEST_SECONDS}"),
            format!("-rss_limit_mb={MOST_MEMORY_MB}"),
            "-print_final_stats=1".to_owned(),
            "-verbosity=0".to_owned(),
        ];
        let words = dictionary(name);
        let run = cmd!(
            self.workspace.shell,
            "{program} {limits...} {words...} {prefix} {corpus} {kept}"
        );
        if run.run().is_err() {
            bail!("{}", advice(name, &program, &crashes));
        }
        Ok(())
    }

    /// Adds to the repository's corpus what reaches new code and is short.
    fn keep(&self, name: &str) -> Result<()> {
        let (corpus, kept, program) = (self.corpus(name), kept(name), self.programs.join(name));
        // Few files that together reach what all do; how often code runs does not count.
        let few = ["-merge=1", "-set_cover_merge=1", "-use_counters=0"];
        let longest = format!("-max_len={LONGEST_KEPT}");
        let shell = &self.workspace.shell;
        Ok(cmd!(shell, "{program} {few...} {longest} {kept} {corpus}").run()?)
    }

    fn corpus(&self, name: &str) -> PathBuf {
        self.found.join(name).join("corpus")
    }
}

/// The corpus of the repository.
fn kept(name: &str) -> PathBuf {
    Path::new("tests/fuzz/corpus").join(name)
}

/// Words that random bytes would take long to hit on.
fn dictionary(name: &str) -> Option<String> {
    let path = Path::new("tests/fuzz/words").join(name);
    let there = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(&path);
    there.exists().then(|| format!("-dict={}", path.display()))
}

/// The platform's name, under which cargo-fuzz builds.
fn host(workspace: &Workspace) -> Result<String> {
    let version = cmd!(workspace.shell, "rustc -vV").quiet().read()?;
    let host = version.lines().find_map(|line| line.strip_prefix("host: "));
    ensure!(host.is_some(), "the compiler does not name its platform");
    Ok(host.unwrap_or_default().to_owned())
}

/// What to do with a finding.
fn advice(name: &str, program: &Path, crashes: &Path) -> String {
    format!(
        "{name}: a promise is broken, or an input took too long; the message is above.\n\
         The input lies in {crashes}; see it again with\n  {program} FILE\n\
         and make it shorter with\n  {program} -minimize_crash=1 -max_total_time=60 FILE\n\
         When it is mended, put the short one into tests/fuzz/corpus/{name}: every test runs it.",
        crashes = crashes.display(),
        program = program.display(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arguments(words: &[&str]) -> Result<Arguments, lexopt::Error> {
        read(&mut lexopt::Parser::from_args(words))
    }

    #[test]
    fn takes_seconds_and_a_target() {
        let expected = |seconds, keep, target: Option<&str>| Arguments {
            seconds,
            keep,
            target: target.map(str::to_owned),
        };
        assert_eq!(arguments(&[]).unwrap(), expected(60, false, None));
        assert_eq!(
            arguments(&["--seconds", "5", "chart", "--keep"]).unwrap(),
            expected(5, true, Some("chart"))
        );
        for mistake in [&["charts"][..], &["--seconds", "x"], &["chart", "symbol"]] {
            assert!(arguments(mistake).is_err(), "{mistake:?}");
        }
    }

    #[test]
    fn a_finding_says_where_it_lies_and_how_to_see_it_again() {
        let words = advice("chart", Path::new("/t/chart"), Path::new("/t/crashes"));
        for part in ["/t/crashes;", "  /t/chart FILE", "tests/fuzz/corpus/chart:"] {
            assert!(words.contains(part), "{words}");
        }
    }
}
