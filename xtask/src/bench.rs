//! `cargo xtask bench`: the benchmarks, against release builds. It imports `bench_bass`,
//! `bench_harmony`, `build`, `command`, `setup` and `workspace`; only `main` imports it.

use anyhow::Result;
use lexopt::prelude::*;
use xshell::cmd;

use crate::bench_bass;
use crate::bench_harmony;
use crate::build;
use crate::command::Command;
use crate::setup;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "bench",
    arguments: "[NAME | FILTER]",
    summary: "run the benchmarks, or the one called NAME, or the parts whose names contain FILTER; `bass` and `harmony` run only by name",
    read: |parser| {
        let word = read(parser)?;
        Ok(Box::new(move || run(word.as_deref())))
    },
};

fn read(parser: &mut lexopt::Parser) -> Result<Option<String>, lexopt::Error> {
    let mut word = None;
    while let Some(argument) = parser.next()? {
        match argument {
            Value(value) if word.is_none() => word = Some(value.string()?),
            other => return Err(other.unexpected()),
        }
    }
    Ok(word)
}

/// A benchmark that Cargo runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Bench {
    /// The name of its target.
    name: &'static str,
    package: &'static str,
    /// What its package is built with.
    features: &'static [&'static str],
}

/// In the order in which they run. The plugins come last: their run ends with the table of ratios.
const BENCHES: [Bench; 9] = [
    Bench {
        name: "frame",
        package: "guidehand",
        // Opens the panel to its benchmarks.
        features: &["frame_bench"],
    },
    Bench {
        name: "keystroke",
        package: "guidehand",
        features: &["frame_bench"],
    },
    Bench {
        name: "entry",
        package: "guidehand",
        // It needs none, but with those of its neighbours the plugin is built once.
        features: &["frame_bench"],
    },
    Bench {
        name: "vst3_guard",
        package: "guidehand",
        features: &["frame_bench"],
    },
    Bench {
        name: "panel",
        package: "guidehand-tests",
        features: &[],
    },
    Bench {
        name: "theory",
        package: "guidehand-theory",
        features: &[],
    },
    Bench {
        name: "pages",
        package: "guidehand-exchange",
        features: &[],
    },
    Bench {
        name: "process",
        package: "guidehand-tests",
        features: &[],
    },
    Bench {
        name: "side_by_side",
        package: "guidehand-tests",
        features: &[],
    },
];

/// The name of a benchmark with a file of its own in this crate, and what runs it.
type Own = (&'static str, fn() -> Result<()>);

/// Benchmarks that need other people's programs. They run only when they are named.
const WITH_PEERS: [Own; 2] = [("bass", bench_bass::run), ("harmony", bench_harmony::run)];

/// The benchmarks that a word asks for, and the word that is passed on to them. A word that is not
/// the name of a benchmark chooses parts of all of them.
fn chosen(word: Option<&str>) -> (Vec<Bench>, Option<&str>) {
    let named = BENCHES.iter().find(|bench| Some(bench.name) == word);
    match named {
        Some(bench) => (vec![*bench], None),
        None => (BENCHES.to_vec(), word),
    }
}

fn run(word: Option<&str>) -> Result<()> {
    if let Some((_, own)) = WITH_PEERS.iter().find(|(name, _)| Some(*name) == word) {
        return own();
    }
    let workspace = Workspace::locate()?;
    // The panel is measured on an invisible screen.
    setup::ensure_packages(&workspace.shell, setup::SCREEN)?;
    let libraries = build::for_benches(&workspace)?;
    let (benches, filter) = chosen(word);
    for bench in benches {
        let (name, package) = (bench.name, bench.package);
        let features = bench.features.iter().flat_map(|name| ["--features", *name]);
        cmd!(
            workspace.shell,
            "cargo bench -p {package} --bench {name} {features...} --locked -- {filter...}"
        )
        .envs(libraries.variables())
        .run()?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn word(arguments: &[&str]) -> Result<Option<String>, lexopt::Error> {
        read(&mut lexopt::Parser::from_args(arguments))
    }

    #[test]
    fn takes_at_most_one_word() {
        assert_eq!(word(&[]).unwrap(), None);
        assert_eq!(word(&["plan"]).unwrap().as_deref(), Some("plan"));
        assert!(word(&["plan", "step"]).is_err());
        assert!(word(&["--plan"]).is_err());
    }

    #[test]
    fn a_name_chooses_one_and_any_other_word_parts_of_all() {
        assert_eq!(chosen(None), (BENCHES.to_vec(), None));
        assert_eq!(chosen(Some("plan")), (BENCHES.to_vec(), Some("plan")));
        for bench in BENCHES {
            assert_eq!(chosen(Some(bench.name)), (vec![bench], None));
        }
    }
}
