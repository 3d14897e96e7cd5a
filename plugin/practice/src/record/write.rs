//! The file of a record: a line for each grip and each way. Imports its head file and `session`.

use super::session::{Answer, Outcome, Row, Rows, Session, Way};
use super::{FORMAT, Record, Time, VERSION};
use crate::cell::Cell;
use chrono::SecondsFormat;
use serde::Serialize;
use serde_json::{Map, Value, json};
use std::fmt::Write;

/// A value as JSON. Strings, numbers and maps can always be written.
fn json(value: &impl Serialize) -> String {
    serde_json::to_string(value).unwrap_or_default()
}

pub(super) fn time(time: Time) -> String {
    time.to_rfc3339_opts(SecondsFormat::AutoSi, true)
}

impl Record {
    /// The record as the text of a file. Sessions of a later version that cannot be read are left out:
    /// [`Record::unread`] counts them.
    #[must_use]
    pub fn write(&self) -> String {
        let sessions: Vec<String> = self.sessions.iter().map(session).collect();
        let mut text = head();
        text.push_str(&sessions.join(","));
        text.push_str(&tail(&self.unknown));
        text
    }

    /// How many sessions a later version has saved that cannot be read.
    #[must_use]
    pub const fn unread(&self) -> usize {
        self.unread.len()
    }

    /// What the record takes in a file, in bytes.
    #[must_use]
    pub fn bytes(&self) -> usize {
        // With the commas between them.
        let sessions = self.sessions.iter().map(|one| one.bytes() + 1);
        let sessions = sessions.sum::<usize>().saturating_sub(1);
        let unread = self.unread.iter().map(|one| one.to_string().len());
        head().len() + sessions + tail(&self.unknown).len() + unread.sum::<usize>()
    }
}

fn head() -> String {
    let format = json(&FORMAT);
    format!("{{\n  \"format\": {format},\n  \"version\": {VERSION},\n  \"sessions\": [")
}

fn tail(unknown: &Map<String, Value>) -> String {
    let fields = unknown.iter();
    let fields = fields.map(|(name, value)| format!(",\n  {}: {}", json(name), json(value)));
    format!("\n  ]{}\n}}\n", fields.collect::<String>())
}

/// One session on lines of its own.
pub(super) fn session(session: &Session) -> String {
    let began = time(session.began());
    let number = session.number();
    let mut text = format!("\n    {{\"began\":\"{began}\",\"number\":{number},\"chords\":[");
    rows(&mut text, &session.chords, chord);
    if !session.ways.is_empty() {
        text.push_str(",\"moves\":[");
        rows(&mut text, &session.ways, way);
    }
    for (name, value) in &session.unknown {
        // Writing into a string cannot fail.
        let _ = write!(text, ",{}:{}", json(name), json(value));
    }
    text.push('}');
    text
}

fn rows<T: Ord + Copy>(text: &mut String, rows: &Rows<T>, head: fn(&T) -> Map<String, Value>) {
    for (at, row) in rows.iter().enumerate() {
        let comma = if at > 0 { "," } else { "" };
        let _ = write!(
            text,
            "{comma}\n      {}",
            json(&fields(row, head(&row.what)))
        );
    }
    if !rows.is_empty() {
        text.push_str("\n    ");
    }
    text.push(']');
}

fn chord(cell: &Cell) -> Map<String, Value> {
    Map::from_iter([("chord".to_owned(), json!(cell.to_string()))])
}

fn way(way: &Way) -> Map<String, Value> {
    let (from, to) = (way.from.to_string(), way.to.to_string());
    Map::from_iter([
        ("from".to_owned(), json!(from)),
        ("to".to_owned(), json!(to)),
    ])
}

fn fields<T>(row: &Row<T>, mut fields: Map<String, Value>) -> Map<String, Value> {
    let places = |is: fn(&Answer) -> bool| -> Vec<usize> {
        let places = (1..).zip(&row.answers);
        places
            .filter(|(_, answer)| is(answer))
            .map(|(at, _)| at)
            .collect()
    };
    let seconds = row
        .answers
        .iter()
        .map(|answer| f64::from(answer.millis) / 1000.0);
    fields.insert("seconds".to_owned(), seconds.collect::<Vec<f64>>().into());
    for (name, places) in [
        ("missed", places(|answer| answer.outcome != Outcome::First)),
        ("never", places(|answer| answer.outcome == Outcome::Never)),
        ("helped", places(|answer| answer.helped)),
    ] {
        if !places.is_empty() {
            fields.insert(name.to_owned(), places.into());
        }
    }
    fields.extend(row.unknown.clone());
    fields
}

/// A session as a value.
pub(super) fn value(session: &Session) -> Value {
    serde_json::from_str(&self::session(session)).unwrap_or_default()
}
