//! The player's own voicings: what can be kept, renamed, taken away and joined, and how they are
//! saved with the document. Plain values on any thread but the audio thread. Imports the theory and
//! the exchange of files; the folder of `document` imports it.

use guidehand_exchange::own_voicings::{
    self, KeepError, LARGEST_FILE, LONGEST_NAME, OwnVoicing, OwnVoicings, VERSION,
};
use guidehand_theory::own_shape::{MOST_SHAPES, OwnShape, ShapeFamily};
use serde_json::{Map, Value, json};
use std::fmt;
use std::sync::Arc;

/// The most room that they take where they are saved, in bytes.
pub const MOST_OWN_BYTES: usize = LARGEST_FILE;

/// The player's own voicings. Nothing in them changes: an edit makes others.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MyVoicings {
    list: OwnVoicings,
    /// Their shapes, as the audio thread shares them.
    shapes: Arc<[OwnShape]>,
    /// What was loaded and cannot be read: voicings of a later version. They are saved again.
    unread: Vec<Value>,
    /// The version of what was loaded.
    version: u64,
    /// About how much memory they take, in bytes.
    bytes: usize,
}

/// What tells one of the voicings from all others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VoicingName {
    /// Its family.
    pub family: ShapeFamily,
    /// Its name, which comes once in the family.
    pub name: String,
}

impl VoicingName {
    /// What tells this voicing from others.
    #[must_use]
    pub fn of(voicing: &OwnVoicing) -> VoicingName {
        VoicingName {
            family: voicing.shape.family(),
            name: voicing.name.clone(),
        }
    }

    fn is_of(&self, voicing: &OwnVoicing) -> bool {
        voicing.shape.family() == self.family && voicing.name == self.name
    }
}

/// The voicings of a file beside those of the player.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Joined {
    /// All of them: the player's first.
    pub voicings: MyVoicings,
    /// How many have come in.
    pub new: usize,
    /// How many the player had already, under the same name or one with a number behind it.
    pub known: usize,
    /// Those whose name was taken by another voicing of their family, with the name that they have
    /// instead.
    pub renamed: Vec<(String, String)>,
}

/// Why the voicings of a file cannot stand beside those of the player.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum JoinError {
    /// There would be so many, more than [`MOST_SHAPES`].
    TooMany(usize),
    /// They would no longer fit into one file.
    TooLarge,
}

impl fmt::Display for JoinError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            JoinError::TooMany(count) => write!(
                f,
                "with yours there would be {count} voicings: expected at most {MOST_SHAPES}"
            ),
            JoinError::TooLarge => write!(
                f,
                "with yours they would fill more than {} KiB",
                MOST_OWN_BYTES / 1024
            ),
        }
    }
}

impl MyVoicings {
    /// The voicings, in their order.
    #[must_use]
    pub fn voicings(&self) -> &[OwnVoicing] {
        &self.list.voicings
    }

    /// Their shapes, in the same order.
    #[must_use]
    pub const fn shapes(&self) -> &Arc<[OwnShape]> {
        &self.shapes
    }

    /// The voicings as they are written to a file.
    #[must_use]
    pub const fn list(&self) -> &OwnVoicings {
        &self.list
    }

    /// About how much memory they take, in bytes.
    #[must_use]
    pub const fn bytes(&self) -> usize {
        self.bytes
    }

    /// With one voicing more.
    ///
    /// # Errors
    /// The name is none or is taken, or there are too many.
    pub fn with(&self, name: &str, shape: OwnShape) -> Result<MyVoicings, KeepError> {
        let mut list = self.list.clone();
        list.keep(OwnVoicing::new(name, shape)?)?;
        Ok(self.with_list(list))
    }

    /// With another name for one of them.
    ///
    /// # Errors
    /// The name is none or is taken.
    pub fn renamed(&self, which: &VoicingName, name: &str) -> Result<MyVoicings, KeepError> {
        let mut list = OwnVoicings {
            voicings: Vec::with_capacity(self.list.voicings.len()),
            unknown: self.list.unknown.clone(),
        };
        let taken = |voicing: &&OwnVoicing| !which.is_of(voicing);
        for voicing in self.list.voicings.iter().filter(taken) {
            list.keep(voicing.clone())?;
        }
        let Some(at) = self.position(which) else {
            return Ok(self.clone());
        };
        if let Some(voicing) = self.list.voicings.get(at) {
            let named = OwnVoicing::new(name, voicing.shape)?;
            list.keep(OwnVoicing {
                unknown: voicing.unknown.clone(),
                ..named
            })?;
        }
        // It stays in its place.
        if let Some(last) = list.voicings.pop() {
            list.voicings.insert(at, last);
        }
        Ok(self.with_list(list))
    }

    /// Without one of them.
    #[must_use]
    pub fn without(&self, which: &VoicingName) -> MyVoicings {
        let mut list = self.list.clone();
        list.voicings.retain(|voicing| !which.is_of(voicing));
        self.with_list(list)
    }

    /// Together with the voicings of a file. Nothing of the player's is lost: a voicing that is
    /// there already is passed over, and one whose name another one has gets a number behind it.
    ///
    /// # Errors
    /// They are too many, or too large.
    pub fn joined(&self, file: &OwnVoicings) -> Result<Joined, JoinError> {
        let mut list = self.list.clone();
        let (mut known, mut new, mut renamed) = (0, 0, Vec::new());
        for voicing in &file.voicings {
            let Some(name) = name_beside(&list, voicing) else {
                known += 1;
                continue;
            };
            new += 1;
            if name != voicing.name {
                renamed.push((voicing.name.clone(), name.clone()));
            }
            list.voicings.push(OwnVoicing {
                name,
                ..voicing.clone()
            });
        }
        for (field, value) in &file.unknown {
            let mine = list.unknown.entry(field);
            mine.or_insert_with(|| value.clone());
        }
        if list.voicings.len() > MOST_SHAPES {
            return Err(JoinError::TooMany(list.voicings.len()));
        }
        let unread = self.unread.iter().map(|value| value.to_string().len());
        if own_voicings::write(&list).len() + unread.sum::<usize>() > MOST_OWN_BYTES {
            return Err(JoinError::TooLarge);
        }
        Ok(Joined {
            voicings: self.with_list(list),
            new,
            known,
            renamed,
        })
    }

    fn position(&self, which: &VoicingName) -> Option<usize> {
        let mut voicings = self.list.voicings.iter();
        voicings.position(|voicing| which.is_of(voicing))
    }

    fn with_list(&self, list: OwnVoicings) -> MyVoicings {
        MyVoicings::of(list, self.unread.clone(), self.version)
    }

    fn of(list: OwnVoicings, unread: Vec<Value>, version: u64) -> MyVoicings {
        let of_fields = |fields: &Map<String, Value>| match fields.len() {
            0 => 0,
            _ => json!(fields).to_string().len(),
        };
        let of_one = |voicing: &OwnVoicing| {
            size_of::<OwnVoicing>() + voicing.name.len() + of_fields(&voicing.unknown)
        };
        let of_unread = unread.iter().map(|value| value.to_string().len());
        let of_list: usize = list.voicings.iter().map(of_one).sum();
        let bytes = of_list + of_fields(&list.unknown) + of_unread.sum::<usize>();
        let shapes = list.voicings.iter().map(|voicing| voicing.shape);
        MyVoicings {
            shapes: shapes.collect(),
            list,
            unread,
            version,
            bytes,
        }
    }

    /// The voicings as they are saved: with a version, and each as in a file. None if there are
    /// none.
    #[must_use]
    pub fn saved(&self) -> Option<Value> {
        if *self == MyVoicings::default() {
            return None;
        }
        let rows = self.list.voicings.iter().map(own_voicings::row);
        let rows: Vec<Value> = rows.chain(self.unread.iter().cloned()).collect();
        let mut saved = self.list.unknown.clone();
        saved.insert("version".to_owned(), self.version.max(VERSION).into());
        saved.insert("voicings".to_owned(), rows.into());
        Some(saved.into())
    }

    /// The voicings that were saved. What cannot be read of them is kept as it is.
    #[must_use]
    pub fn loaded(saved: Option<Value>) -> MyVoicings {
        let Some(saved) = saved else {
            return MyVoicings::default();
        };
        let (rows, unknown, version) = match saved {
            Value::Object(mut fields) => {
                let rows = match fields.remove("voicings") {
                    Some(Value::Array(rows)) => rows,
                    other => other.into_iter().collect(),
                };
                // A whole file has one more field.
                fields.remove("format");
                let version = fields.remove("version").and_then(|one| one.as_u64());
                (rows, fields, version.unwrap_or_default())
            }
            other => (vec![other], Map::new(), 0),
        };
        let mut list = OwnVoicings {
            voicings: Vec::new(),
            unknown,
        };
        let mut unread = Vec::new();
        for row in rows {
            let kept = own_voicings::voicing(&row).is_some_and(|one| list.keep(one).is_ok());
            if !kept {
                unread.push(row);
            }
        }
        MyVoicings::of(list, unread, version)
    }
}

/// The name that a voicing gets beside others: its own, or the first one with a number behind it that
/// is free. None if the same voicing is there already, under its name or under one with a number.
fn name_beside(list: &OwnVoicings, voicing: &OwnVoicing) -> Option<String> {
    let numbered = |number: usize| {
        let number = format!(" {number}");
        let room = LONGEST_NAME - number.len();
        let name: String = voicing.name.chars().take(room).collect();
        name.trim_end().to_owned() + &number
    };
    let names = std::iter::once(voicing.name.clone()).chain((2..).map(numbered));
    for name in names {
        let which = VoicingName {
            family: voicing.shape.family(),
            name,
        };
        match list.voicings.iter().find(|mine| which.is_of(mine)) {
            None => return Some(which.name),
            Some(mine) if mine.shape == voicing.shape => return None,
            Some(_) => {}
        }
    }
    None
}
