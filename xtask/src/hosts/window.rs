//! The panel's window in real programs: it is resized from the panel, and what a program does not
//! give is taken back. In Ardour the panel opens with a session that its own script makes. Imports
//! `ardour` and `build`; only `hosts` imports it. Linux only.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail, ensure};
use guidehand_tests::scene::{LARGER_ZOOM_AT, ZOOMS_AT};
use guidehand_tests::screen::Screen;
use xshell::{Shell, cmd};

use super::ardour::{self, Ardour};
use crate::build;

/// What Ardour runs to make a session.
const SCRIPT: &str = include_str!("window.lua");

/// What spares Ardour its questions: an engine that needs no sound card, started by itself.
const SETTINGS: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Ardour>
  <Config>
    <Option name="try-autostart-engine" value="1"/>
    <Option name="hide-dummy-backend" value="0"/>
  </Config>
  <Extra>
    <AudioMIDISetup>
      <EngineStates>
        <State backend="None (Dummy)" driver="Normal Speed" device="Silence" input-device="" output-device="" sample-rate="48000" buffer-size="1024" n-periods="0" input-latency="0" output-latency="0" lm-input="" lm-output="" active="1" use-buffered-io="0" midi-option="" lru="1"><MIDIDevices/></State>
      </EngineStates>
    </AudioMIDISetup>
  </Extra>
</Ardour>
"#;

/// How long a program may take to show its window.
const PATIENCE: Duration = Duration::from_secs(90);
/// Longer than the panel waits for a program that keeps silent, and than a program takes to draw.
const SETTLES: Duration = Duration::from_secs(5);

/// Width and height in pixels.
type Size = (i16, i16);

/// The panel's first size, and the same at 125 %.
const PLAIN: Size = (960, 760);
const LARGER: Size = (1_200, 950);
/// A size with more room than that.
const ROOMY: Size = (1_220, 960);
/// How far its corner is dragged then.
const DRAGGED: Size = (-100, -60);

/// A screen with a program on it.
#[derive(Clone, Copy)]
pub struct Desk<'a> {
    /// Runs other programs.
    pub shell: &'a Shell,
    /// The screen.
    pub screen: &'a Screen,
    /// Where pictures go.
    pub folder: &'a Path,
}

/// Where a window is.
#[derive(Debug)]
struct Place {
    left: i16,
    top: i16,
    size: Size,
}

impl Desk<'_> {
    fn x11(&self, arguments: &[&str]) -> Result<String> {
        let command = cmd!(self.shell, "xdotool {arguments...}").envs(self.screen.variables());
        Ok(command.quiet().ignore_stderr().read()?)
    }

    fn picture(&self, name: &str) -> Result<PathBuf> {
        let path = self.folder.join(name).with_extension("png");
        cmd!(self.shell, "import -window root {path}")
            .envs(self.screen.variables())
            .run()?;
        Ok(path)
    }

    /// The number of the first window with such a title.
    fn find(&self, name: &str) -> Option<String> {
        let found = self
            .x11(&["search", "--onlyvisible", "--name", name])
            .ok()?;
        found.lines().next().map(ToOwned::to_owned)
    }

    fn place(&self, window: &str) -> Result<Place> {
        let told = self.x11(&["getwindowgeometry", "--shell", window])?;
        let value = |name: &str| {
            let mut values = told.lines().filter_map(|line| line.strip_prefix(name));
            let value = values.next().context("xdotool tells no geometry")?;
            Ok::<i16, anyhow::Error>(value.parse()?)
        };
        Ok(Place {
            left: value("X=")?,
            top: value("Y=")?,
            size: (value("WIDTH=")?, value("HEIGHT=")?),
        })
    }

    /// Moves the pointer to a place of the panel.
    fn point(&self, panel: &Place, (x, y): (i16, i16)) -> Result<()> {
        let [x, y] = [panel.left + x, panel.top + y].map(|at| at.to_string());
        self.x11(&["mousemove", &x, &y])?;
        thread::sleep(Duration::from_millis(400));
        Ok(())
    }

    /// Chooses 125 % in the panel's list.
    fn choose_larger(&self) -> Result<()> {
        let panel = self.place(&self.find("^Guidehand$").context("no panel")?)?;
        let right = panel.size.0 - PLAIN.0;
        for (x, y) in [ZOOMS_AT, LARGER_ZOOM_AT] {
            self.point(&panel, (x + right, y))?;
            self.x11(&["click", "1"])?;
            thread::sleep(Duration::from_millis(800));
        }
        thread::sleep(SETTLES);
        Ok(())
    }

    /// Drags the panel's corner by some pixels.
    fn drag_corner(&self, (right, down): Size) -> Result<()> {
        const STEPS: i16 = 10;
        let panel = self.place(&self.find("^Guidehand$").context("no panel")?)?;
        let (width, height) = panel.size;
        self.point(&panel, (width - 1, height - 1))?;
        self.x11(&["mousedown", "1"])?;
        for step in 1..=STEPS {
            let at = (width + right / STEPS * step, height + down / STEPS * step);
            self.point(&panel, at)?;
        }
        self.x11(&["mouseup", "1"])?;
        thread::sleep(SETTLES);
        Ok(())
    }

    /// Checks the size of the panel, and that the program's window around it is as large.
    fn expect(&self, host: &str, size: Size, picture: &str) -> Result<()> {
        let path = self.picture(picture)?;
        let panel = self.place(&self.find("^Guidehand$").context("no panel")?)?;
        let around = self.place(&self.find(host).context("no window around the panel")?)?;
        ensure!(
            panel.size == size,
            "{picture}: the panel has {:?}, wanted {size:?}; see {}",
            panel.size,
            path.display()
        );
        let right = panel.left + panel.size.0 <= around.left + around.size.0;
        let down = panel.top + panel.size.1 <= around.top + around.size.1;
        ensure!(
            right && down,
            "{picture}: {panel:?} is cut by {around:?}; see {}",
            path.display()
        );
        println!("{picture}: {size:?}, see {}", path.display());
        Ok(())
    }
}

/// Resizes the panel in qtractor, where it is open. qtractor 0.9.31 does nothing when a plugin asks
/// for its main thread, so the panel can only take what qtractor's own window gives.
pub fn qtractor(desk: Desk) -> Result<()> {
    const HOST: &str = "Guidehand - Guidehand";
    desk.choose_larger()?;
    desk.expect(HOST, PLAIN, "qtractor-panel-kept")?;
    let host = desk.find(HOST).context("no window of qtractor")?;
    let [width, height] = [ROOMY.0, ROOMY.1].map(|side| side.to_string());
    desk.x11(&["windowsize", "--sync", &host, &width, &height])?;
    thread::sleep(SETTLES);
    desk.choose_larger()?;
    desk.expect(HOST, ROOMY, "qtractor-panel-125")
}

/// A program in the background. It is ended when this is dropped.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        // These fail only where the program has ended by itself.
        let _gone = self.0.kill();
        let _gone = self.0.wait();
    }
}

/// Opens the panel of the VST3 bundle in Ardour, and resizes it by its zoom and by its corner.
/// `folder` takes pictures, and `home` is Ardour's home.
pub fn ardour(shell: &Shell, ardour: &Ardour, folder: &Path) -> Result<()> {
    const HOST: &str = "^Guide: Guidehand";
    // Ardour expects the name of the session in that of its folder.
    let session = folder.join("window");
    build::remove(&session)?;
    prepare(ardour, &session, folder)?;
    let screen = Screen::start()?;
    let desk = Desk {
        shell,
        screen: &screen,
        folder,
    };
    let log = File::create(folder.join("ardour.log"))?;
    let mut program = ardour.program(&ardour.main);
    let child = program
        .args(["--no-splash", "--no-announcements"])
        .arg(&session)
        .envs(screen.variables())
        .stdin(Stdio::null())
        .stdout(log.try_clone()?)
        .stderr(log)
        .spawn()
        .context("cannot start Ardour")?;
    let mut running = Running(child);
    let start = Instant::now();
    while desk.find("^Guidehand$").is_none() {
        let ended = running.0.try_wait()?.is_some();
        if ended || start.elapsed() > PATIENCE {
            let picture = desk.picture("ardour-waits")?;
            bail!("Ardour shows no panel: see {}", picture.display());
        }
        thread::sleep(Duration::from_millis(250));
    }
    thread::sleep(SETTLES);
    desk.expect(HOST, PLAIN, "ardour-panel")?;
    desk.choose_larger()?;
    desk.expect(HOST, LARGER, "ardour-panel-125")?;
    desk.drag_corner(DRAGGED)?;
    let dragged = (LARGER.0 + DRAGGED.0, LARGER.1 + DRAGGED.1);
    desk.expect(HOST, dragged, "ardour-panel-dragged")?;
    ensure!(
        running.0.try_wait()?.is_none(),
        "Ardour ended; see ardour.log"
    );
    Ok(())
}

/// Makes the session and the settings of Ardour, which has scanned the bundle.
fn prepare(ardour: &Ardour, session: &Path, folder: &Path) -> Result<()> {
    let script = folder.join("window.lua");
    fs::write(&script, SCRIPT)?;
    let mut lua = ardour.program("luasession");
    ardour::read(lua.arg(&script).arg(session).arg("Guidehand"))?;
    let settings = ardour.home.join(".config").join(&ardour.version);
    fs::create_dir_all(&settings)?;
    fs::write(settings.join("config"), SETTINGS)?;
    // Without this file it asks what it asks everyone at first.
    let number = ardour.version.trim_start_matches("ardour");
    fs::write(settings.join(format!(".a{number}")), "")?;
    Ok(())
}
