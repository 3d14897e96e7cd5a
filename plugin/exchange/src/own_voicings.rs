//! The player's own voicings as a small JSON file, to take along. Imports the theory alone.
//!
//! ```json
//! {
//!   "format": "guidehand voicings",
//!   "version": 1,
//!   "voicings": [
//!     {"name":"Doubled ninth","family":"m7","degrees":["b7","9","b3","5","9"]},
//!     {"name":"Wide","family":"7","degrees":["b7","3","13"],"octaves":[0,1,0]}
//!   ]
//! }
//! ```
//!
//! `degrees` go from the lowest note up, each next above the one before it, or as many octaves
//! higher as `octaves` says. Fields that this version does not know are kept and written again.

mod reader;

pub use reader::{OwnVoicingsError, read, voicing};

use guidehand_theory::own_shape::{MOST_SHAPES, OwnShape, ShapeFamily};
use serde::Serialize;
use serde_json::{Map, Value};
use std::fmt;

/// What `format` says in these files.
pub const FORMAT: &str = "guidehand voicings";
/// The version that is written, and the latest that is read.
pub const VERSION: u64 = 1;
/// The largest file that is read, in bytes.
pub const LARGEST_FILE: usize = 1 << 20;
/// The longest name, in characters.
pub const LONGEST_NAME: usize = 64;

/// A voicing of the player's own.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OwnVoicing {
    /// The player's name for it. Within a family it comes once.
    pub name: String,
    /// The family and the degrees.
    pub shape: OwnShape,
    /// Fields of other versions.
    pub unknown: Map<String, Value>,
}

/// What a file holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OwnVoicings {
    /// The voicings, in their order.
    pub voicings: Vec<OwnVoicing>,
    /// Fields of other versions.
    pub unknown: Map<String, Value>,
}

/// Why a voicing cannot be kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum KeepError {
    /// It has no name.
    NoName,
    /// Its name has so many characters, more than [`LONGEST_NAME`].
    LongName(usize),
    /// Its name holds a control character, such as a line break.
    ControlCharacter,
    /// Another voicing of its family has its name.
    NameTaken(ShapeFamily),
    /// There are [`MOST_SHAPES`] voicings already.
    TooMany,
}

impl fmt::Display for KeepError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            KeepError::NoName => f.write_str("the name is empty"),
            KeepError::LongName(length) => write!(
                f,
                "a name of {length} characters: expected at most {LONGEST_NAME}"
            ),
            KeepError::ControlCharacter => f.write_str("the name holds a control character"),
            KeepError::NameTaken(family) => {
                let family = family.name();
                write!(f, "another {family} voicing has this name")
            }
            KeepError::TooMany => write!(f, "more than {MOST_SHAPES} voicings"),
        }
    }
}

impl std::error::Error for KeepError {}

impl OwnVoicing {
    /// A voicing under a name, without the space around it.
    ///
    /// # Errors
    /// The name is not one.
    pub fn new(name: &str, shape: OwnShape) -> Result<OwnVoicing, KeepError> {
        Ok(OwnVoicing {
            name: known_name(name)?,
            shape,
            unknown: Map::new(),
        })
    }
}

/// A name without the space around it, if it is one.
fn known_name(text: &str) -> Result<String, KeepError> {
    let name = text.trim();
    match name.chars().count() {
        0 => Err(KeepError::NoName),
        length if length > LONGEST_NAME => Err(KeepError::LongName(length)),
        _ if name.chars().any(char::is_control) => Err(KeepError::ControlCharacter),
        _ => Ok(name.to_owned()),
    }
}

impl OwnVoicings {
    /// Adds a voicing after the others.
    ///
    /// # Errors
    /// Its name is taken in its family, or there are too many.
    pub fn keep(&mut self, voicing: OwnVoicing) -> Result<(), KeepError> {
        self.has_place_for(&voicing)?;
        self.voicings.push(voicing);
        Ok(())
    }

    fn has_place_for(&self, voicing: &OwnVoicing) -> Result<(), KeepError> {
        let family = voicing.shape.family();
        let same =
            |other: &OwnVoicing| other.name == voicing.name && other.shape.family() == family;
        if self.voicings.len() >= MOST_SHAPES {
            Err(KeepError::TooMany)
        } else if self.voicings.iter().any(same) {
            Err(KeepError::NameTaken(family))
        } else {
            Ok(())
        }
    }

    /// The shapes, as a plan takes them.
    #[must_use]
    pub fn shapes(&self) -> Vec<OwnShape> {
        self.voicings.iter().map(|voicing| voicing.shape).collect()
    }
}

/// One row of the file.
#[derive(Serialize)]
struct Row<'a> {
    name: &'a str,
    family: &'static str,
    degrees: Vec<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    octaves: Option<Vec<u8>>,
    #[serde(flatten)]
    unknown: &'a Map<String, Value>,
}

impl Row<'_> {
    fn of(voicing: &OwnVoicing) -> Row<'_> {
        let notes = voicing.shape.notes();
        let octaves: Vec<u8> = notes.iter().map(|note| note.octaves).collect();
        Row {
            name: &voicing.name,
            family: voicing.shape.family().name(),
            degrees: notes.iter().map(|note| note.degree.name()).collect(),
            octaves: Some(octaves).filter(|all| all.iter().any(|octaves| *octaves > 0)),
            unknown: &voicing.unknown,
        }
    }
}

/// One voicing as in a file.
#[must_use]
pub fn row(voicing: &OwnVoicing) -> Value {
    // Rows can always be written.
    serde_json::to_value(Row::of(voicing)).unwrap_or_default()
}

/// A value as JSON. Strings, numbers and rows can always be written.
fn json(value: &impl Serialize) -> String {
    serde_json::to_string(value).unwrap_or_default()
}

/// The file of these voicings, one voicing a line.
#[must_use]
pub fn write(voicings: &OwnVoicings) -> String {
    let rows = voicings.voicings.iter().map(Row::of);
    let rows: Vec<String> = rows.map(|row| format!("\n    {}", json(&row))).collect();
    let end = if rows.is_empty() { "" } else { "\n  " };
    let unknown = voicings.unknown.iter();
    let unknown = unknown.map(|(name, value)| format!(",\n  {}: {}", json(name), json(value)));
    format!(
        "{{\n  \"format\": {},\n  \"version\": {VERSION},\n  \"voicings\": [{}{end}]{}\n}}\n",
        json(&FORMAT),
        rows.join(","),
        unknown.collect::<String>(),
    )
}
