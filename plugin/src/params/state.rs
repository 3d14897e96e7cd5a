//! The saved state: its format, its limits, and what is kept of the states of later versions.
//! The host's main thread calls it. Imports `bridge`; `params` and `host` import it.
//!
//! A state is JSON with a number for its format, a value for each parameter and a text for
//! each saved field. The framework reads it, [`admit`] makes it a state of this version before
//! anything is set, and [`Extras`] adds to what is saved.

mod migrations;
mod shares;

use crate::bridge::chart::LONGEST_TEXT;
use crate::document::{MOST_OWN_BYTES, MOST_PICKS, Unknown};
use migrations::{MIGRATIONS, Migration, format, migrate};
use nice_plug::plugin::{ParamValue, PluginState};
use nice_plug::prelude::{ParamPtr, Params};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};

/// Room for what was picked for a chord, in bytes of JSON.
const PICK: usize = 128;

/// The longest saved field that is read, in bytes of JSON. A chart holds three texts, each with a
/// melody, pins and scales, and JSON writes some bytes as six. The player's own voicings are with it.
const LONGEST_FIELD: usize =
    3 * (2 * 6 * LONGEST_TEXT + 2 * MOST_PICKS * PICK) + MOST_OWN_BYTES + 1024;

/// The most that is kept of the states of later versions, in bytes of names and texts.
const MOST_KEPT: usize = LONGEST_TEXT;

/// The saved field with the number of the format. A state without it has format 0.
const FORMAT_FIELD: &str = "format";

/// The saved field with the parameters that only a later version has.
const LATER_FIELD: &str = "later";

/// The parameters and fields that this version knows.
struct Known {
    params: BTreeMap<String, Range>,
    fields: BTreeSet<String>,
}

/// The values that a parameter takes: default, lowest and highest. The framework sets any value
/// that a state holds, and looks up the name of a choice by an index even if no choice has it.
enum Range {
    Float([f32; 3]),
    Int([i32; 3]),
    Switch(bool),
    /// Saved by its name, or by its index.
    Choice([i32; 3]),
}

impl Range {
    fn of(param: ParamPtr) -> Range {
        use nice_plug::prelude::Param;
        fn ends<P: Param>(param: &P) -> [P::Plain; 3] {
            let default = param.default_plain_value();
            [default, param.preview_plain(0.0), param.preview_plain(1.0)]
        }
        // SAFETY: the pointers come from the map of parameters that `Known::of` has borrowed,
        // and are not kept.
        unsafe {
            match param {
                ParamPtr::FloatParam(param) => Range::Float(ends(&*param)),
                ParamPtr::IntParam(param) => Range::Int(ends(&*param)),
                ParamPtr::BoolParam(param) => Range::Switch((*param).default_plain_value()),
                ParamPtr::EnumParam(param) => Range::Choice(ends(&*param)),
            }
        }
    }

    fn default(&self) -> ParamValue {
        match *self {
            Range::Float([default, ..]) => ParamValue::F32(default),
            Range::Int([default, ..]) | Range::Choice([default, ..]) => ParamValue::I32(default),
            Range::Switch(default) => ParamValue::Bool(default),
        }
    }

    /// Replaces a value by the nearest one in the range, or by the default if it has another type.
    fn fit(&self, value: &mut ParamValue) {
        match (self, &mut *value) {
            (Range::Float([_, least, most]), ParamValue::F32(value)) if !value.is_nan() => {
                *value = value.clamp(*least, *most);
            }
            (Range::Int([_, least, most]), ParamValue::I32(value)) => {
                *value = (*value).clamp(*least, *most);
            }
            (Range::Choice([_, least, most]), ParamValue::I32(value))
                if (least..=most).contains(&&*value) => {}
            (Range::Switch(_), ParamValue::Bool(_)) => {}
            (Range::Choice(_), ParamValue::String(_)) => {}
            _ => *value = self.default(),
        }
    }
}

/// What [`know`] has remembered. It is the same for every instance.
static KNOWN: OnceLock<Known> = OnceLock::new();

/// Remembers the names and ranges of parameters and the names of saved fields, for all
/// instances.
pub fn know(params: &impl Params) {
    KNOWN.get_or_init(|| Known::of(params));
}

impl Known {
    fn of(params: &impl Params) -> Known {
        let map = params.param_map().into_iter();
        let mut fields: BTreeSet<String> = params.serialize_fields().into_keys().collect();
        fields.extend([FORMAT_FIELD.to_owned(), LATER_FIELD.to_owned()]);
        Known {
            params: map
                .map(|(name, param, _)| (name, Range::of(param)))
                .collect(),
            fields,
        }
    }
}

/// Makes any state a state of this version, before it is loaded. It drops what exceeds the
/// limits, runs the migrations, brings every parameter into its range, adds the defaults of
/// missing parameters, and sets unknown parameters apart.
pub fn admit(state: &mut PluginState) {
    if let Some(known) = KNOWN.get() {
        admit_by(state, known, &MIGRATIONS);
    }
}

fn admit_by(state: &mut PluginState, known: &Known, migrations: &[Migration]) {
    state.fields.retain(|_, text| text.len() <= LONGEST_FIELD);
    let format = state.fields.remove(FORMAT_FIELD);
    let format = format.and_then(|text| text.parse().ok()).unwrap_or(0);
    // Parameters that an earlier version did not know, and has kept.
    let later = state.fields.remove(LATER_FIELD);
    for (name, value) in later.as_deref().map(read_later).unwrap_or_default() {
        state.params.entry(name).or_insert(value);
    }
    migrate(state, format, migrations);

    let mut room = MOST_KEPT;
    let unknown = state
        .params
        .extract_if(.., |name, _| !known.params.contains_key(name));
    let later: BTreeMap<_, _> = unknown
        .filter(|(_, value)| has_json(value))
        .filter(|(name, value)| takes_room(&mut room, name, bytes_of(value)))
        .collect();
    state.fields.retain(|name, text| {
        known.fields.contains(name) || takes_room(&mut room, name, text.len())
    });
    if let Some(text) = written_later(&later) {
        state.fields.insert(LATER_FIELD.to_owned(), text);
    }
    for (name, range) in &known.params {
        let value = state.params.entry(name.clone());
        range.fit(value.or_insert_with(|| range.default()));
    }
}

fn bytes_of(value: &ParamValue) -> usize {
    match value {
        ParamValue::String(text) => text.len(),
        _ => size_of::<ParamValue>(),
    }
}

/// Whether there is room for one more unknown value. If so, the room shrinks by its size.
fn takes_room(room: &mut usize, name: &str, bytes: usize) -> bool {
    match room.checked_sub(name.len() + bytes) {
        Some(rest) => {
            *room = rest;
            true
        }
        None => false,
    }
}

/// Whether a value can be written as JSON, which has only finite numbers.
fn has_json(value: &ParamValue) -> bool {
    !matches!(value, ParamValue::F32(value) if !value.is_finite())
}

/// Reads the parameters that were kept, except those that cannot be read.
fn read_later(text: &str) -> BTreeMap<String, ParamValue> {
    let kept: Unknown = serde_json::from_str(text).unwrap_or_default();
    let read = |(name, value)| Some((name, serde_json::from_value(value).ok()?));
    kept.into_iter().filter_map(read).collect()
}

fn written_later(later: &BTreeMap<String, ParamValue>) -> Option<String> {
    if later.is_empty() {
        return None;
    }
    serde_json::to_string(later).ok()
}

/// What is saved besides parameters and fields: the format, and the parts of the last loaded
/// state that this version does not know.
#[derive(Debug, Default)]
pub struct Extras(Mutex<BTreeMap<String, String>>);

impl Extras {
    fn lock(&self) -> MutexGuard<'_, BTreeMap<String, String>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

// SAFETY: there are no parameters, and so no pointers that could outlive theirs.
unsafe impl Params for Extras {
    fn param_map(&self) -> Vec<(String, ParamPtr, String)> {
        Vec::new()
    }

    fn serialize_fields(&self) -> BTreeMap<String, String> {
        let mut fields = self.lock().clone();
        fields.insert(FORMAT_FIELD.to_owned(), format().to_string());
        fields
    }

    fn deserialize_fields(&self, fields: &BTreeMap<String, String>) {
        let is_ours = |name: &String| {
            let known = KNOWN.get();
            name != LATER_FIELD && known.is_none_or(|known| known.fields.contains(name))
        };
        let unknown = fields.iter().filter(|(name, _)| !is_ours(name));
        *self.lock() = unknown
            .map(|(name, text)| (name.clone(), text.clone()))
            .collect();
    }
}

#[cfg(test)]
mod tests;
