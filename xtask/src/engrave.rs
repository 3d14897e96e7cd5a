//! `cargo xtask engrave`: lets LilyPond set pages from our MusicXML, as pictures. It imports
//! `command`, `outputs`, `setup` and `workspace`; only `main` imports it.

use std::fs;
use std::path::PathBuf;

use anyhow::{Context, Result, anyhow, ensure};
use guidehand_exchange::musicxml::{self, Form, Page, Staves, Words};
use guidehand_exchange::score::{Score, Sung};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::comping::Yielding;
use guidehand_theory::melody;
use guidehand_theory::shape::Texture;
use guidehand_theory::under;
use lexopt::prelude::*;
use xshell::{Cmd, cmd};

use crate::command::{self, Command};
use crate::outputs;
use crate::setup;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "engrave",
    arguments: "[--melody] [--out FILE]",
    summary: "set a page of music with LilyPond into plugin/pictures, or one with a melody",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

/// What is to be set.
#[derive(Debug, Default)]
struct Arguments {
    /// Whether it is the page with a melody, or else the one of two hands.
    melody: bool,
    /// Where the picture goes.
    out: Option<PathBuf>,
}

/// LilyPond and its reader of MusicXML, which are one Debian package.
const LILYPOND: &[(&str, &str)] = &[("lilypond", "lilypond"), ("musicxml2ly", "lilypond")];

/// A chart with repeats, endings, letters, changes of the meter and an uneven bar. `musicxml2ly`
/// has no word for `N.C.`, and names half-diminished and altered chords wrongly, so the chart has
/// none of them.
const CHART: &str = "[A] | Em7 A7(b9) | Dm7 G7 Db7 |
    [B] |: Cmaj7 | Am7 A7(b13) | Dm9 | [1 G13 | Em7 A7(b9) :| [2 G7(b9) | C6/9 |
    [C] | 3/4 F#m7 B7(b9) | Em9 | 4/4 Dm9 / / G13 | C6/9 |";

/// Sixteen bars of melody, with triplets, ties over the bar line, leaps and passing notes.
const SONG: &str = "[A] | Dm7 | G7 | Cmaj7 | A7(b9) | Dm7 | G7 | C6 | A7(b9) |
    [B] | Gm7 | C7 | Fmaj7 | Bb7 | Em7 | A7(b9) | Dm7 G7 | C6 |";
const MELODY: &str = "| A4/4 D5/8 E5 F5/4 E5/8 D5 | B4/4. D5/8 G5/2 | E5/4 D5/8t E5 D5 C5/2~ | C5/4 r C#5/8 E5 G5 Bb5 \
    | A5/4. F5/8 D5/4 A4 | B4/8 C5 D5 E5 F5/4 Ab5 | G5/2. E5/4 | C#5/4 r E5/8 G5 F5 E5 \
    | D5/4. Bb4/8 G4/4 D5 | E5/2 Bb4/4 C5 | A4/8 C5 E5 G5 A5/2~ | A5/4 G5/8 F5 D5/4 Bb4 \
    | B4/8t D5 E5 G5/2. | G5/4 F5/8 E5 C#5/2 | D5/4 F5 B4 D5 | C5/1 |";

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut arguments = Arguments::default();
    while let Some(argument) = parser.next()? {
        match argument {
            Long("melody") => arguments.melody = true,
            Long("out") => arguments.out = Some(command::file(parser)?),
            other => return Err(other.unexpected()),
        }
    }
    Ok(arguments)
}

fn run(arguments: &Arguments) -> Result<()> {
    let workspace = Workspace::locate()?;
    setup::ensure_packages(&workspace.shell, LILYPOND)?;
    let pictures = workspace.shell.current_dir().join("plugin/pictures");
    let folder = workspace.target.join("engrave");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    workspace.shell.change_dir(&folder);
    let all = [
        ("page", page as fn() -> Result<String>),
        ("melody", melody_page),
    ];
    let wanted = |name: &str| arguments.melody == (name == "melody");
    for (name, make) in all.into_iter().filter(|(name, _)| wanted(name)) {
        fs::write(folder.join(format!("{name}.musicxml")), make()?)?;
        let shell = &workspace.shell;
        quietly(cmd!(
            shell,
            "musicxml2ly --output={name}.ly {name}.musicxml"
        ))?;
        let lilypond = ["--png", "-dcrop", "-dresolution=130", "--loglevel=WARN"];
        quietly(cmd!(
            shell,
            "lilypond {lilypond...} --output={name} {name}.ly"
        ))?;
        let out = arguments.out.as_ref();
        let out = out.map_or_else(|| pictures.join(format!("{name}.png")), PathBuf::clone);
        let picture = fs::read(folder.join(format!("{name}.cropped.png")))?;
        outputs::save(&out, picture)?;
        println!("{}", out.display());
    }
    Ok(())
}

/// A melody with block chords, over the chords that yield to it.
fn melody_page() -> Result<String> {
    let chart = chart::parse(SONG).map_err(|errors| anyhow!("the chart is wrong: {errors:?}"))?;
    let melody = melody::parse(MELODY, &chart);
    let melody = melody.map_err(|errors| anyhow!("the melody is wrong: {errors:?}"))?;
    let sung = Sung {
        melody: &melody,
        yielding: Yielding::TensionsAndRegister,
        blocks: Some((under::Taste::default(), 0)),
    };
    let setting = (Texture::FourNotes, Register::DEFAULT);
    let mut score = Score::planned_under(chart, 120.0, None, setting, None, Some(&sung));
    score.title = "Four-way close".to_owned();
    let page = Page {
        form: Form::Written,
        staves: Staves::One,
        bass: false,
        words: Words::default(),
    };
    Ok(musicxml::write(&score, page))
}

fn page() -> Result<String> {
    let chart = chart::parse(CHART).map_err(|errors| anyhow!("the chart is wrong: {errors:?}"))?;
    let mut score = Score::planned(chart, 132.0, None, Texture::TwoHands, Register::DEFAULT);
    score.title = "Two hands".to_owned();
    Ok(musicxml::write(
        &score,
        Page {
            form: Form::Written,
            staves: Staves::Grand,
            bass: false,
            words: Words::default(),
        },
    ))
}

/// A warning of `musicxml2ly` that is no fault of the file. It reads a repeat before the ending
/// that closes with it, whatever their order in the file, and then finds the repeat inside that
/// ending. The page comes out right.
const ITS_OWN: &str = "Encountered unprocessed marker <musicxml2ly_conversion.RepeatMarker";

/// Runs a command that must print no other warning and no error.
fn quietly(command: Cmd) -> Result<()> {
    let output = command.ignore_status().output()?;
    let said = String::from_utf8_lossy(&output.stderr);
    let complains = said
        .lines()
        .filter(|line| !line.contains(ITS_OWN))
        .any(|line| {
            let line = line.to_lowercase();
            line.contains("warning") || line.contains("error")
        });
    ensure!(output.status.success() && !complains, "{said}");
    Ok(())
}
