//! `cargo xtask engrave`: lets LilyPond set a page from our MusicXML, as a picture. It imports
//! `command`, `outputs`, `setup` and `workspace`; only `main` imports it.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, anyhow, ensure};
use guidehand_exchange::musicxml::{self, Form, Page, Staves};
use guidehand_exchange::score::Score;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::shape::Texture;
use lexopt::prelude::*;
use xshell::{Cmd, cmd};

use crate::command::{self, Command};
use crate::outputs;
use crate::setup;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "engrave",
    arguments: "[--out FILE]",
    summary: "set a page of music with LilyPond into plugin/pictures/page.png",
    read: |parser| {
        let out = read(parser)?;
        Ok(Box::new(move || run(out.as_deref())))
    },
};

/// LilyPond and its reader of MusicXML, which are one Debian package.
const LILYPOND: &[(&str, &str)] = &[("lilypond", "lilypond"), ("musicxml2ly", "lilypond")];

/// A chart with repeats, endings, letters, changes of the meter and an uneven bar. `musicxml2ly`
/// has no word for `N.C.`, and names half-diminished and altered chords wrongly, so the chart has
/// none of them.
const CHART: &str = "[A] | Em7 A7(b9) | Dm7 G7 Db7 |
    [B] |: Cmaj7 | Am7 A7(b13) | Dm9 | [1 G13 | Em7 A7(b9) :| [2 G7(b9) | C6/9 |
    [C] | 3/4 F#m7 B7(b9) | Em9 | 4/4 Dm9 / / G13 | C6/9 |";

fn read(parser: &mut lexopt::Parser) -> Result<Option<PathBuf>, lexopt::Error> {
    let mut out = None;
    while let Some(argument) = parser.next()? {
        match argument {
            Long("out") => out = Some(command::file(parser)?),
            other => return Err(other.unexpected()),
        }
    }
    Ok(out)
}

fn run(out: Option<&Path>) -> Result<()> {
    let workspace = Workspace::locate()?;
    setup::ensure_packages(&workspace.shell, LILYPOND)?;
    let folder = workspace.target.join("engrave");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    workspace.shell.change_dir(&folder);
    fs::write(folder.join("page.musicxml"), page()?)?;
    let shell = &workspace.shell;
    quietly(cmd!(shell, "musicxml2ly --output=page.ly page.musicxml"))?;
    let lilypond = ["--png", "-dcrop", "-dresolution=130", "--loglevel=WARN"];
    quietly(cmd!(shell, "lilypond {lilypond...} --output=page page.ly"))?;
    let pictures = Workspace::locate()?
        .shell
        .current_dir()
        .join("plugin/pictures");
    let out = out.map_or_else(|| pictures.join("page.png"), Path::to_owned);
    let picture = fs::read(folder.join("page.cropped.png"))?;
    outputs::save(&out, picture)?;
    println!("{}", out.display());
    Ok(())
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
            words: false,
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
