//! `cargo xtask hosts`: tries the release build in two programs from Debian's packages. qtractor
//! loads the CLAP bundle, shows its panel and plays its chart, on an invisible screen and a silent
//! sound server. Ardour's scanner loads the VST3 bundle. In both the panel is resized (`hosts/window.rs`). It imports `build`, `command`,
//! `setup` and `workspace`; only `main` imports it. Linux only.

mod window;

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Child, Command as Program, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail, ensure};
use guidehand_tests::screen::Screen;
use xshell::{Shell, cmd};

use crate::build;
use crate::command::{self, Command};
use crate::setup;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "hosts",
    arguments: "",
    summary: "load the plugin in qtractor (CLAP) and Ardour (VST3), with pictures in target/hosts",
    read: |parser| {
        command::nothing_more(parser)?;
        Ok(Box::new(run))
    },
};

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

fn run() -> Result<()> {
    let workspace = Workspace::locate()?;
    setup::ensure_packages(&workspace.shell, setup::SCREEN)?;
    setup::ensure_packages(&workspace.shell, PACKAGES)?;
    let bundles = build::release_plugin()?;
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
    run.ardour(&bundles.vst3)?;
    window::ardour(run.shell, &bundles.vst3, &run.folder, &run.home)?;
    run.qtractor(&bundles.clap)
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
    /// Loads the bundle with Ardour's scanner, as Ardour does, and checks what it found.
    fn ardour(&self, vst3: &Path) -> Result<()> {
        let files = cmd!(self.shell, "dpkg -L ardour").quiet().read()?;
        let scanner = files
            .lines()
            .find(|file| file.ends_with("ardour-vst3-scanner"))
            .context("the package ardour has no scanner for VST3")?;
        let libraries = Path::new(scanner).parent().unwrap_or(Path::new("/"));
        let said = cmd!(self.shell, "{scanner} -f -v {vst3}")
            .env("LD_LIBRARY_PATH", libraries)
            .env("HOME", &self.home)
            .read()?;
        let found = |words: &str| said.lines().any(|line| line.contains(words));
        ensure!(
            found("Found Plugin: Guidehand"),
            "Ardour found nothing:\n{said}"
        );
        ensure!(
            found("n_midi_inputs=\"1\" n_midi_outputs=\"1\""),
            "Ardour found no MIDI:\n{said}"
        );
        println!("Ardour's scanner loads the VST3 bundle");
        Ok(())
    }

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
    fn a_session_names_the_bundle() {
        let session = session_of(Path::new("/somewhere/Guidehand.clap"));
        assert!(session.contains("<filename>/somewhere/Guidehand.clap</filename>"));
    }
}
