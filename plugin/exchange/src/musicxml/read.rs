//! Reads MusicXML as a sheet: chords, meters, repeats, endings, letters and jumps of one part, as
//! they sound. Imports `document`, `choice`, `reader`, `form`, `signs`, `kept` and `found`.

use super::choice;
use super::document;
use super::form::{self, RawBar};
use super::kept;
use super::reader::Reader;
use super::signs;
use crate::found::{self, ImportError, Imported, Misses};
use guidehand_theory::chart::MOST_BARS;

/// Reads the part of this name, or the one that says best what sounds.
///
/// # Errors
/// A document that is broken, too large or no score, or that has no chords or no such part.
pub fn read(text: &str, part: Option<&str>) -> Result<Imported, ImportError> {
    let root = document::parse(text)?;
    let parts = document::parts(&root)?;
    let is_concert = document::is_concert(&root);
    let mut misses = Misses::default();
    let choice = choice::choose(&parts, is_concert, part, &mut misses)?;
    let measures = parts.get(choice.index).map(|part| part.measures.as_slice());
    let measures = measures.unwrap_or_default();
    if measures.len() > MOST_BARS {
        return Err(ImportError::TooLarge);
    }
    let mut reader = Reader::new(is_concert, misses);
    for measure in measures {
        reader.measure(measure);
    }
    if !reader.bars.iter().any(|raw| !raw.bar.places.is_empty()) {
        return Err(ImportError::NoChords);
    }
    let Reader {
        mut bars,
        mut misses,
        marks,
        mut passed,
        ..
    } = reader;
    signs::settle(&mut bars, &marks);
    trim(&mut bars, &mut misses);
    let (mut sheet, numbers) = form::unfold(bars)?;
    sheet.title = document::title(&root);
    let imported = found::finish(sheet, &numbers, misses, Vec::new())?;
    let mut remarks = choice.remarks;
    let authors = root.child("identification");
    if authors.is_some_and(|authors| authors.child("creator").is_some()) {
        passed.insert("authors");
    }
    remarks.extend(found::passed_over(&passed));
    let mut imported = Imported {
        remarks,
        parts: choice.parts,
        ..imported
    };
    kept::add(&root, &mut imported);
    Ok(imported)
}

/// Leaves out a pickup without chords and fills the last bar.
fn trim(bars: &mut Vec<RawBar>, misses: &mut Misses) {
    if let Some(last) = bars.last_mut() {
        last.bar.meter = last.nominal;
    }
    let pickup = bars.first().is_some_and(|first| {
        let short = first.bar.meter.bar_ticks() < first.nominal.bar_ticks();
        short && first.bar.places.is_empty() && bars.len() > 1
    });
    if pickup {
        let first = bars.remove(0);
        if let Some(next) = bars.first_mut() {
            next.bar.opens |= first.bar.opens;
            next.bar.section = next.bar.section.or(first.bar.section);
            next.bar.roads.segno |= first.bar.roads.segno;
        }
        misses.tell(
            &first.number,
            "measure",
            None,
            "a pickup without chords is left out".to_owned(),
        );
    }
}
