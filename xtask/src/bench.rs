//! `cargo xtask bench`: the benchmarks, against release builds. It imports `bench_bass`,
//! `bench_harmony`, `build`, `command` and `workspace`; only `main` imports it.

use anyhow::Result;
use lexopt::prelude::*;
use xshell::cmd;

use crate::bench_bass;
use crate::bench_harmony;
use crate::build;
use crate::command::Command;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "bench",
    arguments: "[FILTER]",
    summary: "run the benchmarks, or those whose names hold FILTER; `bass` the ear's and its peers', `harmony` what is heard in annotated charts",
    read: |parser| {
        let filter = read(parser)?;
        Ok(Box::new(move || run(filter.as_deref())))
    },
};

fn read(parser: &mut lexopt::Parser) -> Result<Option<String>, lexopt::Error> {
    let mut filter = None;
    while let Some(argument) = parser.next()? {
        match argument {
            Value(value) if filter.is_none() => filter = Some(value.string()?),
            other => return Err(other.unexpected()),
        }
    }
    Ok(filter)
}

/// Runs the ear's benchmark alone, which needs programs of others.
const BASS: &str = "bass";

/// Runs the benchmark of harmony alone, which needs programs of others, too.
const HARMONY: &str = "harmony";

/// Opens the panel to the benchmark of its frames.
const FRAME_BENCH: &str = "frame_bench";

fn run(filter: Option<&str>) -> Result<()> {
    if filter == Some(BASS) {
        return bench_bass::run();
    }
    if filter == Some(HARMONY) {
        return bench_harmony::run();
    }
    let workspace = Workspace::locate()?;
    let libraries = build::for_benches(&workspace)?;
    cmd!(
        workspace.shell,
        "cargo bench -p guidehand --bench frame --features {FRAME_BENCH} --locked -- {filter...}"
    )
    .run()?;
    // The plugins come last: their run ends with the table of ratios.
    let packages: [(&str, &[&str]); 2] = [
        ("guidehand-theory", &["--bench", "theory"]),
        ("guidehand-tests", &[]),
    ];
    for (package, benches) in packages {
        cmd!(
            workspace.shell,
            "cargo bench -p {package} {benches...} --locked -- {filter...}"
        )
        .envs(libraries.variables())
        .run()?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filter(arguments: &[&str]) -> Result<Option<String>, lexopt::Error> {
        read(&mut lexopt::Parser::from_args(arguments))
    }

    #[test]
    fn takes_at_most_one_filter() {
        assert_eq!(filter(&[]).unwrap(), None);
        assert_eq!(filter(&["plan"]).unwrap().as_deref(), Some("plan"));
        assert!(filter(&["plan", "step"]).is_err());
        assert!(filter(&["--plan"]).is_err());
    }
}
