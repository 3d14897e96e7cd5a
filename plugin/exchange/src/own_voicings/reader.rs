//! Reads own voicings. A file that cannot be read whole is refused, with the place and the reason.
//! Imports its head file and `fields`.

use super::{FORMAT, LARGEST_FILE, LONGEST_NAME, OwnVoicing, OwnVoicings, VERSION};
use crate::fields::{Format, Named, Version, given, keep, once};
use guidehand_theory::degree::Degree;
use guidehand_theory::own_shape::{OwnShape, ShapeFamily, ShapeNote};
use guidehand_theory::voicing::MOST_NOTES;
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};
use std::cell::Cell;
use std::fmt;

/// Why a file of own voicings is refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnVoicingsError {
    /// The line, from 1; 0 if the whole file is meant.
    pub line: usize,
    /// The column, from 1; 0 if the whole line is meant.
    pub column: usize,
    /// The voicing, from 1, if it is about one.
    pub voicing: Option<usize>,
    /// The name of the voicing, if it has one that can be read.
    pub name: Option<String>,
    /// What is wrong, and what was expected.
    pub problem: String,
}

impl fmt::Display for OwnVoicingsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line > 0 {
            write!(f, "line {}, column {}: ", self.line, self.column)?;
        }
        if let Some(number) = self.voicing {
            write!(f, "voicing {number}")?;
            if let Some(name) = &self.name {
                write!(f, " ({name:?})")?;
            }
            f.write_str(": ")?;
        }
        f.write_str(&self.problem)
    }
}

impl std::error::Error for OwnVoicingsError {}

/// Reads a file of own voicings.
///
/// # Errors
/// The first thing that is wrong, with its place. Nothing is read then.
pub fn read(bytes: &[u8]) -> Result<OwnVoicings, OwnVoicingsError> {
    if bytes.len() > LARGEST_FILE {
        return Err(OwnVoicingsError {
            line: 0,
            column: 0,
            voicing: None,
            name: None,
            problem: format!("larger than {} KiB", LARGEST_FILE / 1024),
        });
    }
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let number = Cell::new(None);
    let mut reader = serde_json::Deserializer::from_slice(text);
    let file = File { number: &number };
    let read = file
        .deserialize(&mut reader)
        .and_then(|read| reader.end().map(|()| read));
    read.map_err(|error| told(&error, number.get(), text))
}

/// Reads one voicing as it stands in a file. None if it cannot be read.
#[must_use]
pub fn voicing(row: &Value) -> Option<OwnVoicing> {
    After(&OwnVoicings::default()).deserialize(row).ok()
}

fn told(error: &serde_json::Error, number: Option<usize>, text: &[u8]) -> OwnVoicingsError {
    let (line, column) = (error.line(), error.column());
    let problem = error.to_string();
    let place = format!(" at line {line} column {column}");
    // Where the JSON itself is broken, no name is known.
    let whole: Option<Value> = serde_json::from_slice(text).ok();
    let voicing = |at: usize| {
        whole
            .as_ref()?
            .get("voicings")?
            .get(at)?
            .get("name")?
            .as_str()
    };
    let name = number.and_then(|number: usize| voicing(number.checked_sub(1)?));
    OwnVoicingsError {
        line,
        column,
        voicing: number,
        name: name.map(|name| name.chars().take(LONGEST_NAME).collect()),
        problem: problem.strip_suffix(&place).unwrap_or(&problem).to_owned(),
    }
}

/// The whole file. `number` is the voicing that is being read.
struct File<'a> {
    number: &'a Cell<Option<usize>>,
}

impl<'de> DeserializeSeed<'de> for File<'_> {
    type Value = OwnVoicings;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<OwnVoicings, D::Error> {
        reader.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for File<'_> {
    type Value = OwnVoicings;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "an object with \"format\": {FORMAT:?}")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<OwnVoicings, A::Error> {
        let (mut format, mut version) = (None, None);
        let mut voicings: Option<Vec<OwnVoicing>> = None;
        let mut unknown = Map::new();
        while let Some(field) = map.next_key::<String>()? {
            match field.as_str() {
                "format" => once(&mut format, &field, map.next_value_seed(Format(FORMAT))?)?,
                "version" => once(&mut version, &field, map.next_value_seed(Version(VERSION))?)?,
                "voicings" => {
                    let seed = Voicings {
                        number: self.number,
                    };
                    let read = map.next_value_seed(seed)?;
                    once(&mut voicings, &field, read)?;
                    self.number.set(None);
                }
                _ => keep(&mut unknown, field, map.next_value()?)?,
            }
        }
        given(format, "format")?;
        given(version, "version")?;
        Ok(OwnVoicings {
            voicings: given(voicings, "voicings")?,
            unknown,
        })
    }
}

/// The list of voicings.
struct Voicings<'a> {
    number: &'a Cell<Option<usize>>,
}

impl<'de> DeserializeSeed<'de> for Voicings<'_> {
    type Value = Vec<OwnVoicing>;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Self::Value, D::Error> {
        reader.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Voicings<'_> {
    type Value = Vec<OwnVoicing>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of voicings")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        let mut all = OwnVoicings::default();
        loop {
            self.number.set(Some(all.voicings.len() + 1));
            let Some(voicing) = list.next_element_seed(After(&all))? else {
                return Ok(all.voicings);
            };
            all.voicings.push(voicing);
        }
    }
}

/// A voicing of the list, after those before it.
struct After<'a>(&'a OwnVoicings);

impl<'de> DeserializeSeed<'de> for After<'_> {
    type Value = OwnVoicing;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<OwnVoicing, D::Error> {
        reader.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for After<'_> {
    type Value = OwnVoicing;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a voicing with \"name\", \"family\" and \"degrees\"")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<OwnVoicing, A::Error> {
        let (mut name, mut family) = (None, None);
        let mut degrees: Option<Vec<Degree>> = None;
        let mut octaves: Option<Vec<u8>> = None;
        let mut unknown = Map::new();
        while let Some(field) = map.next_key::<String>()? {
            match field.as_str() {
                "name" => once(&mut name, &field, map.next_value_seed(Named(known_name))?)?,
                "family" => once(
                    &mut family,
                    &field,
                    map.next_value_seed(Named(known_family))?,
                )?,
                "degrees" => {
                    let read = map.next_value_seed(List(Named(known_degree), "degrees"))?;
                    once(&mut degrees, &field, read)?;
                }
                "octaves" => {
                    let read = map.next_value_seed(List(Octaves, "octaves"))?;
                    once(&mut octaves, &field, read)?;
                }
                _ => keep(&mut unknown, field, map.next_value()?)?,
            }
        }
        let name = given(name, "name")?;
        let family = given(family, "family")?;
        let degrees = given(degrees, "degrees")?;
        let octaves = octaves.unwrap_or_else(|| vec![0; degrees.len()]);
        if octaves.len() != degrees.len() {
            let (octaves, degrees) = (octaves.len(), degrees.len());
            let problem = format!("{octaves} octaves for {degrees} degrees: expected one for each");
            return Err(A::Error::custom(problem));
        }
        let notes = degrees.into_iter().zip(octaves);
        let notes = notes.map(|(degree, octaves)| ShapeNote { degree, octaves });
        let shape = OwnShape::new(family, &notes.collect::<Vec<_>>());
        let voicing = OwnVoicing {
            name,
            shape: shape.map_err(A::Error::custom)?,
            unknown,
        };
        let place = self.0.has_place_for(&voicing);
        place.map(|()| voicing).map_err(A::Error::custom)
    }
}

fn known_name(text: &str) -> Result<String, String> {
    super::known_name(text).map_err(|error| error.to_string())
}

fn known_family(text: &str) -> Result<ShapeFamily, String> {
    ShapeFamily::from_name(text).ok_or_else(|| {
        let names = ShapeFamily::ALL.map(ShapeFamily::name).join(", ");
        format!("there is no family {text:?}: expected one of {names}")
    })
}

fn known_degree(text: &str) -> Result<Degree, String> {
    Degree::from_name(text).ok_or_else(|| {
        let names = Degree::ALL.map(Degree::name).join(", ");
        format!("there is no degree {text:?}: expected one of {names}")
    })
}

/// The octaves below a note.
#[derive(Clone)]
struct Octaves;

impl<'de> DeserializeSeed<'de> for Octaves {
    type Value = u8;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<u8, D::Error> {
        reader.deserialize_u64(self)
    }
}

impl Visitor<'_> for Octaves {
    type Value = u8;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a number of octaves")
    }

    fn visit_u64<E: Error>(self, octaves: u64) -> Result<u8, E> {
        // What is too many is told of the shape.
        Ok(u8::try_from(octaves).unwrap_or(u8::MAX))
    }
}

/// A list of one thing for each note.
struct List<S>(S, &'static str);

impl<'de, S: DeserializeSeed<'de> + Clone> DeserializeSeed<'de> for List<S> {
    type Value = Vec<S::Value>;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Self::Value, D::Error> {
        reader.deserialize_seq(self)
    }
}

impl<'de, S: DeserializeSeed<'de> + Clone> Visitor<'de> for List<S> {
    type Value = Vec<S::Value>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a list of {}", self.1)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        let mut all = Vec::new();
        while let Some(one) = list.next_element_seed(self.0.clone())? {
            if all.len() == MOST_NOTES {
                let what = self.1;
                let problem = format!("more than {MOST_NOTES} {what}");
                return Err(A::Error::custom(problem));
            }
            all.push(one);
        }
        Ok(all)
    }
}
