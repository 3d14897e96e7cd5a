//! What can go wrong in the host, sorted by what the caller can do about it.
//! May be imported by every module of this crate; imports [`Event`] only.

use crate::event::Event;
use clack_host::plugin::PluginInstanceError;
use std::error::Error;
use std::fmt;
use std::path::PathBuf;

/// An error of the host, or of the plugin as the host sees it.
#[derive(Debug)]
pub enum HostError {
    /// Only the test command knows this path. Run that command.
    NoPath {
        /// The environment variable that should hold the path.
        variable: &'static str,
    },
    /// The file is not a CLAP library that loads here. Check the path and the build.
    Open {
        /// The file that was tried.
        path: PathBuf,
        /// The loader's message.
        reason: String,
    },
    /// The library holds no plugin with this id. Check the id.
    NoPlugin {
        /// The id that was asked for.
        id: String,
        /// The ids that the library offers.
        offered: Vec<String>,
    },
    /// No parameter has this id or name. Check the test.
    NoParam(String),
    /// The call does not fit the state of the host, for example processing before activation.
    /// Correct the test.
    Misuse(String),
    /// The event cannot be sent to a plugin. Correct the test.
    NotSendable(Event),
    /// The plugin lacks an extension that the call needs.
    NoExtension(&'static str),
    /// The plugin refused a call that a host may make.
    Refused(&'static str),
    /// The plugin broke a rule of CLAP.
    Protocol(String),
    /// The plugin could not be created, activated or run.
    Instance(PluginInstanceError),
}

/// An error of an editor's window, for a person to read.
#[cfg(target_os = "linux")]
pub(crate) type WindowError = Box<dyn Error + Send + Sync>;

/// The host was misused: `what` it was asked to do.
pub(crate) fn misuse(what: &str) -> HostError {
    HostError::Misuse(what.to_owned())
}

impl fmt::Display for HostError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoPath { variable } => write!(
                f,
                "{variable} is not set: run the tests with `cargo xtask test`, which builds the \
                 plugin and sets it, or set it to the path of a built .clap"
            ),
            Self::Open { path, reason } => write!(f, "cannot load {}: {reason}", path.display()),
            Self::NoPlugin { id, offered } => {
                write!(f, "no plugin {id}: the library offers {offered:?}")
            }
            Self::NoParam(what) => write!(f, "the plugin has no parameter {what}"),
            Self::Misuse(what) => write!(f, "the host was misused: {what}"),
            Self::NotSendable(event) => write!(f, "no CLAP event for {event:?}"),
            Self::NoExtension(name) => write!(f, "the plugin lacks the extension {name}"),
            Self::Refused(what) => write!(f, "the plugin refused to {what}"),
            Self::Protocol(what) => write!(f, "the plugin broke a rule of CLAP: {what}"),
            Self::Instance(error) => write!(f, "the plugin instance failed: {error}"),
        }
    }
}

impl Error for HostError {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        match self {
            Self::Instance(error) => Some(error),
            _ => None,
        }
    }
}

impl From<PluginInstanceError> for HostError {
    fn from(error: PluginInstanceError) -> Self {
        Self::Instance(error)
    }
}
