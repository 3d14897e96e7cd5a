//! `cargo xtask read`: prints what chords sounding notes can be, in context. It imports `command` and `comp`;
//! `main` and `judge` import it.

use anyhow::Result;
use guidehand_report::reading::{self, ReadingRow};
use guidehand_theory::pitch::{MidiNote, NoteName, PitchClass, SpelledPitch};
use guidehand_theory::read::Context;
use lexopt::prelude::*;

use crate::command::Command;
use crate::comp;

/// The command.
pub const COMMAND: Command = Command {
    name: "read",
    arguments: "\"NOTES\" [--after CHORD] [--before CHORD] [--key KEY] [--bass NOTE] [--json]",
    summary: "say what chords notes such as \"F3 A3 B3 E4\" can be",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

struct Arguments {
    notes: Vec<MidiNote>,
    context: Context,
    json: bool,
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut arguments = Arguments {
        notes: Vec::new(),
        context: Context::default(),
        json: false,
    };
    let context = &mut arguments.context;
    while let Some(argument) = parser.next()? {
        match argument {
            Value(text) => {
                let text = text.string()?;
                for word in text.split_whitespace() {
                    arguments.notes.push(note(word)?);
                }
            }
            Long("after") => context.before = Some(parser.value()?.parse_with(comp::chord)?),
            Long("before") => context.after = Some(parser.value()?.parse_with(comp::chord)?),
            Long("key") => context.key = Some(parser.value()?.parse_with(comp::key)?),
            Long("bass") => context.bass = Some(parser.value()?.parse_with(class)?),
            Long("json") => arguments.json = true,
            other => return Err(other.unexpected()),
        }
    }
    if arguments.notes.len() < 2 {
        return Err("expected at least two notes, such as \"F3 A3 B3 E4\"".into());
    }
    Ok(arguments)
}

/// Reads a note by its name or number.
pub fn note(word: &str) -> Result<MidiNote, String> {
    let by_name = SpelledPitch::parse(word).and_then(SpelledPitch::midi);
    let by_number = || word.parse().ok().and_then(MidiNote::new);
    by_name
        .or_else(by_number)
        .ok_or_else(|| format!("{word:?} is no note; expected F3, Bb3 or a MIDI note 0 to 127"))
}

fn class(text: &str) -> Result<PitchClass, String> {
    let name =
        NoteName::read(text).filter(|(_, rest)| rest.parse::<i8>().is_ok() || rest.is_empty());
    name.map(|(name, _)| name.class())
        .ok_or_else(|| "expected a note such as G or Bb".to_owned())
}

fn run(arguments: &Arguments) -> Result<()> {
    let rows: Vec<ReadingRow> = reading::rows(&arguments.notes, &arguments.context);
    if arguments.json {
        println!("{}", serde_json::to_string_pretty(&rows)?);
    } else if rows.is_empty() {
        println!("no chord that has a name");
    } else {
        print!("{}", reading::table(&rows));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arguments(words: &[&str]) -> Result<Arguments, String> {
        read(&mut lexopt::Parser::from_args(words)).map_err(|error| error.to_string())
    }

    #[test]
    fn notes_and_context_are_read() {
        let Ok(read) = arguments(&["F3 A3", "59", "E4", "--after", "Dm7", "--bass", "G"]) else {
            panic!("not read")
        };
        let numbers: Vec<u8> = read.notes.iter().map(|n| n.number()).collect();
        assert_eq!(numbers, [53, 57, 59, 64]);
        assert!(read.context.before.is_some() && read.context.after.is_none());
    }

    #[test]
    fn mistakes_say_what_was_expected() {
        for (words, expected) in [
            (&["X3"][..], "expected F3"),
            (&["128"], "0 to 127"),
            (&[], "at least two notes"),
            (&["F3"], "at least two notes"),
            (&["C3", "--after", "H7"], "B7"),
            (&["C3", "--bass", "q"], "G or Bb"),
        ] {
            let Err(error) = arguments(words) else {
                panic!("{words:?} was read")
            };
            assert!(error.contains(expected), "{words:?}: {error}");
        }
    }
}
