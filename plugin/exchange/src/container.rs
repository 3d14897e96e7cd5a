//! Packed MusicXML (`.mxl`): a zip file that names its score in `META-INF/container.xml`. Imports
//! `found`'s errors and bounds.

use crate::found::{ImportError, LARGEST_FILE};
use quick_xml::events::Event;
use quick_xml::{Reader, XmlVersion};
use std::io::{Cursor, Read};
use zip::ZipArchive;

/// The most files in a container.
const MOST_FILES: usize = 1_000;
/// The longest list of contents, in bytes.
const LONGEST_LIST: usize = 64 * 1024;

/// The bytes of the score in a container: the first file that its list names, or else the first
/// file with the name of a score.
///
/// # Errors
/// A container that is broken or holds no score, or a score that is too large.
pub fn score(bytes: &[u8]) -> Result<Vec<u8>, ImportError> {
    let broken = |error: zip::result::ZipError| ImportError::Container(error.to_string());
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(broken)?;
    if archive.len() > MOST_FILES {
        return Err(ImportError::TooLarge);
    }
    let list = unpacked(&mut archive, "META-INF/container.xml", LONGEST_LIST).ok();
    let listed = list.and_then(|list| rootfile(&String::from_utf8_lossy(&list)));
    let name = listed.or_else(|| {
        let names = archive.file_names().flatten();
        let mut scores = names.filter(|name| {
            let score = name.ends_with(".xml") || name.ends_with(".musicxml");
            score && !name.starts_with("META-INF/")
        });
        scores.next().map(|name| name.into_owned())
    });
    let name = name.ok_or_else(|| ImportError::Container("no score in it".to_owned()))?;
    unpacked(&mut archive, &name, LARGEST_FILE)
}

/// A file's bytes, if there are at most `most` of them, whatever size the container states.
fn unpacked(
    archive: &mut ZipArchive<Cursor<&[u8]>>,
    name: &str,
    most: usize,
) -> Result<Vec<u8>, ImportError> {
    let file = archive.by_name(name);
    let file = file.map_err(|error| ImportError::Container(error.to_string()))?;
    let mut bytes = Vec::new();
    let limit = u64::try_from(most).unwrap_or(u64::MAX).saturating_add(1);
    let read = file.take(limit).read_to_end(&mut bytes);
    read.map_err(|error| ImportError::Container(error.to_string()))?;
    if bytes.len() > most {
        return Err(ImportError::TooLarge);
    }
    Ok(bytes)
}

/// The first `rootfile` of the list.
fn rootfile(list: &str) -> Option<String> {
    let mut reader = Reader::from_str(list);
    loop {
        match reader.read_event().ok()? {
            Event::Start(e) | Event::Empty(e) if e.name().as_ref() == "rootfile" => {
                let path = e.try_get_attribute("full-path").ok().flatten()?;
                return path
                    .normalized_value(XmlVersion::Implicit1_0)
                    .ok()
                    .map(|path| path.into_owned());
            }
            Event::Eof => return None,
            _ => {}
        }
    }
}
