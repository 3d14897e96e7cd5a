//! What the file of a record is made of: a line for each grip and each way. Imports its head file and
//! `rows`.

use super::rows::{Answer, Outcome, Row, Rows, Way};
use super::{FORMAT, Time, VERSION};
use crate::cell::Cell;
use chrono::SecondsFormat;
use serde::Serialize;
use serde_json::{Map, Value};
use std::fmt::Write;

/// A value as JSON. Strings, numbers and maps can always be written.
fn json(value: &impl Serialize) -> String {
    serde_json::to_string(value).unwrap_or_default()
}

/// How a file begins, before its sessions.
pub(super) fn file_head() -> String {
    let format = json(&FORMAT);
    format!("{{\n  \"format\": {format},\n  \"version\": {VERSION},\n  \"sessions\": [")
}

/// How it ends, after them.
pub(super) fn file_tail(unknown: &Map<String, Value>) -> String {
    let fields = unknown.iter();
    let fields = fields.map(|(name, value)| format!(",\n  {}: {}", json(name), json(value)));
    format!("\n  ]{}\n}}\n", fields.collect::<String>())
}

/// How a session begins in a file.
pub(super) fn head(began: Time, number: u32) -> String {
    let began = began.to_rfc3339_opts(SecondsFormat::AutoSi, true);
    format!("\n    {{\"began\":\"{began}\",\"number\":{number}")
}

/// One session on lines of its own, after its head.
pub(super) fn session(
    head: &str,
    chords: &Rows<Cell>,
    ways: &Rows<Way>,
    unknown: &Map<String, Value>,
) -> String {
    let mut text = format!("{head},\"chords\":[");
    rows(&mut text, chords, chord);
    if !ways.is_empty() {
        text.push_str(",\"moves\":[");
        rows(&mut text, ways, way);
    }
    for (name, value) in unknown {
        // Writing into a string cannot fail.
        let _ = write!(text, ",{}:{}", json(name), json(value));
    }
    text.push('}');
    text
}

/// One row of the file.
#[derive(Default, Serialize)]
struct Fields<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    chord: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<String>,
    seconds: Vec<f64>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    missed: Vec<usize>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    never: Vec<usize>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    helped: Vec<usize>,
    #[serde(flatten)]
    unknown: Option<&'a Map<String, Value>>,
}

fn rows<T: Ord + Copy>(text: &mut String, rows: &Rows<T>, about: fn(&T) -> Fields<'static>) {
    for (at, row) in rows.iter().enumerate() {
        let comma = if at > 0 { "," } else { "" };
        let _ = write!(
            text,
            "{comma}\n      {}",
            json(&fields(row, about(&row.what)))
        );
    }
    if !rows.is_empty() {
        text.push_str("\n    ");
    }
    text.push(']');
}

fn chord(cell: &Cell) -> Fields<'static> {
    Fields {
        chord: Some(cell.to_string()),
        ..Fields::default()
    }
}

fn way(way: &Way) -> Fields<'static> {
    Fields {
        from: Some(way.from.to_string()),
        to: Some(way.to.to_string()),
        ..Fields::default()
    }
}

fn fields<'a, T>(row: &'a Row<T>, about: Fields<'a>) -> Fields<'a> {
    let places = |is: fn(&Answer) -> bool| {
        let places = (1..).zip(&row.answers);
        let places = places.filter(|(_, answer)| is(answer));
        places.map(|(at, _)| at).collect()
    };
    let seconds = row.answers.iter();
    let seconds = seconds.map(|answer| f64::from(answer.millis) / 1000.0);
    Fields {
        seconds: seconds.collect(),
        missed: places(|answer| answer.outcome != Outcome::First),
        never: places(|answer| answer.outcome == Outcome::Never),
        helped: places(|answer| answer.helped),
        unknown: Some(&row.unknown),
        ..about
    }
}
