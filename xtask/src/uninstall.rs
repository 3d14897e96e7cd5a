//! `cargo xtask uninstall`: removes what `install` has copied. It imports `build`, `command`
//! and `folders`; only `main` imports it.

use anyhow::Result;

use crate::build::{self, Bundles};
use crate::command::Command;
use crate::folders;

/// The command.
pub const COMMAND: Command = Command {
    name: "uninstall",
    arguments: "[--to DIR]",
    summary: "remove both bundles from your plug-in folders, or from DIR",
    read: |parser| {
        let destination = folders::read(parser)?;
        Ok(Box::new(move || remove(&folders::places(&destination)?)))
    },
};

fn remove(places: &Bundles) -> Result<()> {
    for place in [&places.clap, &places.vst3] {
        let what = if build::remove(place)? {
            "removed"
        } else {
            "not installed:"
        };
        println!("{what} {}", place.display());
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use xshell::Shell;

    use super::*;

    #[test]
    fn takes_both_bundles_and_nothing_else() {
        let shell = Shell::new().unwrap();
        let temporary = shell.create_temp_dir().unwrap();
        let places = Bundles::within(temporary.path());
        let neighbour = temporary.path().join("Neighbour.clap");
        shell.write_file(&neighbour, "").unwrap();
        shell.write_file(&places.clap, "").unwrap();
        shell.create_dir(places.vst3.join("Contents")).unwrap();

        remove(&places).unwrap();
        assert_eq!(shell.read_dir(temporary.path()).unwrap(), [neighbour]);
        remove(&places).expect("that nothing is there is no error");
    }
}
