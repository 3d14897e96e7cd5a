//! The kinds of files that are written. The panel's thread; `files` imports it.

use std::path::PathBuf;

/// What kind of file is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    /// Standard MIDI File, format 1.
    Midi,
    /// MusicXML 4.0.
    MusicXml,
    /// The player's own voicings.
    Voicings,
}

impl FileKind {
    const fn ending(self) -> &'static str {
        match self {
            FileKind::Midi => "mid",
            FileKind::MusicXml => "musicxml",
            FileKind::Voicings => "json",
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
