//! A file that another program holds, for tests: whoever opens it has to wait until the holder
//! lets go of it, or for the time in `/proc/sys/fs/lease-break-time` (Linux, `fcntl(2)`,
//! `F_SETLEASE`). Only tests import it.

use std::fs::{File, OpenOptions};
use std::io;
use std::os::fd::AsRawFd;
use std::path::Path;

/// Which signal tells the holder (Linux, `asm-generic/fcntl.h`).
const F_SETSIG: i32 = 10;

/// Holds a file until it is dropped.
pub struct Lease(#[expect(dead_code, reason = "the lease ends when it is closed")] File);

impl Lease {
    pub fn of(path: &Path) -> Lease {
        let file = OpenOptions::new().read(true).write(true).open(path);
        let file = file.unwrap();
        // The system tells the holder by a signal. This one is ignored unless somebody
        // listens; the usual one ends the process.
        set(&file, F_SETSIG, libc::SIGURG);
        set(&file, libc::F_SETLEASE, libc::F_WRLCK);
        Lease(file)
    }
}

fn set(file: &File, what: i32, value: i32) {
    // SAFETY: the descriptor is open, and both commands take a whole number.
    let done = unsafe { libc::fcntl(file.as_raw_fd(), what, value) };
    assert_eq!(done, 0, "{}", io::Error::last_os_error());
}
