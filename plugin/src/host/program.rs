//! The program that needs no host: our own options, and then the framework, which opens a sound
//! server and the panel. The main thread; imports `arguments`, `options` and `plugin`; `lib` exports it.

mod arguments;

use crate::host::options;
use crate::host::plugin::Guidehand;
use arguments::{Asked, HELP};
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
pub fn run(words: impl IntoIterator<Item = String>) -> ExitCode {
    let Asked {
        program,
        help,
        may_be_jack,
        remark,
        mut rest,
    } = arguments::read(words);
    if let Some(remark) = remark {
        eprintln!("{remark}");
    }
    if help {
        println!("{HELP}");
    } else if may_be_jack && let Some(client) = jack_client() {
        let frames = client.buffer_size().max(LONGEST_BLOCK_FRAMES);
        arguments::add_server(&mut rest, client.sample_rate(), frames);
    }
    options::set(program);
    if nice_export_standalone_with_args::<Guidehand, _>(rest) {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
