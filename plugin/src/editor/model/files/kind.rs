//! The kinds of files that are written. The panel's thread; `files` imports it.

use std::path::{Path, PathBuf};

/// What kind of file is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    /// Standard MIDI File, format 1.
    Midi,
    /// MusicXML 4.0.
    MusicXml,
    /// The player's own voicings.
    Voicings,
    /// The record of practice.
    Record,
}

impl FileKind {
    /// The usual ending of its files.
    #[must_use]
    pub const fn ending(self) -> &'static str {
        match self {
            FileKind::Midi => "mid",
            FileKind::MusicXml => "musicxml",
            FileKind::Voicings | FileKind::Record => "json",
        }
    }

    /// The button that writes such a file to the path in the line.
    #[must_use]
    pub const fn button(self) -> &'static str {
        match self {
            FileKind::Midi => "Export MIDI",
            FileKind::MusicXml => "Export MusicXML",
            FileKind::Voicings | FileKind::Record => "export",
        }
    }
}

/// A path with the ending of its kind, if it has none; none where no file is named.
#[must_use]
pub fn named(path: &Path, kind: FileKind) -> Option<PathBuf> {
    path.file_name()?;
    Some(match path.extension() {
        Some(_) => path.to_owned(),
        None => path.with_extension(kind.ending()),
    })
}
