//! The program that needs no host: our own options, and then the framework, which opens a sound
//! server and the panel. The main thread; imports `options` and `plugin`; `lib` exports it.

use crate::host::options::{self, Asked, HELP};
use crate::host::plugin::Guidehand;
use nice_plug::prelude::nice_export_standalone_with_args;
use std::process::ExitCode;

/// Runs the program with these arguments, the first of which is its name, until it is ended.
pub fn run(arguments: impl IntoIterator<Item = String>) -> ExitCode {
    let Asked {
        program,
        help,
        rest,
    } = options::read(arguments);
    if help {
        println!("{HELP}");
    }
    options::set(program);
    if nice_export_standalone_with_args::<Guidehand, _>(rest) {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
