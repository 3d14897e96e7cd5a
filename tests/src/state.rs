//! Saved states from outside. The framework saves the length of the JSON in eight bytes, the lowest
//! first, then the JSON. Every saved field is JSON in a string. Imports the exchange.

use guidehand_exchange::kept::{KeptPin, KeptScale};
use guidehand_exchange::own_voicings::{self, OwnVoicings};
use serde_json::Value;

const LENGTH_BYTES: usize = 8;

/// A saved state with another value in one of its fields, such as `drawn`.
///
/// # Panics
/// If the bytes are not a state of that kind, or it has no such field.
#[must_use]
pub fn with_field(state: &[u8], field: &str, value: &Value) -> Vec<u8> {
    let mut state: Value = serde_json::from_slice(json_of(state)).expect("a state is JSON");
    let place = state
        .get_mut("fields")
        .and_then(|fields| fields.get_mut(field))
        .unwrap_or_else(|| panic!("the state has no field {field}"));
    *place = Value::String(value.to_string());
    framed(state.to_string().as_bytes())
}

/// A saved state with another chart in it.
///
/// # Panics
/// If the bytes are not a state of the plugin.
#[must_use]
pub fn with_chart(state: &[u8], text: &str) -> Vec<u8> {
    with_field(state, "chart", &serde_json::json!({ "text": text }))
}

/// A saved state with another chart in it, and the player's own voicings.
///
/// # Panics
/// If the bytes are not a state of the plugin.
#[must_use]
pub fn with_own_voicings(state: &[u8], text: &str, own: &OwnVoicings) -> Vec<u8> {
    let rows: Vec<Value> = own.voicings.iter().map(own_voicings::row).collect();
    let own = serde_json::json!({ "version": own_voicings::VERSION, "voicings": rows });
    let chart = serde_json::json!({ "text": text, "own_voicings": own });
    with_field(state, "chart", &chart)
}

/// A saved state with voicings that are pinned to chords of its chart, and scales that are chosen
/// for them.
///
/// # Panics
/// If the bytes are not a state of the plugin.
#[must_use]
pub fn with_picks(state: &[u8], pins: &[KeptPin], scales: &[KeptScale]) -> Vec<u8> {
    let json: Value = serde_json::from_slice(json_of(state)).expect("a state is JSON");
    let chart = json["fields"]["chart"].as_str().expect("a chart");
    let mut chart: Value = serde_json::from_str(chart).expect("a field is JSON");
    chart["pins"] = serde_json::json!(pins);
    chart["scales"] = serde_json::json!(scales);
    with_field(state, "chart", &chart)
}

/// The JSON of a saved state, which is the whole state in VST3.
#[must_use]
pub fn json_of(state: &[u8]) -> &[u8] {
    state.get(LENGTH_BYTES..).unwrap_or_default()
}

/// The length of a state's JSON and the JSON, as hosts keep it.
#[must_use]
pub fn framed(json: &[u8]) -> Vec<u8> {
    [&(json.len() as u64).to_le_bytes(), json].concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_field_changes_and_the_length_with_it() {
        let json = br#"{"fields":{"a":"1","b":"2"},"version":"x"}"#;
        let state = [&(json.len() as u64).to_le_bytes()[..], json].concat();
        let changed = with_field(&state, "b", &"long".into());
        let expected = br#"{"fields":{"a":"1","b":"\"long\""},"version":"x"}"#;
        assert_eq!(changed[..8], (expected.len() as u64).to_le_bytes());
        assert_eq!(changed[8..], expected[..]);
    }
}
