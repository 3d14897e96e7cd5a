//! The changes of the saved state's format, and how an older state is brought up to this
//! version's. The host's main thread runs them. Imports `shares`, `bridge` and the framework's
//! state; only `state` imports it.

use super::shares;
use crate::document::Unknown;
use nice_plug::plugin::{ParamValue, PluginState};
use serde_json::Value;
use std::collections::BTreeMap;

/// One change of the format.
pub struct Migration {
    /// The format that it leads to. It starts from the format before.
    pub to: u32,
    /// The day on which it was made.
    #[cfg_attr(not(test), expect(dead_code, reason = "for readers and tests"))]
    pub date: &'static str,
    /// Turns a state of the format before into one of this format. It renames and converts; what
    /// already has its new name stays as it is.
    pub run: fn(&mut PluginState),
}

/// Every change of the format, the oldest first. A migration stays for ever, and so does a
/// state from before it in `tests/data/states`.
pub static MIGRATIONS: [Migration; 3] = [
    Migration {
        to: 1,
        date: "2026-11-25",
        // Since this format, states hold the number of their format. All earlier states had the
        // same names and meanings, and sounded as the defaults of what they lack.
        run: |_| {},
    },
    Migration {
        to: 2,
        date: "2026-11-27",
        run: keep_hard_edges,
    },
    Migration {
        to: 3,
        date: "2026-11-27",
        // Since this format, chords without marks share their bar by its beats. Before, they
        // shared it evenly.
        run: |state| write_shares_out(&mut state.fields),
    },
];

/// Since this format, the edges of the register are soft by default. Before, no note lay beyond
/// them, and in older songs none does now.
fn keep_hard_edges(state: &mut PluginState) {
    let edges = state.params.entry("hard_edges".to_owned());
    edges.or_insert(ParamValue::Bool(true));
}

/// The saved field with the chart, and the texts in it.
pub const CHART_FIELD: &str = "chart";
const CHART_TEXTS: [&str; 3] = ["text", "sounding", "original"];

/// Marks the bars of the saved charts that would sound different without a mark.
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

/// The format of the states that this version saves.
pub fn format() -> u32 {
    MIGRATIONS.last().map_or(0, |migration| migration.to)
}

/// Takes a state through the migrations to the formats after its own. A state of a later
/// format than this version's goes through none.
pub fn migrate(state: &mut PluginState, format: u32, migrations: &[Migration]) {
    for migration in migrations.iter().filter(|migration| migration.to > format) {
        (migration.run)(state);
    }
}
