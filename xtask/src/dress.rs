//! `cargo xtask dress`: prints the ways to dress a chord in its place. It imports `command` and
//! `comp`; only `main` imports it.

use anyhow::{Result, anyhow};
use guidehand_report::dressing::DressReport;
use guidehand_theory::chord::Chord;
use guidehand_theory::dressing::{Around, Place};
use guidehand_theory::pcset::PcSet;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::NoteName;
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::voicing::Form;
use lexopt::prelude::*;

use crate::command::Command;
use crate::comp;

/// The command.
pub const COMMAND: Command = Command {
    name: "dress",
    arguments: "\"CHORD\" [--form A|B] [--after CHORD] [--before CHORD] [--key KEY] [--melody NOTES] [--json]",
    summary: "list the ways to dress a chord, by the fingers that move",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

struct Arguments {
    chord: Chord,
    around: Around,
    form: Option<Form>,
    melody: PcSet,
    json: bool,
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut chord = None;
    let mut around = Around::default();
    let (mut form, mut melody, mut json) = (None, PcSet::EMPTY, false);
    while let Some(argument) = parser.next()? {
        match argument {
            Value(text) if chord.is_none() => chord = Some(text.parse_with(comp::chord)?),
            Long("form") => form = Some(parser.value()?.parse_with(letter)?),
            Long("after") => around.before = Some(parser.value()?.parse_with(comp::chord)?),
            Long("before") => around.after = Some(parser.value()?.parse_with(comp::chord)?),
            Long("key") => around.key = Some(parser.value()?.parse_with(comp::key)?),
            Long("melody") => melody = parser.value()?.parse_with(notes)?,
            Long("json") => json = true,
            other => return Err(other.unexpected()),
        }
    }
    Ok(Arguments {
        chord: chord.ok_or("a chord is missing, such as G7")?,
        around,
        form,
        melody,
        json,
    })
}

/// The notes of a melody by their names, with spaces or commas between them.
fn notes(text: &str) -> Result<PcSet, String> {
    let words = text.split([' ', ',']).filter(|word| !word.is_empty());
    let notes = words.map(|word| match NoteName::read(word) {
        Some((name, "")) => Ok(name.class()),
        _ => Err(format!(
            "expected notes such as A or \"Eb D\", and not {word}"
        )),
    });
    let notes: PcSet = notes.collect::<Result<_, _>>()?;
    if notes == PcSet::EMPTY {
        return Err("expected notes such as A or \"Eb D\"".to_owned());
    }
    Ok(notes)
}

fn letter(text: &str) -> Result<Form, &'static str> {
    match text {
        "A" | "a" => Ok(Form::A),
        "B" | "b" => Ok(Form::B),
        _ => Err("expected A or B"),
    }
}

fn run(arguments: &Arguments) -> Result<()> {
    let (chord, form) = (arguments.chord, arguments.form);
    let place = Place::among(chord, &arguments.around, form, &Taste::default());
    let place = place.ok_or_else(|| {
        let form = form.map_or_else(String::new, |form| format!(" in form {form}"));
        anyhow!("{} has no voicing{form}", Symbol(&chord, Sign::Ascii))
    })?;
    let report = DressReport::new(&Place {
        melody: arguments.melody,
        ..place
    });
    if arguments.json {
        println!("{}", serde_json::to_string_pretty(&report)?);
    } else {
        print!("{report}");
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::pitch::PitchClass;

    fn arguments(words: &[&str]) -> Result<Arguments, String> {
        read(&mut lexopt::Parser::from_args(words)).map_err(|error| error.to_string())
    }

    #[test]
    fn a_chord_and_its_place_are_read() {
        let line = ["G7", "--after", "Dm7", "--key", "C minor", "--form", "B"];
        let read = arguments(&line).map(|a| (a.form, a.around));
        let Ok((Some(Form::B), around)) = read else {
            panic!("not read")
        };
        assert_eq!(around.before, Some(comp::chord("Dm7").unwrap()));
        assert!(around.after.is_none() && around.key.is_some());
    }

    #[test]
    fn a_melody_is_read() {
        let classes = |melody: &str| {
            let line = ["G7", "--melody", melody];
            arguments(&line).map(|a| a.melody.iter().map(PitchClass::number).collect::<Vec<u8>>())
        };
        assert_eq!(classes("A"), Ok(vec![9]));
        assert_eq!(classes("Eb, D A"), Ok(vec![2, 3, 9]));
        assert_eq!(arguments(&["G7"]).map(|a| a.melody), Ok(PcSet::EMPTY));
    }

    #[test]
    fn mistakes_say_what_was_expected() {
        for (words, expected) in [
            (&[][..], "a chord is missing"),
            (&["H7"], "B7"),
            (&["G7", "C7"], "C7"),
            (&["G7", "--before", "Cmajj"], "Cmajj"),
            (&["G7", "--form", "C"], "A or B"),
            (&["G7", "--key", "H"], "F#m"),
            (&["G7", "--melody", "A H"], "and not H"),
            (&["G7", "--melody", "A4"], "and not A4"),
            (&["G7", "--melody", ""], "expected notes"),
        ] {
            let Err(error) = arguments(words) else {
                panic!("{words:?} was read")
            };
            assert!(error.contains(expected), "{words:?}: {error}");
        }
    }
}
