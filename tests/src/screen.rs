//! An invisible screen for windows and pictures of them: a virtual X server with software graphics.
//! Imports no other module.

use std::io::{self, BufRead, BufReader};
use std::process::{Child, Command, Stdio};

/// The server's program.
const SERVER: &str = "Xvfb";

/// A virtual screen. It ends when this is dropped.
///
/// Plugins look for their display in the environment. It cannot be changed in a process that has
/// threads, so code that opens windows runs in a process of its own, with [`Screen::variables`] in
/// its environment.
pub struct Screen {
    server: Child,
    display: String,
}

impl Screen {
    /// Starts a server on a display of its own choice.
    ///
    /// # Errors
    /// If the server cannot be started, or ends before it has a display.
    pub fn start() -> io::Result<Self> {
        let mut server = Command::new(SERVER)
            .args(["-displayfd", "1", "-screen", "0", "2100x1000x24"])
            .args(["-nolisten", "tcp", "-noreset"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        let mut number = String::new();
        if let Some(stdout) = server.stdout.take() {
            BufReader::new(stdout).read_line(&mut number)?;
        }
        let number = number.trim().to_owned();
        let screen = Self {
            server,
            display: format!(":{number}"),
        };
        if number.is_empty() {
            return Err(io::Error::other(format!("{SERVER} has no display")));
        }
        Ok(screen)
    }

    /// What a process needs in its environment to draw on this screen.
    #[must_use]
    pub fn variables(&self) -> [(&'static str, &str); 2] {
        [
            ("DISPLAY", &self.display),
            // Mesa draws in software, whatever graphics the machine has.
            ("LIBGL_ALWAYS_SOFTWARE", "1"),
        ]
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        // A server that has already ended needs nothing more.
        let _gone = self.server.kill();
        let _gone = self.server.wait();
    }
}
