//! `cargo xtask bundle`: the plugin in the layouts that hosts load. It imports `build`,
//! `command` and `workspace`; only `main` imports it.

use anyhow::Result;
use lexopt::prelude::*;

use crate::build::{self, Profile};
use crate::command::Command;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "bundle",
    arguments: "[--release]",
    summary: "build Guidehand.clap and Guidehand.vst3 into target/bundled",
    read: |parser| {
        let profile = read(parser)?;
        Ok(Box::new(move || run(profile)))
    },
};

fn read(parser: &mut lexopt::Parser) -> Result<Profile, lexopt::Error> {
    let mut profile = Profile::Dev;
    while let Some(argument) = parser.next()? {
        match argument {
            Long("release") => profile = Profile::Release,
            other => return Err(other.unexpected()),
        }
    }
    Ok(profile)
}

fn run(profile: Profile) -> Result<()> {
    let bundles = build::bundles(&Workspace::locate()?, profile)?;
    println!("{}\n{}", bundles.clap.display(), bundles.vst3.display());
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn profile(arguments: &[&str]) -> Result<Profile, String> {
        read(&mut lexopt::Parser::from_args(arguments)).map_err(|error| error.to_string())
    }

    #[test]
    fn only_release_is_optional() {
        assert_eq!(profile(&[]), Ok(Profile::Dev));
        assert_eq!(profile(&["--release"]), Ok(Profile::Release));
        assert_eq!(profile(&["--fast"]), Err("invalid option '--fast'".into()));
        assert!(profile(&["release"]).is_err());
    }
}
