//! `cargo xtask import`: prints the chart of a file. It imports `chart_source` and
//! `command`; only `main` imports it.

use std::path::PathBuf;

use anyhow::{Context, Result};
use guidehand_exchange::import::{self, Wanted, Wish};
use guidehand_report::importing::{self, ImportReport};
use lexopt::prelude::*;

use crate::chart_source::{file_bytes, said};
use crate::command::{Command, Misunderstood};

/// The command.
pub const COMMAND: Command = Command {
    name: "import",
    arguments: "FILE [--part NAME] [--melody] [--melody-part NAME] [--json]",
    summary: "print the chart of a MusicXML or MIDI file, and its melody",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

#[derive(Debug, Default)]
struct Arguments {
    /// The file; `-` is the standard input.
    file: PathBuf,
    part: Option<String>,
    /// Whether the melody is asked for, and the name of its line.
    melody: bool,
    melody_part: Option<String>,
    json: bool,
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut file = None;
    let mut arguments = Arguments::default();
    while let Some(argument) = parser.next()? {
        match argument {
            Value(path) if path.is_empty() => {
                return Err("expected the name of a file, found nothing".into());
            }
            Value(path) if file.is_none() => file = Some(path.into()),
            Long("part") => arguments.part = Some(parser.value()?.string()?),
            Long("melody") => arguments.melody = true,
            Long("melody-part") => arguments.melody_part = Some(parser.value()?.string()?),
            Long("json") => arguments.json = true,
            other => return Err(other.unexpected()),
        }
    }
    arguments.file = file.ok_or("a file is missing, such as chart.musicxml, chart.mid or -")?;
    Ok(arguments)
}

fn run(arguments: &Arguments) -> Result<()> {
    let path = &arguments.file;
    let bytes = file_bytes(path).with_context(|| format!("cannot read {}", path.display()))?;
    let name = arguments.melody_part.as_deref();
    let wish = Wish {
        part: arguments.part.as_deref(),
        melody: if arguments.melody || name.is_some() {
            Wanted::of(name)
        } else {
            Wanted::No
        },
    };
    let imported = import::read(&bytes, wish)
        .map_err(|error| Misunderstood(format!("{}: {error}", path.display())))?;
    if arguments.json {
        let report = ImportReport::new(&imported);
        println!("{}", serde_json::to_string_pretty(&report)?);
    } else {
        println!("{}", imported.text);
        if let Some(melody) = importing::melody(&imported) {
            println!("{melody}");
        }
        for line in said(&imported) {
            eprintln!("{line}");
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    fn arguments(words: &[&str]) -> Result<Arguments, String> {
        read(&mut lexopt::Parser::from_args(words)).map_err(|error| error.to_string())
    }

    #[test]
    fn a_file_and_a_part_are_read() {
        let read = arguments(&["a.xml", "--part", "Horn in F", "--json"]).unwrap();
        assert_eq!(read.file, Path::new("a.xml"));
        assert_eq!((read.part.as_deref(), read.json), (Some("Horn in F"), true));
        assert_eq!(arguments(&["-"]).unwrap().file, Path::new("-"));
    }

    #[test]
    fn mistakes_say_what_was_expected() {
        for (words, expected) in [
            (&[][..], "a file is missing"),
            (&[""], "expected the name of a file"),
            (&["a.xml", "b.xml"], "unexpected argument"),
            (&["a.xml", "--part"], "missing argument"),
        ] {
            let error = arguments(words).unwrap_err();
            assert!(error.contains(expected), "{words:?}: {error}");
        }
    }

    /// What a script reads: the fields and the parts of a score.
    #[test]
    fn the_report_names_chart_parts_and_losses() {
        let part = |id: &str, more: &str, root: &str, kind: &str| {
            format!(
                "<part id=\"{id}\"><measure number=\"5\"><attributes>{more}</attributes><harmony>\
                 <root><root-step>{root}</root-step></root><kind>{kind}</kind></harmony>\
                 <harmony><root><root-step>G</root-step></root><kind>quartal</kind></harmony>\
                 <note><rest/><duration>4</duration></note></measure></part>"
            )
        };
        let down = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>";
        let file = format!(
            "<score-partwise><part-list><score-part id=\"a\"><part-name>Horn</part-name>\
             </score-part><score-part id=\"b\"><part-name>Piano</part-name></score-part>\
             </part-list>{}{}</score-partwise>",
            part("a", down, "E", "minor-seventh"),
            part("b", "", "D", "minor-seventh")
        );
        let imported = import::import(file.as_bytes()).unwrap();
        let json = serde_json::to_value(ImportReport::new(&imported)).unwrap();
        assert_eq!(json["chart"], "| Dm7 |");
        assert_eq!(json["part"], "Piano");
        let parts = serde_json::json!([
            { "name": "Horn", "chords": 2, "sounds": -2 },
            { "name": "Piano", "chords": 2, "sounds": 0 },
        ]);
        assert_eq!(json["parts"], parts);
        assert_eq!(json["missed"][0]["bar"], "5");
        assert_eq!(json["missed"][0]["what"], "harmony");
        let lines = said(&imported);
        assert!(lines[0].contains("\"Piano\" is read"), "{lines:?}");
        assert!(lines[1].starts_with("bar 5, harmony"), "{lines:?}");
    }
}
