//! `cargo xtask hosts`: tries the release build in two programs from Debian's packages. qtractor
//! loads the CLAP bundle, shows its panel and plays its chart, on an invisible screen and a silent
//! sound server. Ardour loads the VST3 bundle and plays a loop (`hosts/loops.rs`). In both the panel is
//! resized (`hosts/window.rs`). It imports `build`, `command`, `setup` and `workspace`; only `main`
//! imports it. Linux only.

mod ardour;
mod loops;
mod window;

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Child, Command as Program, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail, ensure};
use guidehand_tests::screen::Screen;
use lexopt::prelude::*;
use xshell::{Shell, cmd};

use self::ardour::Ardour;
use crate::build::{self, Bundles};
use crate::command::{self, Command};
use crate::setup;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "hosts",
    arguments: "[--bundles DIR] [ardour | qtractor]",
    summary: "load the plugin in qtractor (CLAP) and Ardour (VST3), with pictures in target/hosts; with --bundles those of a folder, and no release build",
    read: |parser| {
        let arguments = read(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

/// The programs that the command tries.
const HOSTS: [&str; 2] = ["ardour", "qtractor"];

#[derive(Debug, Default, PartialEq, Eq)]
struct Arguments {
    /// The folder of built bundles.
    bundles: Option<PathBuf>,
    /// The only program to try.
    host: Option<String>,
}

impl Arguments {
    fn wants(&self, host: &str) -> bool {
        self.host.as_deref().is_none_or(|only| only == host)
    }
}

fn read(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let mut arguments = Arguments::default();
    while let Some(argument) = parser.next()? {
        match argument {
            Long("bundles") => arguments.bundles = Some(command::file(parser)?),
            Value(name) if HOSTS.iter().any(|host| name == *host) => {
                arguments.host = Some(name.string()?);
            }
            other => return Err(other.unexpected()),
        }
    }
    Ok(arguments)
}

/// Programs and the Debian packages that hold them.
const PACKAGES: &[(&str, &str)] = &[
    ("qtractor", "qtractor"),
    ("jackd", "jackd2"),
    ("xdotool", "xdotool"),
    ("import", "imagemagick"),
    ("ardour", "ardour"),
];

/// How long a program may take to show its window.
const PATIENCE: Duration = Duration::from_secs(60);
/// How long the song plays: some chords at the session's tempo.
const PLAYS: Duration = Duration::from_secs(5);
/// How long a message may take to show.
const DIALOG: Duration = Duration::from_secs(3);

/// Where the button that starts the song lies in qtractor's window, in pixels, for a user without
/// settings.
const PLAY_AT: [&str; 2] = ["240", "77"];
/// Where the plugin's name stands in the same window.
const PLUGIN_AT: [&str; 2] = ["180", "180"];

fn run(arguments: &Arguments) -> Result<()> {
    let workspace = Workspace::locate()?;
    setup::ensure_packages(&workspace.shell, setup::SCREEN)?;
    setup::ensure_packages(&workspace.shell, PACKAGES)?;
    let bundles = match &arguments.bundles {
        Some(folder) => Bundles::within(&folder.canonicalize()?),
        None => build::release_plugin()?,
    };
    let folder = workspace.target.join("hosts");
    // Neither program sees the user's own settings.
    let home = folder.join("home");
    build::remove(&home)?;
    fs::create_dir_all(&home).with_context(|| format!("cannot make {}", home.display()))?;
    let run = HostRun {
        shell: &workspace.shell,
        folder,
        home,
    };
    if arguments.wants("ardour") {
        let ardour = Ardour::find(run.shell, &run.home)?;
        let class = ardour.scan(&bundles.vst3)?;
        loops::run(&ardour, &class, &bundles, &run.folder)?;
        window::ardour(run.shell, &ardour, &run.folder)?;
    }
    if arguments.wants("qtractor") {
        run.qtractor(&bundles.clap)?;
    }
    Ok(())
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

/// One run of the programs: the folder for their pictures and logs, and a home of their own.
struct HostRun<'a> {
    shell: &'a Shell,
    folder: PathBuf,
    home: PathBuf,
}

impl HostRun<'_> {
    /// Opens a session with the plugin on a track, plays the song, and opens the panel.
    fn qtractor(&self, clap: &Path) -> Result<()> {
        let session = self.folder.join("guidehand.qtr");
        fs::write(&session, session_of(clap))?;
        let screen = Screen::start()?;
        let _jack = self.start(&screen, "jackd", &["-r", "-d", "dummy", "-r", "48000"])?;
        thread::sleep(Duration::from_secs(2));
        let session = session.to_string_lossy();
        let mut host = self.start(&screen, "qtractor", &[&session])?;
        let main = self.window(&screen, &mut host, "guidehand.qtr")?;
        thread::sleep(PLAYS);
        self.picture(&screen, "qtractor-session")?;
        let double: &[&str] = &["click", "--repeat", "2", "--delay", "80", "1"];
        for (at, click) in [(PLAY_AT, &["click", "1"] as &[&str]), (PLUGIN_AT, double)] {
            let [x, y] = at;
            self.x11(&screen, &["mousemove", "--window", &main, x, y])?;
            self.x11(&screen, click)?;
            thread::sleep(DIALOG);
            self.dismiss(&screen)?;
        }
        self.window(&screen, &mut host, "^Guidehand$")?;
        thread::sleep(PLAYS);
        let picture = self.picture(&screen, "qtractor-panel")?;
        ensure!(
            host.0.try_wait()?.is_none(),
            "qtractor ended; see qtractor.log"
        );
        println!(
            "qtractor shows the panel of the CLAP bundle: {}",
            picture.display()
        );
        window::qtractor(window::Desk {
            shell: self.shell,
            screen: &screen,
            folder: &self.folder,
        })?;
        ensure!(
            host.0.try_wait()?.is_none(),
            "qtractor ended; see qtractor.log"
        );
        Ok(())
    }

    fn start(&self, screen: &Screen, name: &str, arguments: &[&str]) -> Result<Running> {
        let log = File::create(self.folder.join(name).with_extension("log"))?;
        let child = Program::new(name)
            .args(arguments)
            .envs(screen.variables())
            .env("HOME", &self.home)
            .env("XDG_RUNTIME_DIR", &self.home)
            // A server of its own, beside the user's.
            .env("JACK_DEFAULT_SERVER", "guidehand-hosts")
            .env("JACK_NO_AUDIO_RESERVATION", "1")
            .stdin(Stdio::null())
            .stdout(log.try_clone()?)
            .stderr(log)
            .spawn()
            .with_context(|| format!("cannot start {name}"))?;
        Ok(Running(child))
    }

    /// Waits for a window whose title contains `name`, and returns its number.
    fn window(&self, screen: &Screen, host: &mut Running, name: &str) -> Result<String> {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            ensure!(
                host.0.try_wait()?.is_none(),
                "qtractor ended; see qtractor.log"
            );
            if let Ok(found) = self.x11(screen, &["search", "--name", name])
                && let Some(window) = found.lines().next()
            {
                return Ok(window.to_owned());
            }
            self.dismiss(screen)?;
            thread::sleep(Duration::from_millis(250));
        }
        let picture = self.picture(screen, "qtractor-waits")?;
        bail!("no window named {name}; see {}", picture.display())
    }

    /// Closes the message that there is no ALSA sequencer (/dev/snd/seq). The song does not play
    /// then, and the panel shows all the same.
    fn dismiss(&self, screen: &Screen) -> Result<()> {
        let error = ["search", "--onlyvisible", "--name", "^Error"];
        if let Ok(found) = self.x11(screen, &error)
            && let Some(dialog) = found.lines().next()
        {
            self.x11(
                screen,
                &["windowfocus", dialog, "sleep", "1", "key", "Return"],
            )?;
        }
        Ok(())
    }

    fn x11(&self, screen: &Screen, arguments: &[&str]) -> Result<String> {
        let command = cmd!(self.shell, "xdotool {arguments...}").envs(screen.variables());
        Ok(command.quiet().ignore_stderr().read()?)
    }

    fn picture(&self, screen: &Screen, name: &str) -> Result<PathBuf> {
        let path = self.folder.join(name).with_extension("png");
        cmd!(self.shell, "import -window root {path}")
            .envs(screen.variables())
            .run()?;
        Ok(path)
    }
}

/// A session of one MIDI track with the plugin on it, in qtractor's own format.
fn session_of(clap: &Path) -> String {
    let clap = clap.display();
    format!(
        r#"<!DOCTYPE qtractorSession>
<session name="guidehand" version="0.9.31">
 <properties>
  <sample-rate>48000</sample-rate>
  <tempo>120</tempo>
 </properties>
 <devices>
  <audio-engine>
   <audio-bus name="Master" mode="duplex"><channels>2</channels></audio-bus>
  </audio-engine>
  <midi-engine>
   <midi-bus name="Master" mode="duplex"/>
  </midi-engine>
 </devices>
 <tracks>
  <track name="Guidehand" type="midi">
   <properties><input-bus>Master</input-bus><output-bus>Master</output-bus></properties>
   <view><height>96</height></view>
   <plugins>
    <plugin type="CLAP">
     <filename>{clap}</filename>
     <index>0</index>
     <label>Guidehand</label>
     <activated>1</activated>
    </plugin>
   </plugins>
  </track>
 </tracks>
</session>
"#
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_and_a_program_can_be_named() {
        let arguments = |words: &[&str]| {
            let read = read(&mut lexopt::Parser::from_args(words));
            read.map_err(|error| error.to_string())
        };
        let wanted = Arguments {
            bundles: Some("a".into()),
            host: Some("ardour".to_owned()),
        };
        assert_eq!(arguments(&["--bundles", "a", "ardour"]), Ok(wanted));
        assert_eq!(arguments(&[]), Ok(Arguments::default()));
        assert!(arguments(&["elsewhere"]).is_err());
        assert!(Arguments::default().wants("qtractor"));
    }

    #[test]
    fn a_session_names_the_bundle() {
        let session = session_of(Path::new("/somewhere/Guidehand.clap"));
        assert!(session.contains("<filename>/somewhere/Guidehand.clap</filename>"));
    }
}
