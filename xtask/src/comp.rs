//! `cargo xtask comp`: plays a chart on the built plugin and prints what came out. It imports
//! `build`, `chart_source`, `command`, `melody_source`, `outputs` and `picks`; `main`, `demo`, `dress`, `judge`,
//! `practice` and `read` import it.

use std::fmt::Display;
use std::fs::File;
use std::io::Read;
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use anyhow::{Context, Result};
use guidehand_exchange::midi;
use guidehand_exchange::musicxml::{self, Page, Staves, Words};
use guidehand_exchange::own_voicings::{self, LARGEST_FILE, OwnVoicings};
use guidehand_exchange::score::Hand;
use guidehand_report::request::{ChartErrors, Request, Rhythm};
use guidehand_report::sung;
use guidehand_report::tensions::{TENSIONS, TensionOption};
use guidehand_tests::comp::{Comp, comp};
use guidehand_tests::wav;
use guidehand_theory::chord::Chord;
use guidehand_theory::comping::Yielding;
use guidehand_theory::key::Key;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::under::Style;
use lexopt::prelude::*;

use crate::build;
use crate::chart_source::ChartSource;
use crate::command::{self, Command, Misunderstood};
use crate::melody_source::{MelodyAsked, MelodySource};
use crate::outputs::Outputs;
use crate::picks::{self, PinOption, ScaleOption};

/// The command.
pub const COMMAND: Command = Command {
    name: "comp",
    arguments: "\"CHART\" | - | --file FILE [--key KEY] [--tempo BPM] [--texture NAME] [--voicings FILE] [--pin N=NOTES] [--scale N=NAME] [--melody NOTES] [--melody-from FILE] [--melody-part NAME] [--yield off|tensions|register] [--under close|drop2|double-lead] [--single-under MS] [--rhythm NAME] [--swing PERCENT] [--touch MS] [--touch-velocity STEPS] [--variation PERCENT] [--seed N] [--ninth 9|b9|#9] [--eleventh none|#11] [--thirteenth none|13|b13] [--plain-ninth none|9] [--minor-eleventh none|11] [--major-eleventh none|#11] [--major-tonic 6|maj7] [--minor-tonic 6|b7|m(maj7)] [--json] [--mid FILE] [--musicxml FILE] [--staves one|grand|none] [--forms] [--words forms,degrees,scales] [--wav FILE]",
    summary: "play a chart on the built plugin and print its chords",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(arguments)))
    },
};

/// The tempi that are accepted.
const TEMPI_BPM: RangeInclusive<f64> = 20.0..=400.0;

/// The most sharps or flats that a signature has.
const MOST_SIGNS: i8 = 7;

struct Arguments {
    chart: ChartSource,
    /// What to play; its chart is read later.
    request: Request,
    json: bool,
    mid: Option<PathBuf>,
    musicxml: Option<PathBuf>,
    /// The staves of the page. If none are asked for, there are as many as the hands need.
    staves: Option<Staves>,
    /// What the page says of the chords in words.
    words: Words,
    wav: Option<PathBuf>,
    /// Voicings to pin, and scales to choose, for chords of the chart.
    pins: Vec<PinOption>,
    scales: Vec<ScaleOption>,
    /// The file of the player's own voicings.
    voicings: Option<PathBuf>,
    /// The melody; if it comes from a file and no chart is given, the chart does too.
    melody: Option<MelodySource>,
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut chart = None;
    let mut arguments = Arguments {
        chart: ChartSource::Input,
        request: Request::new(""),
        json: false,
        mid: None,
        musicxml: None,
        staves: None,
        words: Words::default(),
        wav: None,
        pins: Vec::new(),
        scales: Vec::new(),
        voicings: None,
        melody: None,
    };
    let mut texture = None;
    let mut melody = MelodyAsked::default();
    let request = &mut arguments.request;
    while let Some(argument) = parser.next()? {
        match argument {
            Value(text) => ChartSource::argument(&mut chart, text)?,
            Long("file") => ChartSource::option(&mut chart, parser)?,
            Long("key") => request.key = Some(parser.value()?.parse_with(key)?),
            Long("tempo") => request.tempo_bpm = parser.value()?.parse_with(tempo)?,
            Long("texture") => texture = Some(parser.value()?.parse_with(texture_asked)?),
            Long("voicings") => arguments.voicings = Some(command::file(parser)?),
            Long("pin") => arguments.pins.push(parser.value()?.parse_with(picks::pin)?),
            Long("scale") => arguments
                .scales
                .push(parser.value()?.parse_with(picks::scale)?),
            Long("melody") => melody.text(parser)?,
            Long("melody-from") => melody.file(parser)?,
            Long("melody-part") => melody.part(parser)?,
            Long("yield") => request.yielding = melody.with(parser, "--yield", yielding)?,
            Long("under") => request.blocks = Some(melody.with(parser, "--under", style)?),
            Long("single-under") => {
                melody.needs("--single-under");
                request.single_under_ms = number(parser, 0..=2000, "a time in milliseconds")?
            }
            Long("rhythm") => request.rhythm = parser.value()?.parse_with(rhythm)?,
            Long("swing") => {
                request.hand.swing = Some(number(parser, 50..=75, "a swing in percent")?)
            }
            Long("touch") => {
                request.hand.touch_ms = number(parser, 0..=30, "a touch in milliseconds")?
            }
            Long("touch-velocity") => {
                request.hand.touch_velocity =
                    number(parser, 0..=20, "a touch in steps of velocity")?
            }
            Long("variation") => {
                request.hand.variation = number(parser, 0..=100, "a variation in percent")?
            }
            Long("seed") => request.hand.seed = Some(number(parser, 0..=9999, "a seed")?),
            Long("json") => arguments.json = true,
            Long("mid") => arguments.mid = Some(command::file(parser)?),
            Long("musicxml") => arguments.musicxml = Some(command::file(parser)?),
            Long("staves") => arguments.staves = Some(parser.value()?.parse_with(staves)?),
            Long("forms") => arguments.words.forms = true,
            Long("words") => arguments.words = parser.value()?.parse_with(words)?,
            Long("wav") => arguments.wav = Some(command::file(parser)?),
            Long(name) => {
                let Some(option) = tension(name) else {
                    return Err(Long(name).unexpected());
                };
                let asked = |word: &str| request.ask(&option, word);
                parser.value()?.parse_with(asked)?;
            }
            other => return Err(other.unexpected()),
        }
    }
    let is_mine = arguments.voicings.is_some();
    match texture {
        Some(TextureAsked::Of(_)) if is_mine => {
            return Err("--voicings FILE goes with --texture my".into());
        }
        Some(TextureAsked::Mine) if !is_mine => {
            return Err("--texture my needs --voicings FILE".into());
        }
        Some(TextureAsked::Of(texture)) => arguments.request.texture = texture,
        Some(TextureAsked::Mine) | None => {}
    }
    arguments.request.tone = arguments.wav.is_some();
    arguments.melody = melody.finish()?;
    if let (None, Some(MelodySource::File { path, .. })) = (&chart, &arguments.melody) {
        chart = Some(ChartSource::File(path.clone()));
    }
    arguments.chart = chart.ok_or("a chart is missing, such as \"| Dm7 | G7 | Cmaj7 |\"")?;
    Ok(arguments)
}

/// Reads a key.
pub fn key(text: &str) -> Result<Key, String> {
    let key =
        Key::parse(text).ok_or("expected a key such as C, Bb, F#m, \"Eb minor\" or \"G blues\"")?;
    let signs = key.signature();
    if signs.abs() <= MOST_SIGNS {
        return Ok(key);
    }
    let usual = Key::usual(key.tonic.class(), key.mode);
    let name = if signs > 0 { "sharps" } else { "flats" };
    Err(format!(
        "{key} has {} {name}; expected {usual}",
        signs.abs()
    ))
}

/// Reads a chord symbol.
pub fn chord(text: &str) -> Result<Chord, String> {
    symbol::parse(text).map_err(|error| error.to_string())
}

/// Reads a tempo.
pub fn tempo(text: &str) -> Result<f64, String> {
    let tempo = text.parse().ok().filter(|t| TEMPI_BPM.contains(t));
    tempo.ok_or_else(|| "expected 20 to 400 beats a minute".to_owned())
}

/// Reads a whole number within limits.
fn number<T>(
    parser: &mut lexopt::Parser,
    within: RangeInclusive<T>,
    what: &str,
) -> Result<T, lexopt::Error>
where
    T: Copy + Display + FromStr + PartialOrd,
{
    parser.value()?.parse_with(|text| {
        let number = text.parse().ok().filter(|number| within.contains(number));
        number.ok_or_else(|| format!("expected {what}, {} to {}", within.start(), within.end()))
    })
}

fn tension(name: &str) -> Option<TensionOption> {
    TENSIONS.into_iter().find(|option| option.name == name)
}

/// A texture as it is asked for.
#[derive(Clone, Copy)]
enum TextureAsked {
    /// One of the table.
    Of(Texture),
    /// The player's own voicings.
    Mine,
}

fn texture_asked(text: &str) -> Result<TextureAsked, String> {
    if text == "my" {
        return Ok(TextureAsked::Mine);
    }
    let textures = Texture::ALL.into_iter().map(TextureAsked::Of);
    let all: Vec<TextureAsked> = textures.chain([TextureAsked::Mine]).collect();
    let former = [
        ("fourths", TextureAsked::Of(Texture::Fourths)),
        ("open", TextureAsked::Of(Texture::Open)),
        ("any rotation", TextureAsked::Of(Texture::AnyRotation)),
    ];
    let name = |texture| match texture {
        TextureAsked::Of(texture) => texture.name(),
        TextureAsked::Mine => "my voicings",
    };
    named(text, &all, name, &former)
}

/// Reads one of the textures of the table.
pub fn texture(text: &str) -> Result<Texture, String> {
    match texture_asked(text) {
        Ok(TextureAsked::Of(texture)) => Ok(texture),
        Ok(TextureAsked::Mine) => {
            Err("expected a texture, and not voicings of your own".to_owned())
        }
        Err(error) => Err(error),
    }
}

/// Reads the player's own voicings.
fn voicings_in(path: &Path) -> Result<OwnVoicings> {
    let name = path.display();
    let file = File::open(path).with_context(|| format!("cannot read {name}"))?;
    let mut bytes = Vec::new();
    // One byte more than is read tells that the file is too large.
    let most = u64::try_from(LARGEST_FILE)? + 1;
    let read = file.take(most).read_to_end(&mut bytes);
    read.with_context(|| format!("cannot read {name}"))?;
    let voicings = own_voicings::read(&bytes);
    voicings.map_err(|error| Misunderstood(format!("{name} holds no voicings: {error}")).into())
}

fn rhythm(text: &str) -> Result<Rhythm, String> {
    let former = [("hold", Rhythm::Hold), ("push", Rhythm::Push)];
    named(text, &Rhythm::ALL, Rhythm::words, &former)
}

fn staves(text: &str) -> Result<Staves, String> {
    match text {
        "one" => Ok(Staves::One),
        "grand" => Ok(Staves::Grand),
        "none" => Ok(Staves::Symbols),
        _ => Err("expected one, grand or none".to_owned()),
    }
}

fn words(text: &str) -> Result<Words, String> {
    let mut words = Words::default();
    for word in text.split(',') {
        match word.trim() {
            "forms" => words.forms = true,
            "degrees" => words.degrees = true,
            "scales" => words.scales = true,
            _ => return Err("expected forms, degrees and scales, or some of them".to_owned()),
        }
    }
    Ok(words)
}

fn yielding(text: &str) -> Result<Yielding, String> {
    match text {
        "off" => Ok(Yielding::Off),
        "tensions" => Ok(Yielding::Tensions),
        "register" => Ok(Yielding::TensionsAndRegister),
        _ => Err("expected off, tensions or register".to_owned()),
    }
}

fn style(text: &str) -> Result<Style, String> {
    sung::style(text).ok_or_else(|| "expected close, drop2 or double-lead".to_owned())
}

/// Finds a value by its name, or by one that it had in former versions; capitals, hyphens and
/// underscores do not matter.
fn named<T: Copy>(
    text: &str,
    all: &[T],
    name: fn(T) -> &'static str,
    former: &[(&str, T)],
) -> Result<T, String> {
    let plain = |name: &str| name.replace(['-', '_'], " ").to_lowercase();
    let found = all
        .iter()
        .copied()
        .find(|one| plain(name(*one)) == plain(text));
    let formerly = former.iter().find(|(name, _)| *name == plain(text));
    found.or(formerly.map(|(_, one)| *one)).ok_or_else(|| {
        let names: Vec<String> = all.iter().map(|one| name(*one).to_lowercase()).collect();
        format!("expected one of: {}", names.join(", "))
    })
}

fn run(mut arguments: Arguments) -> Result<()> {
    let (mut kept, said) = match &arguments.melody {
        Some(melody) if melody.is_also(&arguments.chart) => melody.chart(&arguments.chart)?,
        _ => arguments.chart.kept()?,
    };
    picks::add(&mut kept, &arguments.pins, &arguments.scales)?;
    arguments.request.pick(kept);
    if let Some(path) = &arguments.voicings {
        arguments.request.own = Some(voicings_in(path)?);
    }
    let mut said = said;
    if let Some(melody) = &arguments.melody {
        let of_melody = melody.put(&mut arguments.request)?;
        if !melody.is_also(&arguments.chart) {
            said.extend(of_melody);
        }
    }
    for line in said.iter().chain(&arguments.request.not_suggested()) {
        eprintln!("{line}");
    }
    let made = play(&arguments.request)?;
    let mut outputs = Outputs::default();
    if let Some(path) = &arguments.mid {
        outputs.add(path, midi::write(&made.score));
    }
    if let Some(path) = &arguments.musicxml {
        outputs.add(path, page(&made, &arguments).into_bytes());
    }
    if let Some(path) = &arguments.wav {
        outputs.add(path, wave(&made)?);
    }
    // The files first: whoever reads what is printed may end this program by going away.
    let written = outputs.write();
    if arguments.json {
        println!("{}", serde_json::to_string_pretty(&made.report)?);
    } else {
        print!("{}", made.report);
    }
    written
}

/// Builds the plugin, plays a request on it, and checks what it plays. A chart that cannot be read
/// is reported before anything is built.
pub fn play(request: &Request) -> Result<Comp> {
    if let Err(errors) = request.read() {
        return Err(unreadable(&errors));
    }
    let clap = build::release_plugin()?.clap;
    Ok(comp(&clap, request)?)
}

/// Says that a chart cannot be read, and why.
pub fn unreadable(errors: &ChartErrors) -> anyhow::Error {
    Misunderstood(format!("the chart cannot be read\n{errors}")).into()
}

/// The performance as a page of MusicXML.
fn page(made: &Comp, arguments: &Arguments) -> String {
    let two_hands = (made.score.comping.iter()).any(|note| note.hand == Hand::Right);
    let needed = if two_hands {
        Staves::Grand
    } else {
        Staves::One
    };
    let page = Page {
        staves: arguments.staves.unwrap_or(needed),
        words: arguments.words,
        ..Page::default()
    };
    musicxml::write(&made.score, page)
}

/// The audition tone as a wave file.
pub fn wave(made: &Comp) -> Result<Vec<u8>> {
    let (left, right) = (&made.performance.left, &made.performance.right);
    let rate = 48_000;
    wav::bytes(rate, left, right).context("the sound does not fit into a wave file")
}

#[cfg(test)]
mod tests;
