//! How the program that needs no host was started, kept where the plugin finds it when the framework
//! makes it. In a host there is nothing. The main thread; imports `bridge::ends`; `plugin` and
//! `program` import it.

use crate::bridge::ends::Program;
use std::sync::OnceLock;

/// Set once, by the program.
static PROGRAM: OnceLock<Program> = OnceLock::new();

/// How the program was started; none in a host.
#[must_use]
pub fn program() -> Option<Program> {
    PROGRAM.get().copied()
}

/// Keeps how the program was started, for every instance from now on.
#[cfg(feature = "standalone")]
pub fn set(program: Program) {
    // There is one program, which starts once.
    let _first = PROGRAM.set(program);
}
