//! The limits of a saved state: parts that are too long, too deep or too many are left out or
//! refused, quickly, and nothing that was there before is lost.

use crate::plugin::{guidehand, untouched, with_chart};
use guidehand_tests::{Host, state};
use serde_json::{Map, Value, json};
use std::time::{Duration, Instant};

/// The longest text in a saved field, in bytes.
const LONGEST_TEXT: usize = 1024 * 1024;

/// Much more time than any of these states takes on a slow machine without optimisation.
const LONGEST: Duration = Duration::from_secs(20);

fn saved(host: &mut Host) -> Value {
    serde_json::from_slice(&host.save_state().unwrap()[8..]).unwrap()
}

/// Whether a state is accepted. The answer must come quickly.
fn takes(host: &mut Host, json: &str) -> bool {
    let start = Instant::now();
    let taken = host.load_state(&state::framed(json.as_bytes())).is_ok();
    let time = start.elapsed();
    assert!(time < LONGEST, "{} bytes took {time:?}", json.len());
    taken
}

/// A state with other fields.
fn with_fields(mut state: Value, fields: &[(&str, Value)]) -> String {
    for (name, value) in fields {
        state["fields"][*name] = Value::String(value.to_string());
    }
    state.to_string()
}

#[test]
fn a_text_that_is_too_long_leaves_the_one_before() {
    let mut host = with_chart("| Ebmaj7 | Ab7 |");
    let before = saved(&mut host);
    let long = "x".repeat(LONGEST_TEXT + 1);
    // JSON writes these as six bytes each.
    let escaped = "\u{1}".repeat(LONGEST_TEXT * 4);
    for (name, value) in [
        ("chart", json!({ "text": long })),
        ("chart", json!({ "text": escaped })),
        ("chart", json!({ "text": "| C6 |", "sounding": long })),
        ("chart", json!({ "text": "| C6 |", "original": long })),
        ("melody", json!(long)),
        ("melody", json!(escaped)),
    ] {
        assert!(takes(
            &mut host,
            &with_fields(before.clone(), &[(name, value)])
        ));
        assert!(saved(&mut host) == before, "{name}");
    }
}

#[test]
fn a_text_at_the_limit_is_taken_and_comes_back() {
    let mut host = guidehand();
    let text = "\u{1}".repeat(LONGEST_TEXT);
    let chart = json!({ "text": text, "sounding": text, "original": text });
    let state = with_fields(saved(&mut host), &[("chart", chart.clone())]);
    assert!(takes(&mut host, &state));
    let mut other = guidehand();
    assert!(takes(&mut other, &saved(&mut host).to_string()));
    let field = saved(&mut other)["fields"]["chart"].clone();
    let back: Value = serde_json::from_str(field.as_str().unwrap()).unwrap();
    assert!(back == chart);
}

#[test]
fn a_drawn_pattern_or_a_panel_of_any_length_is_one() {
    let mut host = guidehand();
    let before = saved(&mut host);
    let drawn = json!("sl".repeat(400_000));
    let panel = json!({ "width": 1e300, "height": -1e300, "zoom": 0, "look": "l".repeat(900_000) });
    let state = with_fields(before.clone(), &[("drawn", drawn), ("panel", panel)]);
    assert!(takes(&mut host, &state));
    let after = saved(&mut host);
    assert_eq!(after["fields"]["drawn"].as_str().unwrap().len(), 34);
    assert!(after["fields"]["panel"].as_str().unwrap().len() < 200);
}

#[test]
fn eight_recent_files_come_back_and_each_once() {
    let mut host = guidehand();
    let before = saved(&mut host);
    assert_eq!(before["fields"]["files"], r#"{"recent":[]}"#);
    let many: Vec<String> = (0..50_000).map(|n| format!("/{}.mid", n / 2)).collect();
    let long = "/".repeat(900_000);
    let paths: Vec<&String> = [&long].into_iter().chain(&many).collect();
    let state = with_fields(before, &[("files", json!({ "recent": paths, "later": 1 }))]);
    assert!(takes(&mut host, &state));
    let after = saved(&mut host);
    let files: Value = serde_json::from_str(after["fields"]["files"].as_str().unwrap()).unwrap();
    let expected: Vec<String> = (0..8).map(|n| format!("/{n}.mid")).collect();
    assert_eq!(files, json!({ "recent": expected, "later": 1 }));
    // A state of a version that had no such list leaves it as it is.
    let mut old = after.clone();
    old["fields"].as_object_mut().unwrap().remove("files");
    assert!(takes(&mut host, &old.to_string()));
    assert!(saved(&mut host) == after);
}

#[test]
fn what_is_unknown_is_kept_up_to_a_limit() {
    let mut host = guidehand();
    let before = saved(&mut host);
    let bytes = |state: &Value| state.to_string().len();
    let mut much = before.clone();
    let fields: Map<String, Value> = (0..50_000)
        .map(|n| (format!("field {n}"), json!("1".repeat(100))))
        .collect();
    let params = (0..50_000).map(|n| (format!("param {n}"), json!({ "string": "1".repeat(100) })));
    much["fields"].as_object_mut().unwrap().extend(fields);
    much["params"].as_object_mut().unwrap().extend(params);
    assert!(takes(&mut host, &much.to_string()));
    let after = saved(&mut host);
    let kept = bytes(&after) - bytes(&before);
    // Names and texts are counted, not their quotes.
    assert!(
        (LONGEST_TEXT / 2..2 * LONGEST_TEXT).contains(&kept),
        "{kept}"
    );
    assert_eq!(after["params"], before["params"]);
}

#[test]
fn deep_and_huge_states_end_soon() {
    let mut host = with_chart("| Ebmaj7 | Ab7 |");
    let before = saved(&mut host);
    let deep = |open: &str, close: &str| {
        let depth = 200_000;
        format!("{}1{}", open.repeat(depth), close.repeat(depth))
    };
    for refused in [deep("[", "]"), deep("{\"a\":", "}")] {
        assert!(!takes(&mut host, &refused));
        assert!(saved(&mut host) == before);
    }
    // The framework ignores what it does not know, however deep it is, and does not keep it.
    let mut more = before.clone();
    more["author"] = json!({ "name": [1, 2, 3] });
    assert!(takes(&mut host, &more.to_string()));
    assert!(saved(&mut host) == before);
    // A field is JSON within JSON.
    for name in [
        "chart", "panel", "drawn", "melody", "files", "format", "later",
    ] {
        for text in [deep("[", "]"), deep("{\"a\":", "}"), String::new()] {
            let mut state = before.clone();
            state["fields"][name] = json!(text);
            assert!(takes(&mut host, &state.to_string()), "{name}");
            assert!(saved(&mut host) == before, "{name}");
        }
    }
    let mut huge = before.clone();
    huge["fields"]["scenes"] = json!("[".repeat(60 * LONGEST_TEXT));
    assert!(takes(&mut host, &huge.to_string()));
    assert!(saved(&mut host) == before);
}

/// The framework knows four kinds of values, and refuses a state with a fifth.
#[test]
fn a_parameter_of_an_unknown_kind_is_refused_and_changes_nothing() {
    let mut host = with_chart("| Ebmaj7 | Ab7 |");
    let before = saved(&mut host);
    let mut odd = saved(&mut untouched());
    odd["params"]["warp"] = json!({ "f64": 1.0 });
    assert!(!takes(&mut host, &odd.to_string()));
    assert!(saved(&mut host) == before);
}

/// A short text can make many bars. The limit of a chart is higher still. Planning takes the same
/// time for each change.
#[test]
fn long_charts_are_planned_soon() {
    for text in [
        "[A] C6 | F7 | ".to_owned() + &"[A] ".repeat(400),
        "| Dm7 G7 ".repeat(400),
    ] {
        let mut host = guidehand();
        let state = with_fields(saved(&mut host), &[("chart", json!({ "text": text }))]);
        assert!(takes(&mut host, &state));
        let field = saved(&mut host)["fields"]["chart"].clone();
        let chart: Value = serde_json::from_str(field.as_str().unwrap()).unwrap();
        assert!(chart["text"] == text);
        assert!(
            chart.get("sounding").is_none(),
            "{} can be read",
            &text[..30]
        );
    }
}
