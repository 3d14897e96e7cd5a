//! The saved state: its format, the steps that bring older states up to it, its
//! limits, and what is kept of later ones. Imports nothing of the crate.
//!
//! A state is JSON with a number for its format, a value for each parameter and
//! a text for each saved field. The framework reads it, [`admit`] looks it over
//! before anything is set, and [`Extras`] adds to what is saved.

mod shares;

pub use crate::bridge::chart::{LONGEST_TEXT, Unknown};
use nice_plug::plugin::{ParamValue, PluginState};
use nice_plug::prelude::{ParamPtr, Params};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};

/// The longest saved field that is looked at, in bytes of JSON. A chart holds
/// three texts, and JSON writes some bytes as six.
const LONGEST_FIELD: usize = 3 * 6 * LONGEST_TEXT + 1024;

/// What is kept of later versions at most, in bytes of names and texts.
const MOST_KEPT: usize = LONGEST_TEXT;

/// The saved field that tells the format; states without it are of format 0.
const FORMAT_FIELD: &str = "format";

/// The saved field for parameters that only a later version has.
const LATER_FIELD: &str = "later";

/// One change of the format.
struct Step {
    /// The format that it leads to, from the one before.
    to: u32,
    /// The day on which it was made.
    #[cfg_attr(not(test), expect(dead_code, reason = "for readers and tests"))]
    date: &'static str,
    /// Turns a state of the format before into one of this. It renames and
    /// converts; what already has its new name stays as it is.
    run: fn(&mut PluginState),
}

/// Every change of the format, the oldest first. A step stays for ever, and so
/// does a state from before it in `tests/data/states`.
static STEPS: [Step; 3] = [
    Step {
        to: 1,
        date: "2026-11-25",
        // States tell their format from here on. All before had the same names and
        // meanings, and the defaults of what they lack are what they sounded like.
        run: |_| {},
    },
    Step {
        to: 2,
        date: "2026-11-27",
        run: keep_hard_edges,
    },
    Step {
        to: 3,
        date: "2026-11-27",
        // Chords without marks share their bar by its beats from here on; before,
        // they shared it evenly.
        run: |state| write_shares_out(&mut state.fields),
    },
];

/// The edges of the register are soft at first from here on. Before, no note lay
/// beyond them, and so it stays in the songs of that time.
fn keep_hard_edges(state: &mut PluginState) {
    let edges = state.params.entry("hard_edges".to_owned());
    edges.or_insert(ParamValue::Bool(true));
}

/// The saved field with the chart, and the texts in it.
const CHART_FIELD: &str = "chart";
const CHART_TEXTS: [&str; 3] = ["text", "sounding", "original"];

/// Marks the bars of the saved charts that would sound otherwise.
fn write_shares_out(fields: &mut BTreeMap<String, String>) {
    let Some(field) = fields.get_mut(CHART_FIELD) else {
        return;
    };
    let Ok(mut saved) = serde_json::from_str::<Unknown>(field) else {
        return;
    };
    let mut changed = false;
    for name in CHART_TEXTS {
        if let Some(Value::String(text)) = saved.get_mut(name) {
            let new = shares::written_out(text);
            changed |= new != *text;
            *text = new;
        }
    }
    if let (true, Ok(new)) = (changed, serde_json::to_string(&saved)) {
        *field = new;
    }
}

/// The format of the states that are saved now.
fn format() -> u32 {
    STEPS.last().map_or(0, |step| step.to)
}

/// Takes a state through the steps that it has not seen. One of a later format
/// has seen them all.
fn migrate(state: &mut PluginState, format: u32, steps: &[Step]) {
    for step in steps.iter().filter(|step| step.to > format) {
        (step.run)(state);
    }
}

/// What this version knows.
struct Known {
    params: BTreeMap<String, Range>,
    fields: BTreeSet<String>,
}

/// The values that a parameter takes: default, least and most. The framework sets
/// what it is told, and would look up the name of a choice that there is not.
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
        // SAFETY: the pointers come from the map of parameters that `Known::of`
        // has borrowed, and are not kept.
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

    /// The nearest value in the range; the default for one of another kind.
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

/// The same for every instance, see [`know`].
static KNOWN: OnceLock<Known> = OnceLock::new();

/// Tells the names and defaults of parameters and saved fields, once and for all.
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

/// Makes any state one of this version, before it is loaded: within the limits,
/// through every step, with every parameter in its range, with the defaults of
/// those that it lacks, and with those that are unknown set apart.
pub fn admit(state: &mut PluginState) {
    if let Some(known) = KNOWN.get() {
        admit_by(state, known, &STEPS);
    }
}

fn admit_by(state: &mut PluginState, known: &Known, steps: &[Step]) {
    state.fields.retain(|_, text| text.len() <= LONGEST_FIELD);
    let format = state.fields.remove(FORMAT_FIELD);
    let format = format.and_then(|text| text.parse().ok()).unwrap_or(0);
    // Parameters that an earlier version did not know and has kept for this one.
    let later = state.fields.remove(LATER_FIELD);
    for (name, value) in later.as_deref().map(read_later).unwrap_or_default() {
        state.params.entry(name).or_insert(value);
    }
    migrate(state, format, steps);

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

/// Whether there is room for something unknown; if so, there is less from now on.
fn takes_room(room: &mut usize, name: &str, bytes: usize) -> bool {
    match room.checked_sub(name.len() + bytes) {
        Some(rest) => {
            *room = rest;
            true
        }
        None => false,
    }
}

/// Whether a value comes back from JSON, which has no infinity.
fn has_json(value: &ParamValue) -> bool {
    !matches!(value, ParamValue::F32(value) if !value.is_finite())
}

/// What can be read of the parameters that were kept.
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

/// What is saved beside parameters and fields: the format, and what this version
/// does not know of the state that was loaded last.
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
