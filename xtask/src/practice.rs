//! `cargo xtask practice`: writes a progression out in all twelve keys. It imports
//! `chart_source`, `command`, `comp` and `outputs`; only `main` imports it.

use std::path::PathBuf;

use anyhow::Result;
use guidehand_exchange::midi;
use guidehand_exchange::musicxml::{self, Page};
use guidehand_exchange::practice::{self, Order};
use guidehand_exchange::score::Score;
use guidehand_report::request::ChartErrors;
use guidehand_theory::candidates::Register;
use guidehand_theory::shape::Texture;
use lexopt::prelude::*;

use crate::chart_source::ChartSource;
use crate::command::{self, Command};
use crate::comp;
use crate::outputs::Outputs;

/// The command.
pub const COMMAND: Command = Command {
    name: "practice",
    arguments: "\"CHART\" | - | --file FILE [--order ORDER] [--seed N] [--tempo BPM] [--mid FILE] [--musicxml FILE]",
    summary: "print a progression in all keys, by fourths, half-steps or random",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

struct Arguments {
    progression: ChartSource,
    order: Order,
    tempo_bpm: f64,
    mid: Option<PathBuf>,
    musicxml: Option<PathBuf>,
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut progression = None;
    let mut seed = None;
    let mut arguments = Arguments {
        progression: ChartSource::Input,
        order: Order::Fourths,
        tempo_bpm: 120.0,
        mid: None,
        musicxml: None,
    };
    while let Some(argument) = parser.next()? {
        match argument {
            Value(text) => ChartSource::argument(&mut progression, text)?,
            Long("file") => ChartSource::option(&mut progression, parser)?,
            Long("order") => arguments.order = parser.value()?.parse_with(order)?,
            Long("seed") => seed = Some(command::number(parser)?),
            Long("tempo") => arguments.tempo_bpm = parser.value()?.parse_with(comp::tempo)?,
            Long("mid") => arguments.mid = Some(command::file(parser)?),
            Long("musicxml") => arguments.musicxml = Some(command::file(parser)?),
            other => return Err(other.unexpected()),
        }
    }
    if let (Order::Random(chosen), Some(seed)) = (&mut arguments.order, seed) {
        *chosen = seed;
    }
    arguments.progression =
        progression.ok_or("a progression is missing, such as \"| Dm7 | G7 | Cmaj7 | % |\"")?;
    Ok(arguments)
}

fn order(text: &str) -> Result<Order, &'static str> {
    match text {
        "fourths" => Ok(Order::Fourths),
        "half-steps" => Ok(Order::HalfSteps),
        "random" => Ok(Order::Random(1)),
        _ => Err("expected fourths, half-steps or random"),
    }
}

fn run(arguments: &Arguments) -> Result<()> {
    let failed = |text: &str, errors| comp::unreadable(&ChartErrors::new(text, errors));
    let (kept, said) = arguments.progression.kept()?;
    let register = Register::DEFAULT;
    let (sheet, left_out) = practice::with_kept(&kept, arguments.order, &register)
        .map_err(|errors| failed(&kept.chart, errors))?;
    for line in said.iter().chain(&left_out) {
        eprintln!("{line}");
    }
    let text = &sheet.chart;
    let chart = sheet.read().map_err(|errors| failed(text, errors))?;
    let mut score = Score::planned_around(
        chart,
        arguments.tempo_bpm,
        None,
        (Texture::FourNotes, register),
        Some(&sheet).filter(|sheet| !sheet.is_empty()),
    );
    score.title = "Practice".to_owned();
    if let Ok(progression) = kept.read() {
        score.keys = practice::keys(&progression, &score.chart);
    }
    let mut outputs = Outputs::default();
    if let Some(path) = &arguments.mid {
        outputs.add(path, midi::write(&score));
    }
    if let Some(path) = &arguments.musicxml {
        let page = musicxml::write(&score, Page::default());
        outputs.add(path, page.into_bytes());
    }
    // The files first: whoever reads what is printed may end this program by going away.
    let written = outputs.write();
    println!("{text}");
    written
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arguments(words: &[&str]) -> Result<Arguments, String> {
        read(&mut lexopt::Parser::from_args(words)).map_err(|error| error.to_string())
    }

    #[test]
    fn the_order_and_its_seed_are_read() {
        let order = |words: &[&str]| arguments(words).map(|a| a.order);
        assert_eq!(order(&["| C6 |"]), Ok(Order::Fourths));
        assert_eq!(
            order(&["C6", "--order", "half-steps"]),
            Ok(Order::HalfSteps)
        );
        let seeded = ["C6", "--seed", "7", "--order", "random"];
        assert_eq!(order(&seeded), Ok(Order::Random(7)));
    }

    #[test]
    fn mistakes_say_what_was_expected() {
        for (words, expected) in [
            (&[][..], "a progression is missing"),
            (&["C6", "--order", "fifths"], "half-steps"),
            (&["C6", "--tempo", "5"], "20 to 400"),
        ] {
            let Err(error) = arguments(words) else {
                panic!("{words:?} was read")
            };
            assert!(error.contains(expected), "{words:?}: {error}");
        }
    }
}
