//! States of other versions. `tests/data/states` has a file of every format so far, as its version
//! saved it. Each still loads, whatever the instance had before. What a later version has saved is
//! kept.

use crate::plugin::{
    RATE_HZ, chord_keys, guidehand, id, load_chart, play, random_value, set, untouched,
};
use guidehand_tests::{Host, Session, state};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

/// The format that is saved now.
const FORMAT: &str = "3";

/// A stored state, and what it must restore: the chart, and parameters in words.
struct Kept {
    file: &'static str,
    chart: &'static str,
    params: &'static [(&'static str, &'static str)],
}

/// One for each version that had other parameters or fields than the one before.
const KEPT: [Kept; 13] = [
    Kept {
        file: "first.json",
        chart: "| Ebmaj7 | Ab7 |",
        params: &[
            ("Chords from", "Chart"),
            ("Texture", "Drop 2"),
            ("Ninth", "b9"),
            ("Register from", "F3"),
            ("Rhythm", "Sustained"),
            ("Chart repeats", "On"),
        ],
    },
    Kept {
        file: "reading.json",
        chart: "3/4 | Dm7 | G7 |",
        params: &[
            ("Chords from", "My chords"),
            ("Texture", "All inversions"),
            ("Audition level", "-12.0 dB"),
            ("Anticipation", "On"),
        ],
    },
    Kept {
        file: "rhythm.json",
        chart: "[A] |: Dm7 G7 | [1 Cmaj7 :| [2 C6 |",
        params: &[
            ("Rhythm", "Bossa"),
            ("Swing", "50 %"),
            ("Chart from bar", "3"),
            ("Tempo without host", "140 bpm"),
        ],
    },
    Kept {
        file: "panel.json",
        chart: "| Gm7 | C7 | Fmaj7 |",
        params: &[("Rhythm", "Drawn"), ("Density", "-50 %"), ("Take", "77")],
    },
    Kept {
        file: "chart_first.json",
        chart: "| Am7 | D7 | H7 |",
        params: &[("Chords from", "Roots"), ("Key", "Ab"), ("Mode", "Minor")],
    },
    Kept {
        file: "hard_edges.json",
        chart: "| Fm7 | Bb7 | Ebmaj7 | Abmaj7 |",
        params: &[
            ("Register from", "E3"),
            ("Register to", "B4"),
            ("Thirteenth", "b13"),
            ("Bass follows", "Key"),
            ("Hand at ease", "Ninth"),
            ("Hand at most", "Tenth"),
        ],
    },
    // Chords without marks shared their bar evenly.
    Kept {
        file: "even_shares.json",
        chart: "| even Dm7 G7 Cmaj7 | 3/4 even F6 Bb7 | 12/8 C6 / / / F6 / / / G7 / / / |",
        params: &[("Chords from", "Chart"), ("Rhythm", "Sustained")],
    },
    // There were ten rhythms, of which this is the last, and no variation.
    Kept {
        file: "ten_rhythms.json",
        chart: "| Bm7b5 | E7 | Am6 | % |",
        params: &[
            ("Rhythm", "Played"),
            ("Swing", "60 %"),
            ("Variation", "0 %"),
        ],
    },
    Kept {
        file: "pins.json",
        chart: "| Dm7 | G7 | Cmaj7 | A7 |",
        params: &[("Chords from", "Chart"), ("Texture", "Two hands")],
    },
    Kept {
        file: "own_voicings.json",
        chart: "| Dm7 | G7 | Cmaj7 | Am7 |",
        params: &[("Chords from", "Chart"), ("Texture", "My voicings")],
    },
    Kept {
        file: "practice.json",
        chart: "| Dm7 | G7 | Cmaj7 | A7 |\n| Dm7 | Db7 | Cmaj7 | % |\n| Gm7 | C7 | Fmaj7 | Bb7 |\n| Em7b5 | A7b9 | Dm7 G7 | C6/9 |",
        params: &[("Chords from", "Practice"), ("Rhythm", "Bossa")],
    },
    // The melody had one note for a chord, for other harmonies alone, in a field of its own. The panel
    // moves it into the chart.
    Kept {
        file: "harmony_melody.json",
        chart: "| Am7b5 | D7b9 | Gm6 | % |",
        params: &[("Chords from", "Chart")],
    },
    Kept {
        file: "melody.json",
        chart: "| Am7b5 | D7b9 | Gm6 | % |",
        params: &[
            ("Yield to the melody", "Tensions"),
            ("Space for the melody", "40 %"),
            ("Chords under the melody", "Drop 2"),
            ("Left hand comps", "Off"),
        ],
    },
];

/// The value that a step of the format gives a missing parameter, in every stored state: before
/// format 2 no note lay outside the register.
fn migrated(name: &str) -> Option<Value> {
    (name == "hard_edges").then(|| json!({ "bool": true }))
}

/// A state of a future version: other parameters, other fields, and more in the known fields.
const LATER: &str = "later.json";

fn kept(file: &str) -> Value {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/states");
    let text = fs::read_to_string(folder.join(file)).unwrap_or_else(|e| panic!("{file}: {e}"));
    serde_json::from_str(&text).unwrap()
}

fn load(host: &mut Host, state: &Value) {
    host.load_state(&state::framed(state.to_string().as_bytes()))
        .unwrap();
}

fn saved(host: &mut Host) -> Value {
    serde_json::from_slice(&host.save_state().unwrap()[8..]).unwrap()
}

/// A saved field, which is JSON in a string.
fn field(state: &Value, name: &str) -> Value {
    serde_json::from_str(state["fields"][name].as_str().unwrap()).unwrap()
}

fn words(host: &mut Host, name: &str) -> String {
    let id = id(host, name);
    let value = host.param_value(id).unwrap();
    host.value_to_text(id, value).unwrap()
}

/// An instance on which everything differs from a fresh one.
fn scrambled() -> Host {
    let mut host = guidehand();
    let mut rng = fastrand::Rng::with_seed(3);
    for param in host.params().to_vec() {
        host.set_param(param.id, random_value(&param, &mut rng))
            .unwrap();
    }
    load_chart(&mut host, "| F#m7 | B7 | Emaj7 |");
    host
}

#[test]
fn every_kept_state_still_loads() {
    let at_first = saved(&mut untouched());
    for Kept {
        file,
        chart,
        params,
    } in KEPT
    {
        let old = kept(file);
        for mut host in [untouched(), scrambled()] {
            load(&mut host, &old);
            let now = saved(&mut host);
            assert_eq!(field(&now, "chart")["text"], chart, "{file}");
            for (name, expected) in params {
                assert_eq!(words(&mut host, name), *expected, "{file}: {name}");
            }
            // A parameter that the old version did not have gets its value from a step, or its
            // default.
            let values = now["params"].as_object().unwrap();
            for (name, value) in values {
                let saved = old["params"].get(name).cloned();
                let expected = saved.or_else(|| migrated(name));
                let expected = expected.unwrap_or_else(|| at_first["params"][name].clone());
                assert_eq!(*value, expected, "{file}: {name}");
            }
            assert!(old["params"].as_object().unwrap().len() <= values.len());
            for (name, text) in old["fields"].as_object().unwrap() {
                match name.as_str() {
                    "format" => {}
                    // The text may be rewritten so that it sounds as before.
                    "chart" => {
                        let mut expected = field(&old, "chart");
                        expected["text"] = json!(chart);
                        assert_eq!(field(&now, "chart"), expected, "{file}");
                    }
                    _ => assert_eq!(now["fields"][name], *text, "{file}: {name}"),
                }
            }
            assert_eq!(now["fields"]["format"], FORMAT, "{file}");
        }
    }
}

#[test]
fn a_kept_state_sounds_the_same_in_any_instance() {
    for Kept { file, .. } in KEPT {
        let mut session = Session::new(RATE_HZ, 2_880.0, 12_000);
        session.note(100, 4_000, 48).note(5_000, 9_000, 55);
        let [fresh, used] = [untouched(), scrambled()].map(|mut host| {
            load(&mut host, &kept(file));
            set(&mut host, "Audition tone", "Off");
            play(&mut host, &session).events
        });
        assert!(fresh.len() >= 4, "{file}: {} events", fresh.len());
        assert_eq!(fresh, used, "{file}");
    }
}

/// In format 1 the register was a hard limit.
#[test]
fn a_song_from_before_soft_edges_keeps_within_its_register() {
    let old = kept("hard_edges.json");
    let mut host = scrambled();
    load(&mut host, &old);
    assert_eq!(words(&mut host, "Hard register edges"), "On");
    set(&mut host, "Audition tone", "Off");
    let end = |name: &str| old["params"][name]["i32"].as_i64().unwrap();
    let register = end("lowest")..=end("highest");
    let session = Session::new(RATE_HZ, 2_880.0, 33_000);
    let chords = chord_keys(&play(&mut host, &session).events);
    assert!(chords.len() >= 8, "{chords:?}");
    for key in chords.iter().flatten() {
        assert!(register.contains(&i64::from(*key)), "{chords:?}");
    }

    // The state that is saved now has its own value, and keeps it.
    set(&mut host, "Hard register edges", "Off");
    let soft = saved(&mut host);
    load(&mut host, &old);
    load(&mut host, &soft);
    assert_eq!(words(&mut host, "Hard register edges"), "Off");
}

#[test]
fn no_kept_state_is_forgotten() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/states");
    let mut there: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    there.sort();
    let mut expected: Vec<&str> = KEPT.iter().map(|kept| kept.file).collect();
    expected.push(LATER);
    expected.sort_unstable();
    assert_eq!(there, expected);
}

#[test]
fn what_a_later_version_has_saved_comes_through() {
    let later = kept(LATER);
    let mut host = scrambled();
    load(&mut host, &later);
    // Known parts take effect.
    assert_eq!(words(&mut host, "Texture"), "Three notes");
    let now = saved(&mut host);
    assert_eq!(field(&now, "chart")["text"], "| Bbmaj7 | Eb7 |");
    assert_eq!(field(&now, "panel")["look"], "light");
    // Unknown parts are still there, with the fields in their places.
    let unknown = json!({ "humour": { "f32": 0.5 }, "brushes": { "string": "soft" } });
    assert_eq!(field(&now, "later"), unknown);
    assert_eq!(now["fields"]["scenes"], later["fields"]["scenes"]);
    for name in ["chart", "panel"] {
        assert_eq!(field(&now, name), field(&later, name), "{name}");
    }
    assert_eq!(
        now["fields"]["format"], FORMAT,
        "the saved state is of this version"
    );

    // Again from the saved state: nothing gets lost.
    let mut other = untouched();
    load(&mut other, &now);
    assert_eq!(saved(&mut other), now);
    // An edit of the chart keeps the other parts of its field.
    load_chart(&mut other, "| C6 |");
    assert_eq!(field(&saved(&mut other), "later"), unknown);

    // Another state replaces it, and nothing of it remains.
    let plain = kept(KEPT[0].file);
    load(&mut other, &plain);
    let mut fresh = untouched();
    load(&mut fresh, &plain);
    let fields = |host: &mut Host| {
        let mut state = saved(host);
        // The first version had none of these, so they stay as they were.
        for name in ["panel", "drawn", "melody"] {
            state["fields"].as_object_mut().unwrap().remove(name);
        }
        state
    };
    assert_eq!(fields(&mut other), fields(&mut fresh));
}

#[test]
fn a_plain_state_holds_nothing_but_its_own() {
    let state = saved(&mut untouched());
    let names: Vec<&String> = state["fields"].as_object().unwrap().keys().collect();
    assert_eq!(
        names,
        [
            "chart", "drawn", "files", "format", "melody", "panel", "practice"
        ]
    );
    assert_eq!(state["fields"]["format"], FORMAT);
}
