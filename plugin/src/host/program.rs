//! The program that needs no host: our own options, and then the framework, which opens a sound
//! server and the panel. The main thread; imports `options` and `plugin`; `lib` exports it.

use crate::host::options::{self, Asked, HELP};
use crate::host::plugin::Guidehand;
use jack::{Client, ClientOptions, LoggerType};
use nice_plug::prelude::nice_export_standalone_with_args;
use std::process::ExitCode;

/// JACK may lengthen its blocks up to this without asking the framework.
const LONGEST_BLOCK_FRAMES: u32 = 2048;

/// A client of JACK, if there is a server. Under JACK the framework passes over its options for the rate
/// and the length of a block, but prepares the plugin by them (nice-plug 0.4.2).
fn jack_client() -> Option<Client> {
    // What there is to complain of the framework says in a moment.
    jack::set_logger(LoggerType::None);
    let client = Client::new("guidehand-rate", ClientOptions::NO_START_SERVER);
    jack::set_logger(LoggerType::default());
    client.ok().map(|(client, _)| client)
}

/// Runs the program with these arguments, the first of which is its name, until it is ended.
pub fn run(arguments: impl IntoIterator<Item = String>) -> ExitCode {
    let Asked {
        program,
        help,
        rate_of_jack,
        mut rest,
    } = options::read(arguments);
    if help {
        println!("{HELP}");
    } else if rate_of_jack && let Some(client) = jack_client() {
        let (rate, frames) = (client.sample_rate(), client.buffer_size());
        let frames = frames.max(LONGEST_BLOCK_FRAMES);
        rest.push(format!("--sample-rate={rate}"));
        rest.push(format!("--period-size={frames}"));
    }
    options::set(program);
    if nice_export_standalone_with_args::<Guidehand, _>(rest) {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
