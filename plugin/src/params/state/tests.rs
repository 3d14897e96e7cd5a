//! The table of migrations, and states of earlier and later versions by a made-up one.

use super::migrations::CHART_FIELD;
use super::*;
use crate::bridge::chart::ChartCell;
use crate::params::GuidehandParams;
use serde_json::Value;

fn known() -> Known {
    let params = [
        ("gain", Range::Float([0.5, 0.0, 50.0])),
        ("steps", Range::Int([4, 1, 9])),
        ("on", Range::Switch(true)),
    ];
    let fields = ["text", FORMAT_FIELD, LATER_FIELD];
    Known {
        params: params.map(|(name, value)| (name.to_owned(), value)).into(),
        fields: fields.map(str::to_owned).into(),
    }
}

/// Three made-up changes: a new name, another unit, and another meaning.
static MADE_UP: [Migration; 3] = [
    Migration {
        to: 1,
        date: "2001-01-01",
        run: |state| {
            if let Some(value) = state.params.remove("volume") {
                state.params.entry("gain".to_owned()).or_insert(value);
            }
        },
    },
    Migration {
        to: 2,
        date: "2001-02-01",
        run: |state| {
            if let Some(ParamValue::F32(percent)) = state.params.get_mut("gain") {
                *percent /= 100.0;
            }
        },
    },
    Migration {
        to: 3,
        date: "2001-03-01",
        run: |state| {
            state
                .params
                .insert("on".to_owned(), ParamValue::Bool(false));
        },
    },
];

fn state(json: &str) -> PluginState {
    serde_json::from_str(json).unwrap()
}

fn admitted(json: &str) -> (String, BTreeMap<String, String>) {
    let mut state = state(json);
    admit_by(&mut state, &known(), &MADE_UP);
    (serde_json::to_string(&state.params).unwrap(), state.fields)
}

#[test]
fn migrations_lead_from_format_to_format_and_are_dated() {
    for migrations in [&MIGRATIONS[..], &MADE_UP] {
        for (migration, to) in migrations.iter().zip(1..) {
            assert_eq!(migration.to, to);
            let date = migration.date;
            assert_eq!(date.len(), "2026-11-25".len(), "{date}");
        }
        assert!(migrations.is_sorted_by_key(|migration| migration.date));
    }
}

#[test]
fn a_state_goes_through_the_migrations_after_its_format() {
    for (format, gain, on) in [
        (None, 0.25, false),
        (Some("0"), 0.25, false),
        (Some("1"), 0.25, false),
        (Some("2"), 25.0, false),
        (Some("3"), 25.0, true),
        (Some("9"), 25.0, true),
        (Some("99999999999999999999"), 0.25, false),
        (Some("-1"), 0.25, false),
    ] {
        let name = if format.is_none_or(|f| f == "0" || f.len() > 1) {
            "volume"
        } else {
            "gain"
        };
        let fields = format.map_or_else(String::new, |f| format!(r#""format":"{f}""#));
        let json = format!(r#"{{"params":{{"{name}":{{"f32":25.0}}}},"fields":{{{fields}}}}}"#);
        let expected =
            format!(r#"{{"gain":{{"f32":{gain:?}}},"on":{{"bool":{on}}},"steps":{{"i32":4}}}}"#);
        assert_eq!(admitted(&json), (expected, BTreeMap::new()), "{json}");
    }
}

/// By the real table: what songs sounded like stays, what says otherwise counts.
#[test]
fn songs_from_before_soft_edges_keep_hard_ones() {
    for (format, saved, hard) in [
        ("", "", true),
        (r#""format":"1""#, "", true),
        (r#""format":"1""#, r#""hard_edges":{"bool":false}"#, false),
        (r#""format":"2""#, "", false),
        (r#""format":"2""#, r#""hard_edges":{"bool":true}"#, true),
        (r#""format":"99""#, "", false),
    ] {
        let (cell, _songs) = ChartCell::new();
        let params = GuidehandParams::new(cell);
        let json = format!(r#"{{"params":{{{saved}}},"fields":{{{format}}}}}"#);
        let mut state = state(&json);
        admit_by(&mut state, &Known::of(&params), &MIGRATIONS);
        let edges = serde_json::to_string(&state.params["hard_edges"]).unwrap();
        assert_eq!(edges, format!(r#"{{"bool":{hard}}}"#), "{json}");
    }
}

#[test]
fn a_parameter_that_is_lacking_has_its_default() {
    let (params, fields) = admitted(r#"{"params":{"steps":{"i32":7}},"fields":{"format":"3"}}"#);
    let expected = r#"{"gain":{"f32":0.5},"on":{"bool":true},"steps":{"i32":7}}"#;
    assert_eq!((params.as_str(), fields), (expected, BTreeMap::new()));
}

#[test]
fn a_value_out_of_range_or_of_another_kind_is_put_right() {
    let float = Range::Float([0.5, -1.0, 1.0]);
    let int = Range::Int([4, 1, 9]);
    let switch = Range::Switch(true);
    let choice = Range::Choice([1, 0, 2]);
    for (range, odd, expected) in [
        (&float, r#"{"f32":2.5}"#, r#"{"f32":1.0}"#),
        (&float, r#"{"f32":-1e300}"#, r#"{"f32":-1.0}"#),
        (&float, r#"{"f32":0.25}"#, r#"{"f32":0.25}"#),
        (&float, r#"{"i32":1}"#, r#"{"f32":0.5}"#),
        (&int, r#"{"i32":2147483647}"#, r#"{"i32":9}"#),
        (&int, r#"{"i32":-1}"#, r#"{"i32":1}"#),
        (&int, r#"{"i32":3}"#, r#"{"i32":3}"#),
        (&int, r#"{"string":"3"}"#, r#"{"i32":4}"#),
        (&switch, r#"{"bool":false}"#, r#"{"bool":false}"#),
        (&switch, r#"{"i32":0}"#, r#"{"bool":true}"#),
        (&choice, r#"{"i32":2}"#, r#"{"i32":2}"#),
        (&choice, r#"{"i32":3}"#, r#"{"i32":1}"#),
        (&choice, r#"{"i32":-1}"#, r#"{"i32":1}"#),
        (&choice, r#"{"string":"x"}"#, r#"{"string":"x"}"#),
    ] {
        let mut value: ParamValue = serde_json::from_str(odd).unwrap();
        range.fit(&mut value);
        assert_eq!(serde_json::to_string(&value).unwrap(), expected, "{odd}");
    }
    let mut odd = ParamValue::F32(f32::NAN);
    float.fit(&mut odd);
    assert!(matches!(odd, ParamValue::F32(0.5)), "{odd:?}");
}

#[test]
fn what_is_unknown_is_set_apart_and_comes_back_when_it_is_known() {
    let json = r#"{"params":{"steps":{"i32":7},"on":{"bool":false},"warp":{"string":"x"}},
        "fields":{"format":"8","text":"\"a\"","scene":"[1]"}}"#;
    let mut newer = state(json);
    let mut earlier = known();
    earlier.params.remove("on");
    admit_by(&mut newer, &earlier, &MADE_UP);
    assert_eq!(newer.params.len(), 2, "{newer:?}");
    let later = r#"{"on":{"bool":false},"warp":{"string":"x"}}"#;
    assert_eq!(newer.fields[LATER_FIELD], later);
    assert_eq!(newer.fields["scene"], "[1]");

    // The earlier version has let go of the state, and one that knows more reads it.
    newer.fields.insert(FORMAT_FIELD.to_owned(), "3".to_owned());
    admit_by(&mut newer, &known(), &MADE_UP);
    let on = serde_json::to_string(&newer.params["on"]).unwrap();
    assert_eq!(on, r#"{"bool":false}"#);
    assert_eq!(newer.fields[LATER_FIELD], r#"{"warp":{"string":"x"}}"#);
}

#[test]
fn one_value_that_cannot_be_kept_does_not_cost_the_others() {
    let json = r#"{"params":{"warp":{"f32":1e39},"bend":{"f32":2.0}},"fields":{}}"#;
    let (_, fields) = admitted(json);
    assert_eq!(fields[LATER_FIELD], r#"{"bend":{"f32":2.0}}"#);
    let read = read_later(r#"{"bend":{"f32":2.0},"warp":{"f32":null},"odd":[1]}"#);
    assert_eq!(read.len(), 1, "{read:?}");
}

/// A chart of the time when chords without marks shared their bar evenly sounds as
/// it did; one that was saved since then says what it means.
#[test]
fn old_charts_keep_the_places_of_their_chords() {
    let charts =
        r#"{"text":"| C6 F6 G7 |","sounding":"| A7 D7 G7 |","original":"3/4 C6 F6","x":1}"#;
    let marked = r#"{"original":"3/4 even C6 F6","sounding":"| even A7 D7 G7 |","text":"| even C6 F6 G7 |","x":1}"#;
    let plain = r#"{"text":"| C6 F6 |","x": 1}"#;
    let broken = r#"{"text":"| C6 F6 G7 |""#;
    for (format, chart, expected) in [
        (None, charts, marked),
        (Some("1"), charts, marked),
        (Some("2"), charts, marked),
        (Some("3"), charts, charts),
        (None, plain, plain),
        (Some("1"), broken, broken),
    ] {
        let mut state = state(r#"{"params":{},"fields":{}}"#);
        let fields = [(CHART_FIELD, Some(chart)), (FORMAT_FIELD, format)];
        let fields = fields
            .into_iter()
            .filter_map(|(name, text)| Some((name, text?)));
        state
            .fields
            .extend(fields.map(|(n, t)| (n.to_owned(), t.to_owned())));
        let mut known = known();
        known.fields.insert(CHART_FIELD.to_owned());
        admit_by(&mut state, &known, &MIGRATIONS);
        let json = |text: &str| serde_json::from_str::<Value>(text).ok();
        assert_eq!(
            json(&state.fields[CHART_FIELD]),
            json(expected),
            "{format:?}"
        );
        if chart == expected {
            assert_eq!(state.fields[CHART_FIELD], chart, "not a byte is touched");
        }
    }
}

#[test]
fn what_is_not_known_is_saved_again() {
    let (cell, _songs) = ChartCell::new();
    let params = GuidehandParams::new(cell);
    let plain = params.serialize_fields();
    assert_eq!(plain[FORMAT_FIELD], format().to_string());

    let mut loaded = plain.clone();
    for (name, text) in [("scene", "[1]"), (LATER_FIELD, "{}"), (FORMAT_FIELD, "77")] {
        loaded.insert(name.to_owned(), text.to_owned());
    }
    params.deserialize_fields(&loaded);
    loaded.insert(FORMAT_FIELD.to_owned(), format().to_string());
    assert_eq!(params.serialize_fields(), loaded);
    // What the next state does not hold is gone.
    params.deserialize_fields(&plain);
    assert_eq!(params.serialize_fields(), plain);
}

#[test]
fn what_is_not_known_within_a_field_is_saved_again() {
    let (cell, _songs) = ChartCell::new();
    let params = GuidehandParams::new(cell);
    let mut loaded = params.serialize_fields();
    for (name, text) in [
        ("chart", r#"{"text":"| C6 |","color":{"a":[1,2]}}"#),
        (
            "panel",
            r#"{"width":1000.0,"height":760.0,"zoom":1.0,"look":"dark","tabs":["x"]}"#,
        ),
    ] {
        loaded.insert(name.to_owned(), text.to_owned());
    }
    params.deserialize_fields(&loaded);
    assert_eq!(params.serialize_fields(), loaded);
    params.chart.set_text("| F6 |");
    params.panel.put(params.panel.get());
    let saved = params.serialize_fields();
    assert_eq!(saved["chart"], r#"{"text":"| F6 |","color":{"a":[1,2]}}"#);
    assert_eq!(saved["panel"], loaded["panel"]);
}

#[test]
fn texts_that_are_too_long_change_nothing() {
    let (cell, _songs) = ChartCell::new();
    let params = GuidehandParams::new(cell);
    let before = params.serialize_fields();
    let long = "x".repeat(LONGEST_TEXT + 1);
    for (name, text) in [
        ("chart", format!(r#"{{"text":"{long}"}}"#)),
        ("chart", format!(r#"{{"text":"","sounding":"{long}"}}"#)),
        ("chart", format!(r#"{{"text":"","original":"{long}"}}"#)),
        ("chart", format!(r#"{{"text":"","melody":"{long}"}}"#)),
        (
            "chart",
            format!(r#"{{"text":"","sounding_melody":"{long}"}}"#),
        ),
        ("melody", format!(r#""{long}""#)),
    ] {
        params.deserialize_fields(&BTreeMap::from([(name.to_owned(), text)]));
        assert!(params.serialize_fields() == before, "{name}");
    }
    // One that is just short enough comes back, and a longer one is cut to be so.
    params.chart.set_text(&format!("{}\u{1d11e}", &long[3..]));
    assert_eq!(params.chart.text(), long[3..]);
    let saved = params.serialize_fields();
    params.chart.set_text("| C6 |");
    params.deserialize_fields(&saved);
    assert_eq!(params.chart.text(), long[3..]);
}

#[test]
fn what_is_too_long_is_left_out_before_it_is_read() {
    let mut state = state(r#"{"params":{},"fields":{}}"#);
    let long = |bytes: usize| "x".repeat(bytes);
    let unknown = MOST_KEPT / 2 + 1;
    for (name, bytes) in [
        ("text", LONGEST_FIELD + 1),
        ("first", unknown),
        ("second", unknown),
        ("third", LONGEST_FIELD + 1),
    ] {
        state.fields.insert(name.to_owned(), long(bytes));
    }
    let warp = ParamValue::String(long(unknown));
    state.params.insert("warp".to_owned(), warp);
    admit_by(&mut state, &known(), &MADE_UP);
    let names: Vec<&String> = state.fields.keys().collect();
    assert_eq!(names, [LATER_FIELD], "the parameter came first");

    state.fields.insert("text".to_owned(), long(LONGEST_FIELD));
    state.fields.insert("scene".to_owned(), long(100));
    state.fields.remove(LATER_FIELD);
    admit_by(&mut state, &known(), &MADE_UP);
    let names: Vec<&String> = state.fields.keys().collect();
    assert_eq!(names, ["scene", "text"]);
}
