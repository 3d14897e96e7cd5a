//! The fields of a JSON file that is read whole or refused. Imports nothing of the crate.

use serde::de::{DeserializeSeed, Deserializer, Error, Visitor};
use serde_json::{Map, Value};
use std::fmt;

/// Takes a field, which must not come twice.
///
/// # Errors
/// It has come before.
pub fn once<T, E: Error>(place: &mut Option<T>, field: &str, value: T) -> Result<(), E> {
    match place.replace(value) {
        None => Ok(()),
        Some(_) => Err(E::custom(format!("the field {field:?} comes twice"))),
    }
}

/// Keeps a field of another version.
///
/// # Errors
/// It has come before.
pub fn keep<E: Error>(
    unknown: &mut Map<String, Value>,
    field: String,
    value: Value,
) -> Result<(), E> {
    let twice = E::custom(format!("the field {field:?} comes twice"));
    match unknown.insert(field, value) {
        None => Ok(()),
        Some(_) => Err(twice),
    }
}

/// A field that must be there.
///
/// # Errors
/// It is missing.
pub fn given<T, E: Error>(value: Option<T>, field: &str) -> Result<T, E> {
    value.ok_or_else(|| E::custom(format!("the field {field:?} is missing")))
}

/// What the field `format` says: this text.
#[derive(Clone, Copy, Debug)]
pub struct Format(pub &'static str);

impl<'de> DeserializeSeed<'de> for Format {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<(), D::Error> {
        reader.deserialize_str(self)
    }
}

impl Visitor<'_> for Format {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.0)
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<(), E> {
        if text == self.0 {
            return Ok(());
        }
        let expected = self.0;
        Err(E::custom(format!("expected {expected:?}, found {text:?}")))
    }
}

/// What the field `version` says: a version from 1 to this one.
#[derive(Clone, Copy, Debug)]
pub struct Version(pub u64);

impl<'de> DeserializeSeed<'de> for Version {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<(), D::Error> {
        reader.deserialize_u64(self)
    }
}

impl Visitor<'_> for Version {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a version from 1 to {}", self.0)
    }

    fn visit_u64<E: Error>(self, version: u64) -> Result<(), E> {
        let latest = self.0;
        if (1..=latest).contains(&version) {
            return Ok(());
        }
        let problem = format!("version {version}; versions 1 to {latest} can be read");
        Err(E::custom(problem))
    }
}

/// A text that stands for something.
#[derive(Debug)]
pub struct Named<T>(pub fn(&str) -> Result<T, String>);

impl<T> Clone for Named<T> {
    fn clone(&self) -> Self {
        Named(self.0)
    }
}

impl<'de, T> DeserializeSeed<'de> for Named<T> {
    type Value = T;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<T, D::Error> {
        reader.deserialize_str(self)
    }
}

impl<T> Visitor<'_> for Named<T> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a text")
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<T, E> {
        (self.0)(text).map_err(E::custom)
    }
}
