//! What a command is, and how a command line is read. It imports no other file of this crate;
//! every command imports it.

use std::ffi::OsString;

use lexopt::Parser;

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

/// Reads a command line, without the program's own name.
pub fn choose(commands: &[Command], arguments: impl IntoIterator<Item = OsString>) -> Outcome {
    let mut arguments = arguments.into_iter();
    let Some(name) = arguments.next() else {
        return Outcome::Mistake(usage(commands));
    };
    if is_help(&name) || name == "help" {
        return Outcome::Help(usage(commands));
    }
    let Some(command) = commands.iter().find(|command| name == command.name) else {
        return Outcome::Mistake(unknown(commands, &name.to_string_lossy()));
    };

    let arguments: Vec<OsString> = arguments.collect();
    if arguments.iter().any(is_help) {
        return Outcome::Help(format!("{}\n\n{}.\n", command.line(), command.summary));
    }
    match (command.read)(&mut Parser::from_args(arguments)) {
        Ok(job) => Outcome::Run(job),
        Err(error) => Outcome::Mistake(format!("xtask: {error}\nexpected: {}\n", command.line())),
    }
}

/// Accepts nothing but the end of the line, for a command without arguments.
pub fn nothing_more(parser: &mut Parser) -> Result<(), lexopt::Error> {
    match parser.next()? {
        Some(extra) => Err(extra.unexpected()),
        None => Ok(()),
    }
}

impl Command {
    /// The command as it is typed.
    fn line(&self) -> String {
        format!("cargo xtask {} {}", self.name, self.arguments)
            .trim_end()
            .to_owned()
    }
}

fn is_help(argument: &OsString) -> bool {
    argument == "--help" || argument == "-h"
}

fn usage(commands: &[Command]) -> String {
    let lines: Vec<String> = commands.iter().map(Command::line).collect();
    let width = lines.iter().map(String::len).max().unwrap_or(0);
    let rows = commands.iter().zip(&lines);
    rows.fold(String::from("usage:\n"), |text, (command, line)| {
        format!("{text}  {line:width$}  {}\n", command.summary)
    })
}

fn unknown(commands: &[Command], name: &str) -> String {
    let names: Vec<&str> = commands.iter().map(|command| command.name).collect();
    format!(
        "xtask: no command '{name}'\nexpected: {}\n\n{}",
        names.join(", "),
        usage(commands)
    )
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
            assert!(help(line).contains("cargo xtask other [--option]  never asked for"));
        }
        for line in ["other --help", "other --option -h"] {
            assert_eq!(
                help(line),
                "cargo xtask other [--option]\n\nnever asked for.\n"
            );
        }
    }

    #[test]
    fn a_mistake_is_named_with_what_was_expected() {
        assert!(mistake("").starts_with("usage:\n  cargo xtask plain "));
        assert!(mistake("plan").starts_with("xtask: no command 'plan'\nexpected: plain, other\n"));
        assert_eq!(
            mistake("plain --fast"),
            "xtask: invalid option '--fast'\nexpected: cargo xtask plain\n"
        );
        assert!(mistake("plain more").ends_with("expected: cargo xtask plain\n"));
    }
}
