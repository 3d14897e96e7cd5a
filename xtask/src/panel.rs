//! `cargo xtask panel`: pictures of the plugin's panel, drawn by the built plugin on a screen that
//! nobody sees. It imports `build`, `command`, `setup` and `workspace`; only `main` imports it.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process;
use std::time::Duration;

use anyhow::{Context, Result, anyhow, ensure};
use guidehand_tests::comp::PLUGIN_ID;
use guidehand_tests::screen::Screen;
use guidehand_tests::session::Player;
use guidehand_tests::window::Window;
use guidehand_tests::{Host, Session, TransportChange};
use lexopt::prelude::*;

use crate::build;
use crate::command::Command;
use crate::setup;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "panel",
    arguments: "[--out DIR] [--plugin CLAP]",
    summary: "draw the panel into pictures; with --plugin, that one's on the display at hand",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

const RATE_HZ: f64 = 48_000.0;
const TEMPO_BPM: f64 = 120.0;
/// Long enough for a frame to be drawn in software.
const SETTLE: Duration = Duration::from_millis(700);
/// Where the chart's text can be clicked, in pixels.
const IN_THE_CHART: (i16, i16) = (600, 440);

#[derive(Debug, Default, PartialEq, Eq)]
struct Arguments {
    out: Option<PathBuf>,
    plugin: Option<PathBuf>,
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut arguments = Arguments::default();
    while let Some(argument) = parser.next()? {
        match argument {
            Long("out") => arguments.out = Some(parser.value()?.into()),
            Long("plugin") => arguments.plugin = Some(parser.value()?.into()),
            other => return Err(other.unexpected()),
        }
    }
    Ok(arguments)
}

fn run(arguments: &Arguments) -> Result<()> {
    let workspace = Workspace::locate()?;
    let out = match &arguments.out {
        Some(out) => out.clone(),
        None => workspace.target.join("panel"),
    };
    fs::create_dir_all(&out).with_context(|| format!("cannot create {}", out.display()))?;
    match &arguments.plugin {
        Some(plugin) => draw(plugin, &out),
        None => {
            setup::ensure_packages(&workspace.shell, setup::SCREEN)?;
            draw_unseen(&build::release_plugin()?.clap, &out)
        }
    }
}

/// Runs this command again in a process whose environment names the screen.
fn draw_unseen(plugin: &Path, out: &Path) -> Result<()> {
    let screen = Screen::start().context("cannot start a virtual screen")?;
    let status = process::Command::new(env::current_exe()?)
        .arg(COMMAND.name)
        .args(["--out".as_ref(), out.as_os_str()])
        .args(["--plugin".as_ref(), plugin.as_os_str()])
        .envs(screen.variables())
        .status()?;
    ensure!(status.success(), "no pictures were drawn: {status}");
    Ok(())
}

/// What a picture shows: what happens before it is taken.
struct Scene {
    name: &'static str,
    /// Parameters by name, in their own words.
    params: &'static [(&'static str, &'static str)],
    /// Keys with their start and end in quarter notes.
    keys: &'static [(i16, f64, f64)],
    /// Whether the song plays.
    plays: bool,
    /// When the picture is taken, in quarter notes.
    at_beats: f64,
    /// What is typed into the chart before anything else.
    types: Option<&'static str>,
    /// The window's size in pixels, if it is another than the plugin's own.
    size: Option<(u32, u32)>,
}

const PLAIN: Scene = Scene {
    name: "first",
    params: &[],
    keys: &[],
    plays: false,
    at_beats: 0.5,
    types: None,
    size: None,
};

const SCENES: [Scene; 8] = [
    PLAIN,
    Scene {
        name: "roots",
        params: &[("Mode", "Minor")],
        keys: &[(43, 0.5, 4.0)],
        at_beats: 1.5,
        ..PLAIN
    },
    Scene {
        name: "released",
        keys: &[(36, 0.5, 2.0)],
        at_beats: 3.0,
        ..PLAIN
    },
    Scene {
        name: "reading",
        params: &[("Chords from", "Playing"), ("Split", "C5")],
        keys: &[
            (53, 0.5, 4.0),
            (57, 0.5, 4.0),
            (59, 0.5, 4.0),
            (64, 0.5, 4.0),
        ],
        at_beats: 1.5,
        ..PLAIN
    },
    Scene {
        name: "chart",
        params: &[("Chords from", "Chart"), ("Bass", "On")],
        plays: true,
        at_beats: 14.5,
        ..PLAIN
    },
    Scene {
        name: "error",
        params: &[("Chords from", "Chart")],
        types: Some("| Dm7 | H7 | Cmaj7 | Am7x |\n| Dm7 G7 / | C6 |"),
        ..PLAIN
    },
    Scene {
        name: "small",
        params: &[
            ("Chords from", "Chart"),
            ("Texture", "Two hands"),
            ("Ninth", "#9"),
        ],
        plays: true,
        at_beats: 5.5,
        size: Some((840, 616)),
        ..PLAIN
    },
    Scene {
        name: "large",
        params: &[("Chords from", "Chart"), ("Register to", "E5")],
        types: Some("3/4 | Bbmaj7#11/F | Ebm(maj7) |\n| Ab13sus4 | F#m7b5/C | N.C. |"),
        plays: true,
        at_beats: 2.0,
        size: Some((1240, 840)),
        ..PLAIN
    },
];

fn draw(plugin: &Path, out: &Path) -> Result<()> {
    for scene in &SCENES {
        let path = out.join(scene.name).with_extension("png");
        picture(plugin, scene, &path)
            .map_err(|error| anyhow!("the picture {} failed: {error}", scene.name))?;
        println!("{}", path.display());
    }
    Ok(())
}

fn picture(
    plugin: &Path,
    scene: &Scene,
    path: &Path,
) -> Result<(), Box<dyn std::error::Error + Send + Sync>> {
    let mut host = Host::open(plugin, PLUGIN_ID)?;
    for (name, words) in scene.params {
        let id = host.param_by_name(name)?.id;
        let value = host.text_to_value(id, words)?;
        host.set_param(id, value)?;
    }
    let mut window = Window::open(&mut host, Duration::ZERO)?;
    if let Some((width, height)) = scene.size {
        window.resize(&mut host, width, height)?;
    }
    window.wait(&mut host, SETTLE)?;
    if let Some(text) = scene.types {
        window.click(&mut host, IN_THE_CHART.0, IN_THE_CHART.1)?;
        window.select_all(&mut host)?;
        window.type_text(&mut host, text)?;
    }
    let session = session(scene);
    let mut player = Player::start(&mut host, &session)?;
    window.play(&mut player, session.length_samples - 1, RATE_HZ)?;
    window.wait(player.host(), SETTLE)?;
    let picture = window.picture()?;
    if picture.colours() < 2 {
        return Err("the window is blank".into());
    }
    picture.save(path)?;
    drop(player);
    window.close(&mut host)?;
    Ok(())
}

fn session(scene: &Scene) -> Session {
    let mut session = Session::new(RATE_HZ, TEMPO_BPM, 0);
    session.length_samples = session.samples_at(scene.at_beats) + 1;
    let end = session.length_samples;
    for (key, start_beats, end_beats) in scene.keys {
        let at = |beats: f64| session.samples_at(beats).min(end - 1);
        let (start, end) = (at(*start_beats), at(*end_beats));
        session.note(start, end, *key);
    }
    if !scene.plays {
        session.change(0, TransportChange::Stop);
    }
    session
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arguments(words: &[&str]) -> Result<Arguments, String> {
        read(&mut lexopt::Parser::from_args(words)).map_err(|error| error.to_string())
    }

    #[test]
    fn both_options_take_a_path() {
        let read = arguments(&["--out", "a", "--plugin", "b.clap"]);
        let wanted = Arguments {
            out: Some("a".into()),
            plugin: Some("b.clap".into()),
        };
        assert_eq!(read, Ok(wanted));
        assert_eq!(arguments(&[]), Ok(Arguments::default()));
        assert!(arguments(&["--out"]).is_err());
        assert!(arguments(&["roots"]).is_err());
    }
}
