//! Where the built plugins lie, and the plugin's id. The paths come from the environment, where the
//! command that builds the plugins sets them. A test never guesses a path, and a
//! missing path is an error rather than a reason to skip. Imports [`HostError`] only.

use crate::error::HostError;
use std::ffi::OsString;
use std::path::PathBuf;

/// The plugin's CLAP id.
pub const PLUGIN_ID: &str = "org.guidehand.guidehand";

/// The environment variable with the path of the built plugin.
pub const PLUGIN: &str = "GUIDEHAND_CLAP";

/// The environment variable with the path of the built passthrough plugin.
pub const PASSTHROUGH: &str = "GUIDEHAND_PASSTHROUGH_CLAP";

/// Set to anything, makes the passthrough plugin of the tests allocate in every block.
pub const PLANTED_ALLOCATION: &str = "GUIDEHAND_PLANTED_ALLOCATION";

/// The environment variable with the path of the program that needs no host.
pub const STANDALONE: &str = "GUIDEHAND_STANDALONE";

/// The program that needs no host.
///
/// # Panics
/// If [`STANDALONE`] is not set; the message names the command that sets it.
#[must_use]
pub fn standalone_path() -> PathBuf {
    expect(STANDALONE)
}

/// The built plugin.
///
/// # Panics
/// If [`PLUGIN`] is not set; the message names the command that sets it.
#[must_use]
pub fn plugin_path() -> PathBuf {
    expect(PLUGIN)
}

/// The built passthrough plugin.
///
/// # Panics
/// If [`PASSTHROUGH`] is not set; the message names the command that sets it.
#[must_use]
pub fn passthrough_path() -> PathBuf {
    expect(PASSTHROUGH)
}

/// A path from the value of an environment variable.
///
/// # Errors
/// [`HostError::NoPath`] if there is no value or an empty one.
pub fn path_from(variable: &'static str, value: Option<OsString>) -> Result<PathBuf, HostError> {
    value
        .filter(|value| !value.is_empty())
        .map(PathBuf::from)
        .ok_or(HostError::NoPath { variable })
}

fn expect(variable: &'static str) -> PathBuf {
    match path_from(variable, std::env::var_os(variable)) {
        Ok(path) => path,
        Err(error) => panic!("{error}"),
    }
}
