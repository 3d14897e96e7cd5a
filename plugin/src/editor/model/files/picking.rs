//! Files that are picked in a dialog: what is asked, and what becomes of the answer. The panel's
//! thread; `files` imports it. Imports `disk`, `bridge` and `kind`.

use super::kind::FileKind;
use crate::bridge::job::{self, Asked};
use crate::disk::NotBegun;
use crate::disk::dialog::{Answer, Desktop, Question};
use crate::editor::model::outside::Outside;
use std::path::Path;

/// What a file is picked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// Its chart is read.
    Import,
    /// Its sessions come to the record of practice.
    ImportRecord,
    /// The performance is written to it.
    Export(FileKind),
}

/// A dialog that is open.
#[derive(Debug)]
pub struct Picking {
    purpose: Purpose,
    asked: Asked<Answer>,
}

type Kinds = &'static [(&'static str, &'static [&'static str])];

// A portal tells large letters from small ones.
const ALL: (&str, &[&str]) = ("All files", &["*"]);
const IMPORT: Kinds = &[
    (
        "MIDI, MusicXML and charts as text",
        &[
            "mid", "midi", "musicxml", "xml", "mxl", "txt", "MID", "MIDI", "MUSICXML", "XML",
            "MXL", "TXT",
        ],
    ),
    ALL,
];
const MIDI: Kinds = &[("MIDI files", &["mid", "midi", "MID", "MIDI"]), ALL];
const JSON: Kinds = &[("JSON", &["json", "JSON"]), ALL];
const MUSIC_XML: Kinds = &[("MusicXML", &["musicxml", "xml", "MUSICXML", "XML"]), ALL];

impl Purpose {
    /// What is asked, where `path` was used last.
    fn question(self, path: &Path) -> Question {
        let folder = path.parent().filter(|folder| folder.is_absolute());
        let (title, kinds) = match self {
            Purpose::Import => ("Import a chart", IMPORT),
            Purpose::Export(FileKind::Midi) => ("Export MIDI", MIDI),
            Purpose::Export(FileKind::MusicXml) => ("Export MusicXML", MUSIC_XML),
            Purpose::Export(FileKind::Voicings) => ("Export my voicings", JSON),
            Purpose::ImportRecord => ("Import a record of practice", JSON),
            Purpose::Export(FileKind::Record) => ("Export the record of practice", JSON),
        };
        let name = match self {
            Purpose::Import | Purpose::ImportRecord => None,
            Purpose::Export(FileKind::Record) => {
                Some(format!("practice.{}", FileKind::Record.ending()))
            }
            Purpose::Export(kind) => {
                let stem = path.file_stem().map(|stem| stem.to_string_lossy());
                let stem = stem.as_deref().unwrap_or("chart");
                Some(format!("{stem}.{}", kind.ending()))
            }
        };
        Question {
            title,
            folder: folder.map(Path::to_owned),
            name,
            kinds,
        }
    }
}

impl Picking {
    /// Opens a dialog on a thread of its own.
    ///
    /// # Errors
    /// There is no thread for it.
    pub fn begin(
        purpose: Purpose,
        path: &Path,
        desktop: &Desktop,
        outside: &mut dyn Outside,
    ) -> Result<Picking, NotBegun> {
        let (asked, doing) = job::channel();
        let (desktop, question) = (desktop.clone(), purpose.question(path));
        outside.begin_dialog(Box::new(move || doing.end(desktop.ask(&question))))?;
        Ok(Picking { purpose, asked })
    }

    /// Whether the dialog has been answered.
    #[must_use]
    pub fn is_answered(&self) -> bool {
        self.asked.has_ended()
    }

    /// The answer, and what it is for; none if something went wrong.
    #[must_use]
    pub fn take(self) -> (Purpose, Option<Answer>) {
        (self.purpose, self.asked.take())
    }
}
