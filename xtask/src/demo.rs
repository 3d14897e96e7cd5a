//! `cargo xtask demo`: plays a chart and a line of roots on the built plugin, and writes both into
//! files. It imports `command`, `comp`, `outputs` and `workspace`; only `main` imports it.

use anyhow::Result;
use guidehand_exchange::midi;
use guidehand_report::request::{Request, Root};
use guidehand_tests::golden;

use crate::command::{self, Command};
use crate::comp;
use crate::outputs::Outputs;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "demo",
    arguments: "",
    summary: "build the plugin, play a chart and a line of roots on it, write target/demo",
    read: |parser| {
        command::nothing_more(parser)?;
        Ok(Box::new(run))
    },
};

/// Roots below the split, with their length in quarter notes: around the circle in C, through
/// the substitute to the tonic.
const ROOTS: [(u8, u8); 8] = [
    (38, 4),
    (43, 4),
    (36, 4),
    (45, 4),
    (38, 2),
    (37, 2),
    (36, 4),
    (36, 4),
];

fn run() -> Result<()> {
    let request = Request {
        tempo_bpm: 132.0,
        roots: ROOTS.map(|(key, beats)| Root { key, beats }).to_vec(),
        ..Request::new(golden::CHART)
    };
    let made = comp::play(&request)?;
    println!("The chart, then a line of roots in C, as they came out of the built plugin:\n");
    print!("{}", made.report);
    let folder = Workspace::locate()?.target.join("demo");
    let (notes, wave) = (folder.join("demo.mid"), folder.join("demo.wav"));
    let mut outputs = Outputs::default();
    outputs.add(&notes, midi::write(&made.score));
    outputs.add(&wave, comp::wave(&made)?);
    outputs.write()?;
    println!("\n{}\n{}", notes.display(), wave.display());
    Ok(())
}
