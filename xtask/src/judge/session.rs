//! `cargo xtask judge --session`: judges a recorded performance over a chart, chord by chord. It
//! imports `chart_source`, `command`, `comp` and `read`; only `judge` imports it.

use std::path::PathBuf;

use anyhow::{Context, Result};
use guidehand_exchange::midi::performance;
use guidehand_practice::AskedPosition;
use guidehand_practice::homework::RightHand;
use guidehand_report::homework::{self, HomeworkRequest, PartAsked};
use guidehand_report::request::Request;
use guidehand_theory::judge::Accepts;
use guidehand_theory::pitch::MidiNote;
use lexopt::Parser;
use lexopt::prelude::*;

use crate::chart_source::{ChartSource, file_bytes};
use crate::command::{self, Misunderstood};
use crate::{comp, read};

/// What the command line says of a performance.
#[derive(Debug)]
pub struct Arguments {
    /// The MIDI file; `-` is the standard input.
    file: PathBuf,
    chart: ChartSource,
    /// What is asked; its chart is read later.
    asked: HomeworkRequest,
    json: bool,
}

/// Whether a command line asks for a performance to be judged.
pub fn is_asked(parser: &Parser) -> bool {
    let mut rest = parser.clone();
    let Ok(mut words) = rest.raw_args() else {
        return false;
    };
    words.any(|word| {
        let word = word.to_string_lossy();
        word == "--session" || word.starts_with("--session=")
    })
}

/// Reads the command line.
pub fn arguments(parser: &mut Parser) -> Result<Arguments, lexopt::Error> {
    let (mut file, mut chart) = (None, None);
    let (mut exact, mut same, mut any, mut json) = (false, false, false, false);
    let mut asked = HomeworkRequest {
        request: Request::new(""),
        accepts: Accepts::AnyGood,
        position: AskedPosition::Either,
        right_hand: RightHand::Found,
        from_bar: None,
        part: PartAsked::Chords,
    };
    while let Some(argument) = parser.next()? {
        match argument {
            Long("session") => file = Some(command::file(parser)?),
            Long("chart") => ChartSource::argument(&mut chart, parser.value()?)?,
            Long("file") => ChartSource::option(&mut chart, parser)?,
            Long("key") => asked.request.key = Some(parser.value()?.parse_with(comp::key)?),
            Long("texture") => asked.request.texture = parser.value()?.parse_with(comp::texture)?,
            Long("position") => asked.position = parser.value()?.parse_with(position)?,
            Long("exact") => exact = true,
            Long("same-tensions") => same = true,
            Long("any") => any = true,
            Long("split") => asked.right_hand = parser.value()?.parse_with(split)?,
            Long("from-bar") => asked.from_bar = Some(parser.value()?.parse_with(number)?),
            Long("part") => asked.part = parser.value()?.parse_with(part)?,
            Long("json") => json = true,
            Value(text) => {
                return Err(format!(
                    "{:?} is no option; expected the chart after --chart",
                    text.to_string_lossy()
                )
                .into());
            }
            other => return Err(other.unexpected()),
        }
    }
    let in_position = asked.position != AskedPosition::Either;
    asked.accepts = match (exact, same, any) {
        (false, false, true) if in_position => {
            return Err("--any accepts every position; leave out --position".into());
        }
        (true, false, false) => Accepts::Exact,
        (false, true, false) => Accepts::SameTensions,
        // Who names a position asks for that grip.
        (false, false, false) if in_position => Accepts::Exact,
        (false, false, _) => Accepts::AnyGood,
        _ => return Err("expected one of --exact, --same-tensions and --any".into()),
    };
    Ok(Arguments {
        file: file.ok_or("a MIDI file is missing, such as --session homework.mid")?,
        chart: chart.ok_or("a chart is missing, such as --chart \"| Dm7 | G7 | Cmaj7 |\"")?,
        asked,
        json,
    })
}

fn position(text: &str) -> Result<AskedPosition, &'static str> {
    match text {
        "third" => Ok(AskedPosition::Third),
        "seventh" => Ok(AskedPosition::Seventh),
        "a" | "A" => Ok(AskedPosition::FormA),
        "b" | "B" => Ok(AskedPosition::FormB),
        "either" => Ok(AskedPosition::Either),
        _ => Err("expected third, seventh, a, b or either"),
    }
}

/// The lowest note of the right hand, or that there is none.
fn split(text: &str) -> Result<RightHand, String> {
    if text == "none" {
        return Ok(RightHand::From(MidiNote::MAX));
    }
    let note = read::note(text).map_err(|error| format!("{error}, or none"))?;
    Ok(RightHand::From(note))
}

fn number(text: &str) -> Result<usize, &'static str> {
    let number = text.parse().ok().filter(|number| *number > 0);
    number.ok_or("expected a whole number from 1")
}

fn part(text: &str) -> Result<PartAsked, &'static str> {
    if text == "all" {
        return Ok(PartAsked::All);
    }
    number(text)
        .map(PartAsked::Number)
        .map_err(|_| "expected the number of a part from 1, or all")
}

/// Judges the performance and prints what came of it.
pub fn run(arguments: Arguments) -> Result<()> {
    let Arguments {
        file,
        chart,
        mut asked,
        json,
    } = arguments;
    let (kept, said) = chart.kept()?;
    asked.request.pick(kept);
    for line in &said {
        eprintln!("{line}");
    }
    let chart = asked.request.read();
    let chart = chart.map_err(|errors| comp::unreadable(&errors))?;
    let name = file.display().to_string();
    let bytes = file_bytes(&file).with_context(|| format!("cannot read {name}"))?;
    let performance = performance::read(&bytes);
    let performance = performance.map_err(|error| Misunderstood(format!("{name}: {error}")))?;
    let report = homework::report(&asked, &chart, &performance);
    let report = report.map_err(|error| Misunderstood(format!("{name}: {error}")))?;
    if json {
        println!("{}", serde_json::to_string_pretty(&report)?);
    } else {
        for remark in &report.remarks {
            eprintln!("{name}: {remark}");
        }
        print!("{report}");
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    fn read(words: &[&str]) -> Result<Arguments, String> {
        let mut parser = Parser::from_args(words);
        assert!(is_asked(&parser), "{words:?}");
        arguments(&mut parser).map_err(|error| error.to_string())
    }

    #[test]
    fn a_session_is_read_in_any_order() {
        let chart = ["--chart", "| C6 |"];
        let read = read(&[&chart[..], &["--split", "c5", "--session", "a.mid"]].concat());
        // Notes have capitals.
        assert!(read.unwrap_err().contains("or none"));
        let words = [
            "--exact",
            "--session=a.mid",
            "--from-bar",
            "3",
            "--part",
            "all",
            "--split",
            "72",
        ];
        let read = super::arguments(&mut Parser::from_args([&chart[..], &words].concat())).unwrap();
        assert_eq!(read.file, Path::new("a.mid"));
        assert_eq!(read.asked.accepts, Accepts::Exact);
        assert_eq!(read.asked.from_bar, Some(3));
        assert_eq!(read.asked.part, PartAsked::All);
        assert_eq!(read.asked.right_hand, RightHand::From(MidiNote::clamp(72)));
    }

    #[test]
    fn any_good_voicing_counts_unless_it_is_said() {
        let session = ["--session", "a.mid", "--chart", "C6"];
        for (options, accepts) in [
            (&[][..], Accepts::AnyGood),
            (&["--any"], Accepts::AnyGood),
            (&["--same-tensions"], Accepts::SameTensions),
            (&["--exact"], Accepts::Exact),
            (&["--position", "a"], Accepts::Exact),
            (&["--position", "either"], Accepts::AnyGood),
        ] {
            let read = read(&[&session[..], options].concat());
            assert_eq!(read.map(|read| read.asked.accepts), Ok(accepts));
        }
    }

    #[test]
    fn one_answer_is_no_session() {
        assert!(!is_asked(&Parser::from_args(["G7", "F3 A3 B3 E4"])));
    }

    #[test]
    fn mistakes_say_what_was_expected() {
        for (words, expected) in [
            (&["--session", "a.mid"][..], "a chart is missing"),
            (&["--session", ""], "the name of a file"),
            (&["--session", "a.mid", "C6"], "after --chart"),
            (
                &["--session", "a.mid", "--chart", "C6", "--file", "b"],
                "a second chart",
            ),
            (&["--session", "a.mid", "--from-bar", "0"], "from 1"),
            (&["--session", "a.mid", "--part", "some"], "or all"),
            (&["--session", "a.mid", "--position", "c"], "seventh, a, b"),
            (
                &["--session", "a.mid", "--any", "--position", "a"],
                "leave out",
            ),
            (&["--session", "a.mid", "--split", "H9"], "expected F3"),
            (
                &["--session", "a.mid", "--chart", "C6", "--exact", "--any"],
                "one of",
            ),
        ] {
            let error = read(words).unwrap_err();
            assert!(error.contains(expected), "{words:?}: {error}");
        }
    }
}
