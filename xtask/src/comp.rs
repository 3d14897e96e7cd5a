//! `cargo xtask comp`: plays a chart on the built plugin and prints what came out. It imports
//! `build` and `command`; `main` and `demo` import it.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, anyhow};
use guidehand_exchange::musicxml::{self, Page, Staves};
use guidehand_exchange::score as exchange;
use guidehand_tests::comp::{Comp, CompError, Request, comp};
use guidehand_tests::smf::{self, Score};
use guidehand_tests::wav;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::key::Key;
use guidehand_theory::shape::Texture;
use lexopt::prelude::*;

use crate::build;
use crate::command::Command;

/// The command.
pub const COMMAND: Command = Command {
    name: "comp",
    arguments: "\"CHART\" [--key KEY] [--tempo BPM] [--texture NAME] [--json] [--mid FILE] [--musicxml FILE] [--wav FILE]",
    summary: "play a chart on the built plugin and print its chords",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

/// Tempi that a metronome has.
const TEMPI_BPM: std::ops::RangeInclusive<f64> = 20.0..=400.0;

struct Arguments {
    request: Request,
    json: bool,
    mid: Option<PathBuf>,
    musicxml: Option<PathBuf>,
    wav: Option<PathBuf>,
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut chart = None;
    let mut arguments = Arguments {
        request: Request {
            chart: String::new(),
            key: None,
            tempo_bpm: 120.0,
            texture: Texture::FourNotes,
            roots: Vec::new(),
        },
        json: false,
        mid: None,
        musicxml: None,
        wav: None,
    };
    let request = &mut arguments.request;
    while let Some(argument) = parser.next()? {
        match argument {
            Value(text) if chart.is_none() => chart = Some(text.string()?),
            Long("key") => request.key = Some(parser.value()?.parse_with(key)?),
            Long("tempo") => request.tempo_bpm = parser.value()?.parse_with(tempo)?,
            Long("texture") => request.texture = parser.value()?.parse_with(texture)?,
            Long("json") => arguments.json = true,
            Long("mid") => arguments.mid = Some(parser.value()?.into()),
            Long("musicxml") => arguments.musicxml = Some(parser.value()?.into()),
            Long("wav") => arguments.wav = Some(parser.value()?.into()),
            other => return Err(other.unexpected()),
        }
    }
    arguments.request.chart =
        chart.ok_or("a chart is missing, such as \"| Dm7 | G7 | Cmaj7 |\"")?;
    Ok(arguments)
}

fn key(text: &str) -> Result<Key, String> {
    Key::parse(text).ok_or_else(|| "expected a key such as C, Bb, F#m or \"Eb minor\"".to_owned())
}

/// Reads a tempo.
pub fn tempo(text: &str) -> Result<f64, String> {
    let tempo = text.parse().ok().filter(|t| TEMPI_BPM.contains(t));
    tempo.ok_or_else(|| "expected 20 to 400 beats a minute".to_owned())
}

fn texture(text: &str) -> Result<Texture, String> {
    let plain = |name: &str| name.replace(['-', '_'], " ").to_lowercase();
    let found = Texture::ALL.into_iter().find(|t| t.name() == plain(text));
    found.ok_or_else(|| {
        let names: Vec<&str> = Texture::ALL.iter().map(|t| t.name()).collect();
        format!("expected one of: {}", names.join(", "))
    })
}

fn run(arguments: &Arguments) -> Result<()> {
    let made = play(&arguments.request)?;
    if arguments.json {
        println!("{}", serde_json::to_string_pretty(&made.report)?);
    } else {
        print!("{}", made.report);
    }
    if let Some(path) = &arguments.mid {
        write_midi(&made, path)?;
    }
    if let Some(path) = &arguments.musicxml {
        write_page(&arguments.request, path)?;
    }
    if let Some(path) = &arguments.wav {
        write_wave(&made, path)?;
    }
    Ok(())
}

/// Builds the plugin and plays a request on it. A chart that cannot be read is told before
/// anything is built.
pub fn play(request: &Request) -> Result<Comp> {
    if let Err(errors) = chart::parse(&request.chart) {
        let error = CompError::Chart(request.chart.clone(), errors);
        return Err(anyhow!("the chart cannot be read\n{error}"));
    }
    let clap = build::release_plugin()?.clap;
    Ok(comp(&clap, request)?)
}

/// Writes the performance as a MIDI file with the chord symbols as markers.
pub fn write_midi(made: &Comp, path: &Path) -> Result<()> {
    make_room(path)?;
    let mut score = Score::of(&made.session, &made.performance.events);
    let words = made.report.chords.iter().map(|c| c.sounding.clone());
    score.markers = made.starts_beats.iter().copied().zip(words).collect();
    smf::write(path, &score).with_context(|| format!("cannot write {}", path.display()))
}

/// Writes the chart and its voicings as a page of MusicXML. The notes are the theory's, with which
/// the plugin's have been compared.
fn write_page(request: &Request, path: &Path) -> Result<()> {
    let chart = chart::parse(&request.chart)
        .map_err(|errors| anyhow!("{}", CompError::Chart(request.chart.clone(), errors)))?;
    let (tempo, texture) = (request.tempo_bpm, request.texture);
    let score = exchange::Score::planned(chart, tempo, request.key, texture, Register::DEFAULT);
    let grand = score
        .comping
        .iter()
        .any(|note| note.hand == exchange::Hand::Right);
    let page = Page {
        staves: if grand { Staves::Grand } else { Staves::One },
        words: true,
        ..Page::default()
    };
    save(path, musicxml::write(&score, page).as_bytes())
}

/// Writes a file, and the folder for it.
pub fn save(path: &Path, bytes: &[u8]) -> Result<()> {
    make_room(path)?;
    fs::write(path, bytes).with_context(|| format!("cannot write {}", path.display()))
}

/// Writes the audition tone as a wave file.
pub fn write_wave(made: &Comp, path: &Path) -> Result<()> {
    make_room(path)?;
    let (left, right) = (&made.performance.left, &made.performance.right);
    let rate = 48_000;
    wav::write(path, rate, left, right).with_context(|| format!("cannot write {}", path.display()))
}

fn make_room(path: &Path) -> Result<()> {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => {
            fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))
        }
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arguments(words: &[&str]) -> Result<Arguments, String> {
        read(&mut lexopt::Parser::from_args(words)).map_err(|error| error.to_string())
    }

    #[test]
    fn a_chart_and_options_are_read() {
        let read = arguments(&[
            "| Dm7 |",
            "--key",
            "Bb",
            "--tempo",
            "96.5",
            "--texture",
            "two-hands",
            "--json",
        ]);
        let Ok(read) = read else { panic!("not read") };
        assert_eq!(read.request.chart, "| Dm7 |");
        assert_eq!(
            read.request.key.map(|k| k.to_string()).as_deref(),
            Some("Bb major")
        );
        assert_eq!(read.request.texture, Texture::TwoHands);
        assert!(read.json && read.mid.is_none());
    }

    #[test]
    fn a_page_holds_the_chart() {
        let folder = xshell::Shell::new().unwrap().create_temp_dir().unwrap();
        let path = folder.path().join("pages/one.musicxml");
        let words = [
            "|: Dm7 | G7 :|",
            "--musicxml",
            "x",
            "--texture",
            "two-hands",
        ];
        let Ok(read) = arguments(&words) else {
            panic!("not read")
        };
        assert!(read.musicxml.is_some());
        write_page(&read.request, &path).unwrap();
        let bytes = fs::read(&path).unwrap();
        let back = guidehand_exchange::import::import(&bytes).unwrap();
        assert_eq!(back.text, "|: Dm7 | G7 :|");
        assert!(String::from_utf8_lossy(&bytes).contains("<staves>2</staves>"));
    }

    #[test]
    fn mistakes_say_what_was_expected() {
        for (words, expected) in [
            (&[][..], "a chart is missing"),
            (&["|C6|", "--tempo", "5"], "20 to 400"),
            (&["|C6|", "--texture", "thick"], "two hands"),
            (&["|C6|", "--key", "H"], "F#m"),
            (&["|C6|", "more"], "unexpected argument"),
        ] {
            let Err(error) = arguments(words) else {
                panic!("{words:?} was read")
            };
            assert!(error.contains(expected), "{words:?}: {error}");
        }
    }
}
