//! Whether the desktop offers a file dialog: the dialogs of rfd 0.17 give the same answer where
//! there is none as where the player closes one. A thread of `disk` asks; `dialog` imports it.

use rustbus::connection::{self, Timeout, ll_conn::force_finish_on_error};
use rustbus::{MessageBuilder, MessageType, RpcConn};
use std::fmt;
use std::path::Path;
use std::time::Duration;

/// How long the bus may take to start the portal: the time that its own library allows.
const PATIENCE: Duration = Duration::from_secs(25);

/// What is missing.
#[derive(Debug, PartialEq, Eq)]
pub enum Missing {
    /// No session bus answers.
    Bus,
    /// Nothing on the bus offers file dialogs.
    Portal,
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Missing::Bus => "the desktop's session bus does not answer",
            Missing::Portal => "the desktop portal (xdg-desktop-portal) offers none",
        })
    }
}

/// Asks the portal for the version of its file dialogs
/// (`org.freedesktop.portal.FileChooser`, XDG Desktop Portal). The bus starts the portal for it.
///
/// # Errors
/// There is none.
pub fn find() -> Result<(), Missing> {
    let timeout = Timeout::Duration(PATIENCE);
    let mut bus = match RpcConn::session_conn(timeout) {
        Ok(bus) => bus,
        Err(connection::Error::NoAddressFound) if has_usual_bus() => return Ok(()),
        // The dialog's own library knows other addresses.
        Err(connection::Error::AddressTypeNotSupported(_)) => return Ok(()),
        Err(_) => return Err(Missing::Bus),
    };
    let mut call = MessageBuilder::new()
        .call("Get")
        .on("/org/freedesktop/portal/desktop")
        .with_interface("org.freedesktop.DBus.Properties")
        .at("org.freedesktop.portal.Desktop")
        .build();
    call.body
        .push_param2("org.freedesktop.portal.FileChooser", "version")
        .map_err(|_| Missing::Portal)?;
    let sent = bus.send_message(&mut call).and_then(|message| {
        let written = message.write(timeout);
        written.map_err(force_finish_on_error)
    });
    let answer = sent.and_then(|serial| bus.wait_response(serial, timeout));
    match answer {
        Ok(answer) if answer.typ == MessageType::Reply => Ok(()),
        _ => Err(Missing::Portal),
    }
}

/// Whether the session bus lies where systemd puts it. Its address need not be told then.
fn has_usual_bus() -> bool {
    // SAFETY: it takes nothing and cannot fail (POSIX, `getuid`).
    let user = unsafe { libc::getuid() };
    Path::new(&format!("/run/user/{user}/bus")).exists()
}
