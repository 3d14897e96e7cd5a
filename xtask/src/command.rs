//! What a command is, and how a command line is read. It imports no other file of this crate;
//! every command imports it.

use std::error::Error;
use std::ffi::OsString;
use std::fmt;
use std::path::PathBuf;
use std::str::FromStr;

use lexopt::{Parser, ValueExt};

/// What a command does once its arguments are understood.
pub type Job = Box<dyn FnOnce() -> anyhow::Result<()>>;

/// One command: its words for the usage text, and its reading of its own arguments.
pub struct Command {
    /// The word that chooses it.
    pub name: &'static str,
    /// Its arguments as the usage text shows them; empty when it takes none.
    pub arguments: &'static str,
    /// What it does, in one line without a full stop.
    pub summary: &'static str,
    /// Reads everything after the name. Reading neither builds nor changes anything.
    pub read: fn(&mut Parser) -> Result<Job, lexopt::Error>,
}

/// What comes of a command line.
pub enum Outcome {
    /// Run this.
    Run(Job),
    /// Print this text and succeed.
    Help(String),
    /// Print this text, which says what was expected, and fail.
    Mistake(String),
}

/// What a job finds to be not understood, such as a chart. The program ends as if the command line
/// were not understood.
#[derive(Debug)]
pub struct Misunderstood(pub String);

impl fmt::Display for Misunderstood {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl Error for Misunderstood {}

/// Reads a command line, without the program's own name.
pub fn choose(commands: &[Command], arguments: impl IntoIterator<Item = OsString>) -> Outcome {
    let mut arguments = arguments.into_iter();
    let Some(name) = arguments.next() else {
        return Outcome::Mistake(usage(commands));
    };
    let asks = is_help(&name) || name == "help";
    let arguments: Vec<OsString> = arguments.collect();
    let name = match arguments.first() {
        None if asks => return Outcome::Help(usage(commands)),
        Some(other) if asks => other.clone(),
        _ => name,
    };
    let Some(command) = commands.iter().find(|command| name == command.name) else {
        return Outcome::Mistake(unknown(commands, &name.to_string_lossy()));
    };
    if let (true, Some(more)) = (asks, arguments.get(1)) {
        let line = "expected: cargo xtask help COMMAND";
        return Outcome::Mistake(format!("xtask: unexpected argument {more:?}\n{line}\n"));
    }
    if asks || arguments.iter().any(is_help) {
        let summary = wrapped("", command.summary.split(' '), 0);
        let summary = summary.trim_start();
        return Outcome::Help(format!("{}\n\n{summary}.\n", command.line()));
    }
    match (command.read)(&mut Parser::from_args(arguments)) {
        Ok(job) => Outcome::Run(job),
        Err(error) => Outcome::Mistake(format!("xtask: {error}\nexpected: {}\n", command.line())),
    }
}

/// Reads the value of an option that names a file.
pub fn file(parser: &mut Parser) -> Result<PathBuf, lexopt::Error> {
    let path = parser.value()?;
    if path.is_empty() {
        return Err("expected the name of a file, found nothing".into());
    }
    Ok(path.into())
}

/// Reads the value of an option that is a whole number.
pub fn number<N: FromStr>(parser: &mut Parser) -> Result<N, lexopt::Error> {
    let read = |text: &str| text.parse().map_err(|_| "expected a whole number from 0");
    parser.value()?.parse_with(read)
}

/// Accepts nothing but the end of the line, for a command without arguments.
pub fn nothing_more(parser: &mut Parser) -> Result<(), lexopt::Error> {
    match parser.next()? {
        Some(extra) => Err(extra.unexpected()),
        None => Ok(()),
    }
}

impl Command {
    /// The command as it is typed. Each of its options stays whole.
    fn line(&self) -> String {
        let options = self.arguments.split_inclusive(']').map(str::trim);
        wrapped(&format!("cargo xtask {}", self.name), options, 4)
    }
}

/// The most characters of a line of help, so that a word before it fits into 100 columns.
const WIDTH: usize = 88;

/// A text that goes on with these parts, on as many lines as it takes.
fn wrapped<'a>(start: &str, parts: impl Iterator<Item = &'a str>, indent: usize) -> String {
    let mut text = start.to_owned();
    let mut width = text.len();
    for part in parts.filter(|part| !part.is_empty()) {
        if width + 1 + part.len() > WIDTH {
            text.push('\n');
            text.push_str(&" ".repeat(indent));
            width = indent + part.len();
        } else {
            text.push(' ');
            width += 1 + part.len();
        }
        text.push_str(part);
    }
    text
}

/// What holds for all commands.
const RULES: &str = "
cargo xtask help COMMAND shows what one command takes.
A chart is read from a file with --file FILE, and from the standard input with - in its place.
The exit code is 0 when all went well, 2 when the command line or a chart is not understood, and
1 when what was asked for cannot be done.
";

fn is_help(argument: &OsString) -> bool {
    argument == "--help" || argument == "-h"
}

fn usage(commands: &[Command]) -> String {
    let width = commands.iter().map(|c| c.name.len()).max().unwrap_or(0);
    let lines = commands.iter().fold(String::new(), |text, command| {
        let name = format!("  {:width$} ", command.name);
        let line = wrapped(&name, command.summary.split(' '), width + 4);
        format!("{text}{line}\n")
    });
    format!("usage: cargo xtask COMMAND\n\n{lines}{RULES}")
}

fn unknown(commands: &[Command], name: &str) -> String {
    format!("xtask: no command '{name}'\n\n{}", usage(commands))
}

#[cfg(test)]
mod tests {
    use super::*;

    const COMMANDS: &[Command] = &[
        Command {
            name: "plain",
            arguments: "",
            summary: "take nothing",
            read: |parser| {
                nothing_more(parser)?;
                Ok(Box::new(|| anyhow::bail!("plain ran")))
            },
        },
        Command {
            name: "other",
            arguments: "[--option]",
            summary: "never asked for",
            read: |_| unreachable!("another command was asked for"),
        },
    ];

    fn chosen(line: &str) -> Outcome {
        choose(COMMANDS, line.split_whitespace().map(OsString::from))
    }

    fn mistake(line: &str) -> String {
        match chosen(line) {
            Outcome::Mistake(text) => text,
            Outcome::Help(text) => panic!("{line:?} was answered with help: {text}"),
            Outcome::Run(_) => panic!("{line:?} was accepted"),
        }
    }

    fn help(line: &str) -> String {
        match chosen(line) {
            Outcome::Help(text) => text,
            _ => panic!("{line:?} was not answered with help"),
        }
    }

    #[test]
    fn a_name_chooses_its_command() {
        let Outcome::Run(job) = chosen("plain") else {
            panic!("not accepted");
        };
        assert_eq!(job().unwrap_err().to_string(), "plain ran");
    }

    #[test]
    fn help_shows_the_command_that_it_is_asked_for() {
        for line in ["--help", "-h", "help"] {
            assert!(help(line).contains("\n  other  never asked for\n"));
        }
        for line in [
            "other --help",
            "other --option -h",
            "help other",
            "-h other",
        ] {
            assert_eq!(
                help(line),
                "cargo xtask other [--option]\n\nnever asked for.\n"
            );
        }
    }

    #[test]
    fn a_mistake_is_named_with_what_was_expected() {
        assert!(mistake("").starts_with("usage: cargo xtask COMMAND\n\n  plain  take"));
        assert!(mistake("help plan").starts_with("xtask: no command 'plan'\n"));
        assert!(mistake("help plain more").starts_with("xtask: unexpected argument \"more\"\n"));
        assert_eq!(
            mistake("plain --fast"),
            "xtask: invalid option '--fast'\nexpected: cargo xtask plain\n"
        );
        assert!(mistake("plain more").ends_with("expected: cargo xtask plain\n"));
    }

    #[test]
    fn a_long_command_is_shown_on_several_lines() {
        let command = Command {
            name: "long",
            arguments: "\"A B\" | - [--first NAME] [--second one|two] [--third NAME] [--fourth NAME] [--fifth NAME]",
            summary: "",
            read: |_| unreachable!("only its line is asked for"),
        };
        assert_eq!(
            command.line(),
            "cargo xtask long \"A B\" | - [--first NAME] [--second one|two] [--third NAME]\n    \
             [--fourth NAME] [--fifth NAME]"
        );
    }
}
