//! The folders in which hosts look for plug-ins. It imports `build` and `command`; `install` and
//! `uninstall` import it.

use std::env;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use lexopt::prelude::*;

use crate::build::Bundles;
use crate::command;

/// Where to install to, or to uninstall from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Destination {
    /// The user's own plug-in folders.
    User,
    /// One directory for both bundles, for packagers and tests.
    Directory(PathBuf),
}

/// Reads `[--to DIR]`, the only option of `install` and `uninstall`.
pub fn read(parser: &mut lexopt::Parser) -> Result<Destination, lexopt::Error> {
    let mut destination = Destination::User;
    while let Some(argument) = parser.next()? {
        match argument {
            Long("to") => destination = Destination::Directory(command::file(parser)?),
            other => return Err(other.unexpected()),
        }
    }
    Ok(destination)
}

/// The paths of both bundles. Fails if the system does not say where the user's files are.
pub fn places(destination: &Destination) -> Result<Bundles> {
    match destination {
        Destination::Directory(directory) => Ok(Bundles::within(directory)),
        Destination::User if cfg!(windows) => {
            let base = env::var_os("LOCALAPPDATA").context("LOCALAPPDATA is not set")?;
            Ok(user_places(env::consts::OS, Path::new(&base)))
        }
        Destination::User => {
            let home = env::home_dir().context("this user has no home directory")?;
            Ok(user_places(env::consts::OS, &home))
        }
    }
}

/// The paths of a user on the system `os`, below `base`: the home directory, or on Windows the
/// local application data.
fn user_places(os: &str, base: &Path) -> Bundles {
    let (clap, vst3) = match os {
        "macos" => ("Library/Audio/Plug-Ins/CLAP", "Library/Audio/Plug-Ins/VST3"),
        "windows" => ("Programs/Common/CLAP", "Programs/Common/VST3"),
        _ => (".clap", ".vst3"),
    };
    Bundles {
        clap: Bundles::within(&base.join(clap)).clap,
        vst3: Bundles::within(&base.join(vst3)).vst3,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn destination(arguments: &[&str]) -> Result<Destination, lexopt::Error> {
        read(&mut lexopt::Parser::from_args(arguments))
    }

    #[test]
    fn the_user_is_meant_unless_a_directory_is_named() {
        assert_eq!(destination(&[]).unwrap(), Destination::User);
        let directory = Destination::Directory("some/where".into());
        assert_eq!(destination(&["--to", "some/where"]).unwrap(), directory);
        assert!(destination(&["--to"]).is_err(), "no directory follows");
        assert!(destination(&["some/where"]).is_err(), "not an option");
    }

    #[test]
    fn each_system_has_its_own_folders() {
        let expected = [
            ("linux", ".clap", ".vst3"),
            (
                "macos",
                "Library/Audio/Plug-Ins/CLAP",
                "Library/Audio/Plug-Ins/VST3",
            ),
            ("windows", "Programs/Common/CLAP", "Programs/Common/VST3"),
        ];
        let base = Path::new("base");
        for (os, clap, vst3) in expected {
            let places = user_places(os, base);
            assert_eq!(places.clap, base.join(clap).join("Guidehand.clap"), "{os}");
            assert_eq!(places.vst3, base.join(vst3).join("Guidehand.vst3"), "{os}");
        }
    }

    #[test]
    fn a_named_directory_holds_both() {
        let places = places(&Destination::Directory("some/where".into())).unwrap();
        assert_eq!(places.clap, Path::new("some/where/Guidehand.clap"));
        assert_eq!(places.vst3, Path::new("some/where/Guidehand.vst3"));
    }
}
