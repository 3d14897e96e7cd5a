//! The project's commands, run as `cargo xtask NAME`: one file for each, listed in `COMMANDS`.
//! They build, check, measure and install; the music is in the crates that they call. Nothing
//! imports this file.

mod audit;
mod bench;
mod bench_bass;
mod bench_harmony;
mod build;
mod bundle;
mod chart_source;
mod command;
mod comp;
mod demo;
mod dist;
mod dress;
mod engrave;
mod folders;
mod fuzz;
mod golden;
mod guide;
#[cfg(target_os = "linux")]
mod hosts;
mod import;
mod install;
mod judge;
mod licences;
mod melody_source;
mod outputs;
#[cfg(target_os = "linux")]
mod panel;
mod parameters;
mod picks;
mod practice;
#[path = "../../tests/python/mod.rs"]
mod python;
mod read;
mod setup;
mod soak;
mod test;
mod test_programs;
mod uninstall;
mod workspace;

use std::process::ExitCode;

use command::{Command, Misunderstood, Outcome};

/// Every command, in the order in which the usage text shows them.
const COMMANDS: &[Command] = &[
    demo::COMMAND,
    comp::COMMAND,
    read::COMMAND,
    dress::COMMAND,
    judge::COMMAND,
    import::COMMAND,
    practice::COMMAND,
    engrave::COMMAND,
    #[cfg(target_os = "linux")]
    panel::COMMAND,
    bundle::COMMAND,
    test::COMMAND,
    bench::COMMAND,
    soak::COMMAND,
    fuzz::COMMAND,
    golden::COMMAND,
    parameters::COMMAND,
    guide::COMMAND,
    #[cfg(target_os = "linux")]
    hosts::COMMAND,
    audit::COMMAND,
    dist::COMMAND,
    install::COMMAND,
    uninstall::COMMAND,
];

/// The exit code of a command line, or a chart, that is not understood.
const MISTAKEN: u8 = 2;

/// Lets the program end without a word when whoever reads its output has read enough, as programs on
/// Unix do (POSIX, `signal.h`: SIGPIPE ends a process). Rust ignores that signal and panics instead.
#[cfg(unix)]
fn end_with_the_reader() {
    use signal_hook::{consts::SIGPIPE, flag};
    use std::sync::{Arc, atomic::AtomicBool};

    // It fails only for signals that cannot be caught.
    let _heeded = flag::register_conditional_default(SIGPIPE, Arc::new(AtomicBool::new(true)));
}

/// There is no such signal.
#[cfg(not(unix))]
fn end_with_the_reader() {}

fn main() -> ExitCode {
    end_with_the_reader();
    match command::choose(COMMANDS, std::env::args_os().skip(1)) {
        Outcome::Help(text) => {
            print!("{text}");
            ExitCode::SUCCESS
        }
        Outcome::Mistake(text) => {
            eprint!("{text}");
            ExitCode::from(MISTAKEN)
        }
        Outcome::Run(job) => match job() {
            Ok(()) => ExitCode::SUCCESS,
            Err(error) => {
                eprintln!("xtask: {error:#}");
                if error.is::<Misunderstood>() {
                    ExitCode::from(MISTAKEN)
                } else {
                    ExitCode::FAILURE
                }
            }
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_tests::guide;
    use std::ffi::OsString;

    /// The words of a command line; quotes hold words together, and `#` begins a comment.
    fn words(line: &str) -> Vec<OsString> {
        let mut words = Vec::new();
        for (part, quoted) in line.split('"').zip([false, true].into_iter().cycle()) {
            if quoted {
                words.push(part.into());
                continue;
            }
            let (part, comment) = part
                .split_once(" #")
                .map_or((part, false), |(p, _)| (p, true));
            words.extend(part.split_whitespace().map(OsString::from));
            if comment {
                break;
            }
        }
        words
    }

    #[test]
    fn every_command_of_the_readme_and_the_guide_is_accepted() {
        let mut count = 0;
        for text in guide::all().unwrap() {
            let lines = text.text.lines();
            let lines = lines.map(|line| line.trim_start_matches("$ "));
            let alone = lines.filter(|line| line.starts_with("cargo xtask "));
            let inline = text.text.split('`');
            let inline = inline.filter(|code| code.starts_with("cargo xtask "));
            for line in alone.chain(inline) {
                let arguments = words(line).into_iter().skip(2);
                if let Outcome::Mistake(told) = command::choose(COMMANDS, arguments) {
                    panic!("{}: {line}: {told}", text.path.display());
                }
                count += 1;
            }
        }
        assert!(count > 20, "{count} commands");
    }
}
