//! The folders in which hosts look for plug-ins. It imports `build`; `install` and `uninstall`
//! import it.

use std::env;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use lexopt::prelude::*;

use crate::build::Bundles;

/// Which folders to install into.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Choice {
    /// The user's own plug-in folders.
    User,
    /// One directory for both bundles, for packagers and tests.
    Directory(PathBuf),
}

/// Reads `[--to DIR]`, all that `install` and `uninstall` take.
pub fn read(parser: &mut lexopt::Parser) -> Result<Choice, lexopt::Error> {
    let mut choice = Choice::User;
    while let Some(argument) = parser.next()? {
        match argument {
            Long("to") => choice = Choice::Directory(parser.value()?.into()),
            other => return Err(other.unexpected()),
        }
    }
    Ok(choice)
}

/// Where the bundles go, or are to be removed from. Fails when the system does not say where the
/// user's files are.
pub fn places(choice: &Choice) -> Result<Bundles> {
    match choice {
        Choice::Directory(directory) => Ok(Bundles::within(directory)),
        Choice::User if cfg!(windows) => {
            let base = env::var_os("LOCALAPPDATA").context("LOCALAPPDATA is not set")?;
            Ok(user_places(env::consts::OS, Path::new(&base)))
        }
        Choice::User => {
            let home = env::home_dir().context("this user has no home directory")?;
            Ok(user_places(env::consts::OS, &home))
        }
    }
}

/// The user's places on the system `os`, below `base`: the home directory, or on Windows the
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

    fn choice(arguments: &[&str]) -> Result<Choice, lexopt::Error> {
        read(&mut lexopt::Parser::from_args(arguments))
    }

    #[test]
    fn the_user_is_meant_unless_a_directory_is_named() {
        assert_eq!(choice(&[]).unwrap(), Choice::User);
        let directory = Choice::Directory("some/where".into());
        assert_eq!(choice(&["--to", "some/where"]).unwrap(), directory);
        assert!(choice(&["--to"]).is_err(), "no directory follows");
        assert!(choice(&["some/where"]).is_err(), "not an option");
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
        let places = places(&Choice::Directory("some/where".into())).unwrap();
        assert_eq!(places.clap, Path::new("some/where/Guidehand.clap"));
        assert_eq!(places.vst3, Path::new("some/where/Guidehand.vst3"));
    }
}
