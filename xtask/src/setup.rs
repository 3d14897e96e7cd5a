//! Installs the tools that the tests need, where they are missing. It imports `python` and `workspace`;
//! commands import it.

use std::env;
use std::ffi::OsStr;
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use xshell::{Shell, cmd};

use crate::python;
use crate::workspace::Workspace;

/// Parts of the Rust toolchain: the command of Cargo, and its name for `rustup`.
const COMPONENTS: &[(&str, &str)] = &[("fmt", "rustfmt"), ("clippy", "clippy")];

/// What the tests of the panel's window need: a virtual screen, and the libraries that draw in
/// software and read the keyboard; and a session bus for its file dialogs, with the library that
/// opens them. Each pair is a program and a Debian package; the libraries are installed with the
/// program.
pub const SCREEN: &[(&str, &str)] = if cfg!(target_os = "linux") {
    &[
        ("Xvfb", "xvfb"),
        ("Xvfb", "libgl1"),
        ("Xvfb", "libgl1-mesa-dri"),
        ("Xvfb", "libxkbcommon-x11-0"),
        ("dbus-daemon", "dbus-daemon"),
        ("dbus-daemon", "libdbus-1-3"),
    ]
} else {
    &[]
};

/// What the tests of the program without a host hear it with: a sound server, and programs that print
/// and record what it carries. Each row is installed after the one before, for some versions of Debian
/// ship the programs with the server.
const JACK: &[(&str, &str)] = if cfg!(target_os = "linux") {
    &[
        ("jackd", "jackd2"),
        ("jack_midi_dump", "jack-example-tools"),
    ]
} else {
    &[]
};

/// What the program without a host is linked with, on Linux: the name for `pkg-config`, and the
/// Debian package.
const SOUND: &[(&str, &str)] = if cfg!(target_os = "linux") {
    &[("alsa", "libasound2-dev"), ("jack", "libjack-jackd2-dev")]
} else {
    &[]
};

/// How long `apt-get` waits for another `apt-get` to end.
const APT_WAITS_SECONDS: u64 = 600;

/// Installs everything that `cargo xtask test` runs besides Cargo and the compiler.
pub fn for_tests(workspace: &Workspace) -> Result<()> {
    ensure_components(&workspace.shell)?;
    ensure_packages(&workspace.shell, SCREEN)?;
    for program in JACK {
        ensure_packages(&workspace.shell, &[*program])?;
    }
    for_standalone(workspace)?;
    eprintln!("{}", python::for_tests(&workspace.target).display());
    Ok(())
}

/// Installs what the program without a host is built with.
pub fn for_standalone(workspace: &Workspace) -> Result<()> {
    let shell = &workspace.shell;
    if !SOUND.is_empty() {
        ensure_packages(shell, &[("pkg-config", "pkg-config")])?;
    }
    let mut packages = Vec::new();
    for (library, package) in SOUND {
        let found = cmd!(shell, "pkg-config --exists {library}");
        if !found.quiet().ignore_status().output()?.status.success() {
            packages.push(*package);
        }
    }
    install(shell, &packages)
}

/// Adds the missing parts of the toolchain in use.
fn ensure_components(shell: &Shell) -> Result<()> {
    for (command, component) in COMPONENTS {
        let present = || {
            let version = cmd!(shell, "cargo {command} --version");
            version.quiet().ignore_stderr().read()
        };
        if let Ok(version) = present() {
            eprintln!("{version}");
            continue;
        }
        cmd!(shell, "rustup component add {component}")
            .run()
            .with_context(|| format!("this Rust toolchain lacks {component}"))?;
        present().with_context(|| format!("{component} was added and still does not run"))?;
    }
    Ok(())
}

/// Installs the Debian packages of programs that are not on the path. Each pair is a program and
/// its package. Where there is no `apt-get`, fails and names the packages.
pub fn ensure_packages(shell: &Shell, programs: &[(&str, &str)]) -> Result<()> {
    let path = env::var_os("PATH").unwrap_or_default();
    install(shell, &missing(programs, &path))
}

/// Installs Debian packages, if there are any to install.
fn install(shell: &Shell, packages: &[&str]) -> Result<()> {
    if packages.is_empty() {
        return Ok(());
    }
    let path = env::var_os("PATH").unwrap_or_default();
    ensure!(
        on_path("apt-get", &path),
        "please install these first (by their Debian names): {}",
        packages.join(", ")
    );
    apt_get(shell, &["update"])?;
    let install = ["install", "--yes", "--no-install-recommends"];
    apt_get(shell, &[&install[..], packages].concat())
}

/// Runs `apt-get` as root. While another `apt-get` runs, waits for up to [`APT_WAITS_SECONDS`].
fn apt_get(shell: &Shell, arguments: &[&str]) -> Result<()> {
    // Both programs take variables before the command.
    let as_root = match cmd!(shell, "id -u").quiet().read()?.as_str() {
        "0" => "env",
        _ => "sudo",
    };
    // There may be nobody to answer the questions of a package. Its messages are read below, so
    // they have to be in English.
    let variables = ["DEBIAN_FRONTEND=noninteractive", "LC_ALL=C"];
    let waits = format!("DPkg::Lock::Timeout={APT_WAITS_SECONDS}");
    let start = Instant::now();
    loop {
        let command = cmd!(
            shell,
            "{as_root} {variables...} apt-get -o {waits} {arguments...}"
        );
        let output = command.ignore_status().output()?;
        let errors = String::from_utf8_lossy(&output.stderr);
        eprint!("{errors}");
        if output.status.success() {
            return Ok(());
        }
        // The option makes it wait for the lock of the packages, but not for that of the lists.
        let locked = errors.contains("Could not get lock");
        let patient = start.elapsed() < Duration::from_secs(APT_WAITS_SECONDS);
        ensure!(locked && patient, "apt-get {arguments:?} failed");
        thread::sleep(Duration::from_secs(5));
    }
}

/// The packages of the programs that are not on `path`, each once.
fn missing<'a>(programs: &[(&str, &'a str)], path: &OsStr) -> Vec<&'a str> {
    let absent = programs
        .iter()
        .filter(|(program, _)| !on_path(program, path));
    let mut packages: Vec<&str> = absent.map(|(_, package)| *package).collect();
    packages.sort_unstable();
    packages.dedup();
    packages
}

fn on_path(program: &str, path: &OsStr) -> bool {
    env::split_paths(path).any(|directory| directory.join(program).is_file())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_absent_programs_want_their_packages() {
        let shell = Shell::new().unwrap();
        let [first, second] = [(); 2].map(|()| shell.create_temp_dir().unwrap());
        shell.write_file(second.path().join("here"), "").unwrap();
        shell.create_dir(first.path().join("directory")).unwrap();
        let path = env::join_paths([first.path(), second.path()]).unwrap();

        let programs = [
            ("here", "package-of-here"),
            ("there", "shared"),
            ("directory", "package-of-directory"),
            ("elsewhere", "shared"),
        ];
        assert_eq!(
            missing(&programs, &path),
            ["package-of-directory", "shared"]
        );
    }
}
