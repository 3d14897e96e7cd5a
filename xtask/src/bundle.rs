//! `cargo xtask bundle`: builds the plugin in the layouts that hosts load. It imports `build`,
//! `command`, `setup` and `workspace`; only `main` imports it.

use anyhow::Result;
use lexopt::prelude::*;

use crate::build::{self, Profile};
use crate::command::Command;
use crate::setup;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "bundle",
    arguments: "[--release] [--standalone]",
    summary: "build Guidehand.clap and Guidehand.vst3 into target/bundled, or the program that needs no host",
    read: |parser| {
        let (profile, standalone) = read(parser)?;
        Ok(Box::new(move || run(profile, standalone)))
    },
};

fn read(parser: &mut lexopt::Parser) -> Result<(Profile, bool), lexopt::Error> {
    let (mut profile, mut standalone) = (Profile::Dev, false);
    while let Some(argument) = parser.next()? {
        match argument {
            Long("release") => profile = Profile::Release,
            Long("standalone") => standalone = true,
            other => return Err(other.unexpected()),
        }
    }
    Ok((profile, standalone))
}

fn run(profile: Profile, standalone: bool) -> Result<()> {
    if standalone {
        let workspace = Workspace::locate()?;
        setup::for_standalone(&workspace)?;
        println!("{}", build::standalone(&workspace, profile)?.display());
        return Ok(());
    }
    let bundles = build::bundles(&Workspace::locate()?, profile)?;
    println!("{}\n{}", bundles.clap.display(), bundles.vst3.display());
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arguments(arguments: &[&str]) -> Result<(Profile, bool), String> {
        read(&mut lexopt::Parser::from_args(arguments)).map_err(|error| error.to_string())
    }

    #[test]
    fn two_words_are_known() {
        assert_eq!(arguments(&[]), Ok((Profile::Dev, false)));
        assert_eq!(arguments(&["--release"]), Ok((Profile::Release, false)));
        assert_eq!(arguments(&["--standalone"]), Ok((Profile::Dev, true)));
        assert_eq!(
            arguments(&["--fast"]),
            Err("invalid option '--fast'".into())
        );
        assert!(arguments(&["release"]).is_err());
    }
}
