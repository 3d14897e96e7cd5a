//! Files on the disk: their kinds, and how they are written and read whole. The
//! panel's thread; `files` imports it.

use guidehand_exchange::import::LARGEST_FILE;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// What kind of file is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    /// Standard MIDI File, format 1.
    Midi,
    /// MusicXML 4.0.
    MusicXml,
}

impl FileKind {
    const fn ending(self) -> &'static str {
        match self {
            FileKind::Midi => "mid",
            FileKind::MusicXml => "musicxml",
        }
    }
}

/// A path with the ending of its kind, if it has none; none where no file is named.
#[must_use]
pub fn named(path: &str, kind: FileKind) -> Option<PathBuf> {
    let path = PathBuf::from(path.trim());
    path.file_name()?;
    Some(match path.extension() {
        Some(_) => path,
        None => path.with_extension(kind.ending()),
    })
}

/// Writes a whole file or leaves the one that is there.
///
/// # Errors
/// It cannot be written, or is there already and `replaces` is false.
pub fn write(path: &Path, bytes: &[u8], replaces: bool) -> io::Result<()> {
    if !replaces {
        let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
        return file.write_all(bytes);
    }
    // A disk that is full must not cost what was there.
    let beside = path.with_extension("part");
    fs::write(&beside, bytes)?;
    fs::rename(&beside, path)
}

/// Reads a file, up to one byte more than the largest that there is a use for.
///
/// # Errors
/// It cannot be read.
pub fn read(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let bound = u64::try_from(LARGEST_FILE).unwrap_or(u64::MAX);
    File::open(path)?.take(bound + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}
