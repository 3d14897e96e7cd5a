//! What `read` reports of sounding notes: as JSON and as a table. Imports text in columns and the
//! theory.

use crate::table::aligned;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::read::{self, Context, Reading};
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::tension;
use guidehand_theory::voicing::{Form, Position};
use serde::Serialize;

/// One reading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ReadingRow {
    /// The symbol of what sounds, in ASCII.
    pub symbol: String,
    /// The root's name.
    pub root: String,
    /// `A`, `B` or `fourths`, where the notes lie so.
    pub form: Option<String>,
    /// The slot that is lowest, `third` or `seventh`, where the notes lie close.
    pub lowest: Option<&'static str>,
    /// The notes with their degrees, from the lowest.
    pub notes: Vec<ReadNote>,
    /// The degrees among them that are tensions or altered fifths.
    pub tensions: Vec<&'static str>,
    /// Chord tones that do not sound.
    pub omitted: Vec<&'static str>,
    /// In percent of all readings.
    pub confidence: u8,
    /// Why, in one line.
    pub reason: String,
}

/// One note of a reading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ReadNote {
    /// The MIDI note, 60 for middle C.
    pub midi: u8,
    /// The name, spelled by degree, with its octave.
    pub name: String,
    /// The degree over the root.
    pub degree: &'static str,
}

/// All readings, the best first.
#[must_use]
pub fn rows(notes: &[MidiNote], context: &Context) -> Vec<ReadingRow> {
    let readings = read::read(notes, context);
    readings.iter().map(|reading| row(notes, reading)).collect()
}

fn row(notes: &[MidiNote], reading: &Reading) -> ReadingRow {
    let root = reading.chord.root;
    let mut notes = notes.to_vec();
    notes.sort_unstable();
    let named = notes.iter().filter_map(|note| {
        let class = note.class();
        let degree = reading.degrees.iter().find(|d| d.class(root) == class)?;
        Some(ReadNote {
            midi: note.number(),
            name: degree.over(root).at(*note).to_string(),
            degree: degree.name(),
        })
    });
    ReadingRow {
        symbol: Symbol(&reading.chord, Sign::Ascii).to_string(),
        root: root.to_string(),
        form: reading
            .position
            .map(|form| Form::of(form, reading.chord.quality).to_string()),
        lowest: reading.position.and_then(Position::lowest),
        notes: named.collect(),
        tensions: tension::of(reading.degrees)
            .iter()
            .map(|d| d.name())
            .collect(),
        omitted: reading.omitted.iter().map(|d| d.name()).collect(),
        confidence: reading.confidence,
        reason: reading.reason.to_string(),
    }
}

/// A table: confidence, symbol, form, notes with degrees, what is left out, why.
#[must_use]
pub fn table(rows: &[ReadingRow]) -> String {
    let cells = rows.iter().map(|row| {
        let notes: Vec<String> = row
            .notes
            .iter()
            .map(|n| format!("{}:{}", n.name, n.degree))
            .collect();
        let without = if row.omitted.is_empty() {
            String::new()
        } else {
            format!("without {}", row.omitted.join(" "))
        };
        let form = row
            .form
            .as_ref()
            .map_or_else(String::new, |f| format!("form {f}"));
        [
            format!("{:>3} %", row.confidence),
            row.symbol.clone(),
            form,
            notes.join(" "),
            without,
            row.reason.clone(),
        ]
    });
    let cells: Vec<[String; 6]> = cells.collect();
    aligned(&cells)
}
