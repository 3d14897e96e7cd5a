//! Reads the file of a record. A file that cannot be read whole is refused, with the place and the reason.
//! Imports its head file, `rows`, `session`, `merge` and `whole`.

use super::merge;
use super::rows::{Answer, LONGEST_MILLIS, Outcome, Row, Rows, Way};
use super::session::Session;
use super::whole::Record;
use super::{FORMAT, LARGEST_RECORD, Time, VERSION};
use crate::cell::Cell;
use chrono::{DateTime, Datelike, Utc};
use guidehand_exchange::fields::{Format, Named, Version, given, keep, once};
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};
use std::fmt;
use std::marker::PhantomData;

/// The most answers of one row.
const MOST_ANSWERS: usize = 100_000;

/// The first and the last year that a session can begin in.
const YEARS: [i32; 2] = [1970, 9998];

/// Why the file of a record is refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordError {
    /// The line, from 1; 0 if the whole file is meant.
    pub line: usize,
    /// The column, from 1; 0 if the whole line is meant.
    pub column: usize,
    /// The session, from 1, if it is about one.
    pub session: Option<usize>,
    /// What is wrong, and what was expected.
    pub problem: String,
}

impl fmt::Display for RecordError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line > 0 {
            write!(f, "line {}, column {}: ", self.line, self.column)?;
        }
        if let Some(number) = self.session {
            write!(f, "session {number}: ")?;
        }
        f.write_str(&self.problem)
    }
}

impl std::error::Error for RecordError {}

impl Record {
    /// Reads the file of a record.
    ///
    /// # Errors
    /// The first thing that is wrong, with its place. Nothing is read then.
    pub fn read(bytes: &[u8]) -> Result<Record, RecordError> {
        if bytes.len() > LARGEST_RECORD {
            return Err(RecordError {
                line: 0,
                column: 0,
                session: None,
                problem: format!("larger than {} MiB", LARGEST_RECORD >> 20),
            });
        }
        let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let number = std::cell::Cell::new(None);
        let mut reader = serde_json::Deserializer::from_slice(text);
        let file = File { number: &number };
        let read = file
            .deserialize(&mut reader)
            .and_then(|read| reader.end().map(|()| read));
        read.map_err(|error| told(&error, number.get()))
    }
}

/// Reads one session as it stands in a file. None if it cannot be read.
pub(super) fn session(value: &Value) -> Option<Session> {
    OneSession.deserialize(value).ok()
}

fn told(error: &serde_json::Error, session: Option<usize>) -> RecordError {
    let (line, column) = (error.line(), error.column());
    let problem = error.to_string();
    let place = format!(" at line {line} column {column}");
    RecordError {
        line,
        column,
        session,
        problem: problem.strip_suffix(&place).unwrap_or(&problem).to_owned(),
    }
}

/// The whole file. `number` is the session that is being read.
struct File<'a> {
    number: &'a std::cell::Cell<Option<usize>>,
}

impl<'de> DeserializeSeed<'de> for File<'_> {
    type Value = Record;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Record, D::Error> {
        reader.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for File<'_> {
    type Value = Record;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "an object with \"format\": {FORMAT:?}")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Record, A::Error> {
        let (mut format, mut version) = (None, None);
        let mut sessions: Option<Vec<Session>> = None;
        let mut unknown = Map::new();
        while let Some(field) = map.next_key::<String>()? {
            match field.as_str() {
                "format" => once(&mut format, &field, map.next_value_seed(Format(FORMAT))?)?,
                "version" => once(&mut version, &field, map.next_value_seed(Version(VERSION))?)?,
                "sessions" => {
                    let seed = Sessions {
                        number: self.number,
                    };
                    once(&mut sessions, &field, map.next_value_seed(seed)?)?;
                    self.number.set(None);
                }
                _ => keep(&mut unknown, field, map.next_value()?)?,
            }
        }
        given(format, "format")?;
        given(version, "version")?;
        Ok(Record {
            sessions: merge::in_order(given(sessions, "sessions")?),
            unknown,
            ..Record::default()
        })
    }
}

/// The list of sessions.
struct Sessions<'a> {
    number: &'a std::cell::Cell<Option<usize>>,
}

impl<'de> DeserializeSeed<'de> for Sessions<'_> {
    type Value = Vec<Session>;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Self::Value, D::Error> {
        reader.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Sessions<'_> {
    type Value = Vec<Session>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of sessions")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        let mut all = Vec::new();
        loop {
            self.number.set(Some(all.len() + 1));
            let Some(session) = list.next_element_seed(OneSession)? else {
                return Ok(all);
            };
            all.push(session);
        }
    }
}

/// A session.
struct OneSession;

impl<'de> DeserializeSeed<'de> for OneSession {
    type Value = Session;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Session, D::Error> {
        reader.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for OneSession {
    type Value = Session;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a session with \"began\", \"number\" and \"chords\"")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Session, A::Error> {
        let (mut began, mut number) = (None, None);
        let (mut chords, mut moves) = (None, None);
        let mut unknown = Map::new();
        while let Some(field) = map.next_key::<String>()? {
            match field.as_str() {
                "began" => once(&mut began, &field, map.next_value_seed(Named(known_time))?)?,
                "number" => once(&mut number, &field, map.next_value::<u32>()?)?,
                "chords" => once(
                    &mut chords,
                    &field,
                    map.next_value_seed(All::<Cell>::new())?,
                )?,
                "moves" => once(&mut moves, &field, map.next_value_seed(All::<Way>::new())?)?,
                _ => keep(&mut unknown, field, map.next_value()?)?,
            }
        }
        let began = given(began, "began")?;
        let number = given(number, "number")?;
        let chords = given(chords, "chords")?;
        let moves = moves.unwrap_or_default();
        Ok(Session::of(began, number, chords, moves, unknown))
    }
}

fn known_time(text: &str) -> Result<Time, String> {
    let expected = "expected a time such as \"2026-11-28T17:30:00Z\"";
    let time = DateTime::parse_from_rfc3339(text)
        .map_err(|error| format!("{text:?} is no time ({error}): {expected}"))?;
    let time = time.with_timezone(&Utc);
    let [first, last] = YEARS;
    if (first..=last).contains(&time.year()) {
        return Ok(time);
    }
    Err(format!(
        "{text:?} is not between the years {first} and {last}"
    ))
}

/// What a row is about, by the fields that say it.
trait About: Ord + Copy + fmt::Display {
    /// The fields, in their order.
    const FIELDS: &'static [&'static str];
    /// From what the fields say.
    fn of(cells: &[Cell]) -> Option<Self>;
}

impl About for Cell {
    const FIELDS: &'static [&'static str] = &["chord"];

    fn of(cells: &[Cell]) -> Option<Cell> {
        cells.first().copied()
    }
}

impl About for Way {
    const FIELDS: &'static [&'static str] = &["from", "to"];

    fn of(cells: &[Cell]) -> Option<Way> {
        match *cells {
            [from, to] => Some(Way { from, to }),
            _ => None,
        }
    }
}

impl fmt::Display for Way {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {}", self.from, self.to)
    }
}

/// All rows of a list.
struct All<T>(PhantomData<T>);

impl<T> All<T> {
    const fn new() -> All<T> {
        All(PhantomData)
    }
}

impl<'de, T: About> DeserializeSeed<'de> for All<T> {
    type Value = Rows<T>;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Rows<T>, D::Error> {
        reader.deserialize_seq(self)
    }
}

impl<'de, T: About> Visitor<'de> for All<T> {
    type Value = Rows<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a list of rows with {:?}", T::FIELDS)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Rows<T>, A::Error> {
        let mut rows = Rows::default();
        while let Some(row) = list.next_element_seed(One::<T>(PhantomData))? {
            let what = row.what;
            if !rows.insert(row) {
                return Err(A::Error::custom(format!("{what} comes twice")));
            }
        }
        Ok(rows)
    }
}

/// One row.
struct One<T>(PhantomData<T>);

impl<'de, T: About> DeserializeSeed<'de> for One<T> {
    type Value = Row<T>;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Row<T>, D::Error> {
        reader.deserialize_map(self)
    }
}

impl<'de, T: About> Visitor<'de> for One<T> {
    type Value = Row<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let about = T::FIELDS.join("\", \"");
        write!(f, "a row with \"{about}\" and \"seconds\"")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Row<T>, A::Error> {
        let mut cells = vec![None; T::FIELDS.len()];
        let mut seconds = None;
        let [mut missed, mut never, mut helped] = [const { None::<Vec<usize>> }; 3];
        let mut unknown = Map::new();
        while let Some(field) = map.next_key::<String>()? {
            let about = T::FIELDS.iter().zip(&mut cells);
            let mut about = about.filter(|(name, _)| **name == field);
            match field.as_str() {
                "seconds" => once(&mut seconds, &field, map.next_value_seed(Times)?)?,
                "missed" => once(&mut missed, &field, map.next_value_seed(Places)?)?,
                "never" => once(&mut never, &field, map.next_value_seed(Places)?)?,
                "helped" => once(&mut helped, &field, map.next_value_seed(Places)?)?,
                _ => match about.next() {
                    Some((_, cell)) => {
                        once(cell, &field, map.next_value_seed(Named(Cell::named))?)?;
                    }
                    None => keep(&mut unknown, field, map.next_value()?)?,
                },
            }
        }
        let cells = T::FIELDS.iter().zip(cells);
        let cells = cells.map(|(field, cell)| given(cell, field));
        let cells: Vec<Cell> = cells.collect::<Result<_, _>>()?;
        let what = given(T::of(&cells), "chord")?;
        let mut answers: Vec<Answer> = given(seconds, "seconds")?;
        for (field, places) in [("missed", missed), ("never", never), ("helped", helped)] {
            for place in places.into_iter().flatten() {
                let count = answers.len();
                let answer = place.checked_sub(1).and_then(|at| answers.get_mut(at));
                let answer = answer.ok_or_else(|| {
                    A::Error::custom(format!(
                        "{field:?} names the answer {place}: expected one from 1 to {count}"
                    ))
                })?;
                match field {
                    "helped" => answer.helped = true,
                    "never" => answer.outcome = Outcome::Never,
                    _ => answer.outcome = Outcome::Later,
                }
            }
        }
        Ok(Row {
            what,
            answers,
            unknown,
        })
    }
}

/// The times of answers, in seconds.
struct Times;

impl<'de> DeserializeSeed<'de> for Times {
    type Value = Vec<Answer>;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Self::Value, D::Error> {
        reader.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Times {
    type Value = Vec<Answer>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of seconds")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        let mut all = Vec::new();
        while let Some(seconds) = list.next_element::<f64>()? {
            if all.len() == MOST_ANSWERS {
                return Err(A::Error::custom(format!(
                    "more than {MOST_ANSWERS} answers"
                )));
            }
            let millis = millis(seconds).map_err(A::Error::custom)?;
            all.push(Answer {
                millis,
                outcome: Outcome::First,
                helped: false,
            });
        }
        if all.is_empty() {
            return Err(A::Error::custom(
                "no seconds: expected those of one answer at least",
            ));
        }
        Ok(all)
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the range is checked"
)]
fn millis(seconds: f64) -> Result<u32, String> {
    let millis = (seconds * 1000.0).round();
    if (0.0..=f64::from(LONGEST_MILLIS)).contains(&millis) {
        return Ok(millis as u32);
    }
    let most = LONGEST_MILLIS / 1000;
    Err(format!("{seconds} seconds: expected 0 to {most}"))
}

/// Places in the list of answers, from 1.
struct Places;

impl<'de> DeserializeSeed<'de> for Places {
    type Value = Vec<usize>;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Self::Value, D::Error> {
        reader.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Places {
    type Value = Vec<usize>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of places among the answers, from 1")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        let mut all = Vec::new();
        while let Some(place) = list.next_element::<usize>()? {
            if all.len() == MOST_ANSWERS {
                return Err(A::Error::custom(format!("more than {MOST_ANSWERS} places")));
            }
            all.push(place);
        }
        Ok(all)
    }
}
