//! Ardour as Debian installs it: where its programs are, and its scanner, which loads the VST3 bundle.
//! `loops` and `window` import it. Linux only.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command as Program, Stdio};
use std::time::{Duration, SystemTime};

use anyhow::{Context, Result, ensure};
use guidehand_tests::vst3::bundle;
use xshell::{Shell, cmd};

/// Where Debian keeps what Ardour's programs look for, below these folders.
const FOLDERS: [(&str, &str); 6] = [
    ("ARDOUR_DATA_PATH", "/usr/share"),
    ("ARDOUR_CONFIG_PATH", "/etc"),
    ("ARDOUR_DLL_PATH", "/usr/lib"),
    ("LD_LIBRARY_PATH", "/usr/lib"),
    ("GTK_PATH", "/usr/lib"),
    ("VAMP_PATH", "/usr/lib"),
];

const SCANNER: &str = "ardour-vst3-scanner";

/// Ardour, with a home of its own.
pub struct Ardour<'a> {
    /// The home.
    pub home: &'a Path,
    /// The folder of its programs.
    programs: PathBuf,
    /// The one with the window.
    pub main: String,
    /// The name of the folders of its version.
    pub version: String,
}

impl<'a> Ardour<'a> {
    /// Finds the programs of the Debian package.
    pub fn find(shell: &Shell, home: &'a Path) -> Result<Self> {
        let files = cmd!(shell, "dpkg -L ardour").quiet().read()?;
        let scanner = files.lines().find(|file| file.ends_with(SCANNER));
        let scanner = Path::new(scanner.context("the package ardour has no scanner for VST3")?);
        let programs = scanner.parent().context("a file in a folder")?;
        let version = programs.file_name().and_then(|name| name.to_str());
        let names = files.lines().map(Path::new);
        let inside = names.filter(|file| file.parent() == Some(programs));
        let mut names = inside.filter_map(|file| file.file_name()?.to_str());
        let main = names.find(|name| {
            let version = name.strip_prefix("ardour-");
            version.is_some_and(|version| version.starts_with(|c: char| c.is_ascii_digit()))
        });
        Ok(Ardour {
            home,
            programs: programs.to_owned(),
            main: main
                .context("the package ardour has no program")?
                .to_owned(),
            version: version
                .context("Ardour's programs are in no folder of its version")?
                .to_owned(),
        })
    }

    /// One of its programs, with what it looks for.
    pub fn program(&self, name: &str) -> Program {
        let mut program = Program::new(self.programs.join(name));
        for (variable, folder) in FOLDERS {
            program.env(variable, Path::new(folder).join(&self.version));
        }
        program
            .env("HOME", self.home)
            .env("XDG_CONFIG_HOME", self.home.join(".config"))
            .env("XDG_CACHE_HOME", self.home.join(".cache"))
            .env("XDG_RUNTIME_DIR", self.home)
            .env_remove("VST3_PATH");
        program
    }

    /// Lays the bundle into Ardour's home and scans it, as Ardour does. Gives the id of its class.
    pub fn scan(&self, vst3: &Path) -> Result<String> {
        let folder = self.home.join(".vst3");
        fs::create_dir_all(&folder)?;
        let bundle = bundle::lay_out(&bundle::library_in(vst3), &folder)?;
        // Ardour believes its scanner only if that ran a second after the plugin was written.
        let before = SystemTime::now() - Duration::from_secs(60);
        File::options()
            .write(true)
            .open(bundle::library_in(&bundle))?
            .set_modified(before)?;
        let said = read(self.program(SCANNER).args(["-f", "-v"]).arg(&bundle))?;
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
        let class = said.split("VST3Info uid=\"").nth(1);
        let class = class.and_then(|rest| rest.split('"').next());
        Ok(class.context("Ardour tells no class")?.to_owned())
    }
}

/// Runs a program to its end. Gives all that it said.
pub fn read(program: &mut Program) -> Result<String> {
    let output = program.stdin(Stdio::null()).output()?;
    let said = [&output.stdout, &output.stderr].map(|said| String::from_utf8_lossy(said));
    let said = said.concat();
    ensure!(output.status.success(), "{program:?} failed:\n{said}");
    Ok(said)
}
