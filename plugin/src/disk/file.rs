//! A file on the disk, read or written whole, as part of a job that can be cancelled. Only
//! regular files are opened, and nothing waits for a pipe. A thread of `disk` runs it; the
//! panel's model imports it. Imports `bridge/job` and the crate of files.

use crate::bridge::job::Doing;
use guidehand_exchange::import::LARGEST_FILE;
use guidehand_files::{Beside, followed};
use std::fmt;
use std::fs::{self, File, FileType, Metadata, OpenOptions};
use std::io::{self, Read, Write};
use std::path::Path;
use std::thread;
use std::time::Duration;

/// So much is read or written between two looks at whether the job has been cancelled, in bytes.
const PIECE: usize = 64 * 1024;

/// The pause before a file is asked for again that another program holds.
const PAUSE: Duration = Duration::from_millis(20);

/// Why a file was not read or written.
#[derive(Debug)]
pub enum FileError {
    /// It is a folder, a pipe or another thing that is no file.
    NoFile(&'static str),
    /// It holds more than a chart can.
    TooLarge,
    /// It is there already, and was not to be replaced.
    IsThere,
    /// The job has been cancelled.
    Cancelled,
    /// What the system says.
    System(io::Error),
}

impl fmt::Display for FileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FileError::NoFile(kind) => write!(f, "it is {kind}, not a file"),
            FileError::TooLarge => {
                let mebibytes = LARGEST_FILE / (1024 * 1024);
                write!(
                    f,
                    "it is larger than {mebibytes} MiB, the most that is read"
                )
            }
            FileError::IsThere => f.write_str("it is there already"),
            FileError::Cancelled => f.write_str("it was cancelled"),
            FileError::System(error) => error.fmt(f),
        }
    }
}

impl From<io::Error> for FileError {
    fn from(error: io::Error) -> Self {
        FileError::System(error)
    }
}

/// Reads a whole file. Ends early if nobody waits for the job any more.
///
/// # Errors
/// It is no regular file, too large, or cannot be read.
pub fn read<T>(path: &Path, doing: &Doing<T>) -> Result<Vec<u8>, FileError> {
    let is_wanted = || doing.is_awaited();
    let (mut file, metadata) = open(path, OpenOptions::new().read(true), &is_wanted)?;
    let largest = u64::try_from(LARGEST_FILE).unwrap_or(u64::MAX);
    if metadata.len() > largest {
        return Err(FileError::TooLarge);
    }
    take_in(&mut file, &is_wanted)
}

/// Writes a whole file, or leaves the one that is there as it was. A symbolic link is followed.
/// The file keeps its permissions if it is replaced. Ends early if the job is cancelled.
///
/// # Errors
/// It cannot be written, is something else than a regular file, or is there already and
/// `replaces` is false.
pub fn write<T>(
    path: &Path,
    bytes: &[u8],
    replaces: bool,
    doing: &Doing<T>,
) -> Result<(), FileError> {
    let is_wanted = || !doing.is_cancelled();
    put(path, bytes, replaces, &is_wanted, || {
        doing.begin_last_step()
    })
}

/// Writes a whole file as long as `is_wanted`. `begins_last_step` says whether what cannot be
/// taken back may be done.
fn put(
    path: &Path,
    bytes: &[u8],
    replaces: bool,
    is_wanted: &dyn Fn() -> bool,
    begins_last_step: impl FnOnce() -> bool,
) -> Result<(), FileError> {
    let path = followed(path);
    let old = match open(&path, OpenOptions::new().write(true), is_wanted) {
        Ok((_, metadata)) => Some(metadata.permissions()),
        Err(FileError::System(error)) if error.kind() == io::ErrorKind::NotFound => None,
        Err(error) => return Err(error),
    };
    if old.is_some() && !replaces {
        return Err(FileError::IsThere);
    }
    let mut part = Beside::of(&path, old)?;
    put_out(part.file(), bytes, is_wanted)?;
    part.finish()?;
    if !begins_last_step() {
        return Err(FileError::Cancelled);
    }
    part.take_place().map_err(taken)
}

fn taken(error: io::Error) -> FileError {
    match error.kind() {
        io::ErrorKind::AlreadyExists => FileError::IsThere,
        _ => FileError::System(error),
    }
}

/// Opens a regular file that is there. Where another program holds the file and is asked to let
/// go of it, waits as long as `is_wanted`.
fn open(
    path: &Path,
    options: &mut OpenOptions,
    is_wanted: &dyn Fn() -> bool,
) -> Result<(File, Metadata), FileError> {
    // Some devices do something when they are opened, so they are told by their name first.
    only_files(fs::metadata(path)?.file_type())?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        // No waiting for the other end of a pipe (POSIX, `open`).
        options.custom_flags(libc::O_NONBLOCK | libc::O_NOCTTY);
    }
    let file = patiently(is_wanted, || options.open(path))?;
    // Something else may bear the name since.
    let metadata = file.metadata()?;
    only_files(metadata.file_type())?;
    Ok((file, metadata))
}

fn only_files(kind: FileType) -> Result<(), FileError> {
    if kind.is_file() {
        Ok(())
    } else {
        Err(FileError::NoFile(name(kind)))
    }
}

/// What something is that is no regular file.
fn name(kind: FileType) -> &'static str {
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt;
        if kind.is_fifo() {
            return "a pipe";
        }
        if kind.is_socket() {
            return "a socket";
        }
        if kind.is_char_device() || kind.is_block_device() {
            return "a device";
        }
    }
    if kind.is_dir() {
        "a folder"
    } else {
        "something else"
    }
}

/// Reads to the end of a source, or to the limit.
fn take_in(source: &mut impl Read, is_wanted: &dyn Fn() -> bool) -> Result<Vec<u8>, FileError> {
    let (mut bytes, mut piece) = (Vec::new(), vec![0; PIECE]);
    loop {
        let count = patiently(is_wanted, || source.read(&mut piece))?;
        match piece.get(..count) {
            None | Some([]) => return Ok(bytes),
            Some(read) => bytes.extend_from_slice(read),
        }
        if bytes.len() > LARGEST_FILE {
            return Err(FileError::TooLarge);
        }
        if !is_wanted() {
            return Err(FileError::Cancelled);
        }
    }
}

/// Writes all of it.
fn put_out(
    target: &mut impl Write,
    bytes: &[u8],
    is_wanted: &dyn Fn() -> bool,
) -> Result<(), FileError> {
    for piece in bytes.chunks(PIECE) {
        if !is_wanted() {
            return Err(FileError::Cancelled);
        }
        target.write_all(piece)?;
    }
    Ok(target.flush()?)
}

/// Tries again while the system says that it would have to wait: another program holds the file
/// under a lease (Linux, `fcntl(2)`, `F_SETLEASE`) and has been asked to let go of it.
fn patiently<R>(
    is_wanted: &dyn Fn() -> bool,
    mut attempt: impl FnMut() -> io::Result<R>,
) -> Result<R, FileError> {
    loop {
        match attempt() {
            Err(error) if error.kind() == io::ErrorKind::WouldBlock => {
                if !is_wanted() {
                    return Err(FileError::Cancelled);
                }
                thread::sleep(PAUSE);
            }
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            done => return Ok(done?),
        }
    }
}

#[cfg(test)]
mod tests;
