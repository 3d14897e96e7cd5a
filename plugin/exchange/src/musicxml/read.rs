//! Reads MusicXML as a sheet: chords, meters, repeats, endings, letters and jumps of one part, as
//! they sound, and the melody of a part. Imports `document`, `choice`, `reader`, `form`, `signs`,
//! `lines`, `line`, `melody`, `kept`, `line_choice`, `melodies` and `found`.

use super::choice::{self, Choice};
use super::document::{self, Part};
use super::form::{self, RawBar, Unfolded};
use super::kept;
use super::line::LineReader;
use super::lines;
use super::melody::{self, Places};
use super::reader::Reader;
use super::signs;
use super::tree::Element;
use crate::found::{self, ImportError, Imported, Misses};
use crate::line_choice;
use crate::melodies::{FoundMelody, Line};
use crate::sheet::{self, Place};
use guidehand_theory::chart::{self, MOST_BARS};

/// Reads the part of this name, or the one that says best what sounds. Reads the melody too if it is
/// asked for, perhaps by its name.
///
/// # Errors
/// A document that is broken, too large or no score, or that has no chords or no such part.
pub fn read(
    text: &str,
    part: Option<&str>,
    melody: Option<Option<&str>>,
) -> Result<Imported, ImportError> {
    let root = document::parse(text, melody.is_some())?;
    let parts = document::parts(&root)?;
    let is_concert = document::is_concert(&root);
    let mut misses = Misses::default();
    let choice = choice::choose(&parts, is_concert, part, &mut misses)?;
    let mut remarks = choice.remarks.clone();
    let line = match melody {
        None => None,
        Some(name) => line_of(&parts, Some(choice.index), name, &mut remarks, &mut misses)?,
    };
    let reader = measures(&parts, choice.index, Reader::new(is_concert, misses))?;
    if !reader.bars.iter().any(|raw| !raw.bar.places.is_empty()) {
        return Err(ImportError::NoChords);
    }
    let imported = finish(&root, &parts, reader, line)?;
    Ok(with_choice(&root, imported, choice, remarks))
}

/// Reads the melody of a score that need not have chords. The chart of the result is silent, and
/// has the bars and the form of the melody's part.
///
/// # Errors
/// A document that is broken, too large or no score, or that has no such line.
pub fn melody(text: &str, name: Option<&str>) -> Result<Imported, ImportError> {
    let root = document::parse(text, true)?;
    let parts = document::parts(&root)?;
    let is_concert = document::is_concert(&root);
    let mut misses = Misses::default();
    let mut remarks = Vec::new();
    let with_symbols = choice::choose(&parts, is_concert, None, &mut Misses::default());
    let with_symbols = with_symbols.ok().map(|choice| choice.index);
    let line = line_of(&parts, with_symbols, name, &mut remarks, &mut misses)?;
    let line = line.ok_or(ImportError::NoMelody)?;
    let mut reader = measures(
        &parts,
        line.part,
        Reader::new(is_concert, Misses::default()),
    )?;
    reader.misses = misses;
    for (index, raw) in reader.bars.iter_mut().enumerate() {
        raw.bar.places.clear();
        let silence = Place {
            at_ticks: 0,
            chord: None,
        };
        raw.bar.places.extend((index == 0).then_some(silence));
    }
    let imported = finish(&root, &parts, reader, Some(line))?;
    Ok(Imported {
        remarks,
        ..imported
    })
}

/// The line that is the melody.
struct Chosen {
    /// Its part, as an index, and its staff.
    part: usize,
    staff: i64,
    /// All lines.
    lines: Vec<Line>,
}

/// Finds the melody. A score without notes has none, which is told.
fn line_of(
    parts: &[Part],
    with_symbols: Option<usize>,
    name: Option<&str>,
    remarks: &mut Vec<String>,
    misses: &mut Misses,
) -> Result<Option<Chosen>, ImportError> {
    let staves = lines::of(parts, with_symbols);
    let mut lines: Vec<Line> = staves.iter().map(|stave| stave.line.clone()).collect();
    if lines.is_empty() {
        let words = ImportError::NoMelody.to_string();
        misses.tell("", "melody", None, words);
        return Ok(None);
    }
    let (chosen, remark) = line_choice::choose(&mut lines, name)?;
    remarks.extend(remark);
    Ok(staves.get(chosen).map(|stave| Chosen {
        part: stave.part,
        staff: stave.number,
        lines,
    }))
}

fn measures(parts: &[Part], index: usize, mut reader: Reader) -> Result<Reader, ImportError> {
    let measures = parts.get(index).map(|part| part.measures.as_slice());
    let measures = measures.unwrap_or_default();
    if measures.len() > MOST_BARS {
        return Err(ImportError::TooLarge);
    }
    for measure in measures {
        reader.measure(measure);
    }
    Ok(reader)
}

/// The chart of the bars that have been read, and the melody over it.
fn finish(
    root: &Element,
    parts: &[Part],
    reader: Reader,
    chosen: Option<Chosen>,
) -> Result<Imported, ImportError> {
    let Reader {
        mut bars,
        mut misses,
        marks,
        mut passed,
        is_concert,
        ..
    } = reader;
    let part = chosen.as_ref().and_then(|line| parts.get(line.part));
    let line = chosen.as_ref().zip(part).map(|(line, part)| {
        let mut reader = LineReader::new(line.staff, is_concert);
        for measure in &part.measures {
            reader.measure(measure);
        }
        reader.bars
    });
    signs::settle(&mut bars, &marks);
    let sings_first = line.as_ref().and_then(|line| line.first());
    let sings_first = sings_first.is_some_and(|bar| !bar.notes.is_empty());
    trim(&mut bars, sings_first, &mut misses);
    repeat_pickup(&mut bars);
    let Unfolded {
        mut sheet,
        numbers,
        measures,
    } = form::unfold(bars)?;
    sheet.title = document::title(root);
    let mut imported = found::finish(sheet, &numbers, misses, Vec::new())?;
    if let Some((chosen, line)) = chosen.zip(line)
        && let Ok(chart) = chart::parse(&imported.text)
    {
        let places = Places {
            measures: &measures,
            numbers: &numbers,
        };
        let play = |misses: &mut Misses| melody::play(&chart, &places, line, misses);
        let melody = imported.with_misses(play);
        if chosen.lines.len() == 1 {
            passed.remove("notes");
        }
        imported.melody = Some(FoundMelody {
            melody,
            lines: chosen.lines,
        });
    }
    let authors = root.child("identification");
    if authors.is_some_and(|authors| authors.child("creator").is_some()) {
        passed.insert("authors");
    }
    imported.remarks.extend(found::passed_over(&passed));
    Ok(imported)
}

/// A repeat without a start goes back to the first measure, which may be a pickup. A chart plays a
/// pickup once, so it becomes a short bar, and so does the bar that it completes at the repeat.
fn repeat_pickup(bars: &mut [RawBar]) {
    let Some((first, rest)) = bars.split_first_mut() else {
        return;
    };
    let Some(closing) = rest.iter().position(|raw| raw.bar.closes) else {
        return;
    };
    if first.bar.pickup.is_none() || rest.iter().take(closing + 1).any(|raw| raw.bar.opens) {
        return;
    }
    first.bar.pickup = None;
    let Some(last) = rest.get_mut(closing) else {
        return;
    };
    let whole = last.nominal.bar_ticks();
    let completes =
        last.bar.meter == last.nominal && last.filled.checked_add(first.filled) == Some(whole);
    let inside = last
        .bar
        .places
        .iter()
        .all(|place| place.at_ticks < last.filled);
    if let (true, Some(own)) = (completes && inside, sheet::meter_of_length(last.filled)) {
        last.bar.meter = own;
    }
}

/// The result with what was chosen, and with what a page of our own keeps.
fn with_choice(
    root: &Element,
    imported: Imported,
    choice: Choice,
    mut remarks: Vec<String>,
) -> Imported {
    remarks.extend(imported.remarks);
    let mut imported = Imported {
        remarks,
        parts: choice.parts,
        ..imported
    };
    kept::add(root, &mut imported);
    imported
}

/// Fills the last bar, and leaves out a pickup without chords. If the melody sings in the pickup,
/// it stays as a silent one.
fn trim(bars: &mut Vec<RawBar>, sings_first: bool, misses: &mut Misses) {
    if let Some(last) = bars.last_mut() {
        last.bar.meter = last.nominal;
    }
    let pickup = bars.first().is_some_and(|first| {
        let short = first.bar.meter.bar_ticks() < first.nominal.bar_ticks();
        short && first.bar.places.is_empty() && bars.len() > 1
    });
    if !pickup {
        return;
    }
    if sings_first {
        if let Some(first) = bars.first_mut() {
            first.bar.places.push(Place {
                at_ticks: 0,
                chord: None,
            });
        }
        return;
    }
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
