//! Reharmonised charts in the saved state: the chart sounds as it is written, and the state keeps
//! the original chart and the melody that the chords must fit.

use crate::plugin::{RATE_HZ, chord_keys, planned, play, with_chart};
use guidehand_tests::{Host, Session, state};
use serde_json::{Value, json};

/// One beat is a thousand samples.
const TEMPO_BPM: f64 = 2_880.0;

const ORIGINAL: &str = "| Dm7 | G7 | Cmaj7 | % |";
const KEPT: &str = "| Dm7 | Abm7 Db7 | Cmaj7 | % |";

/// A saved field. The framework puts the state's length in the first eight bytes.
fn field(host: &mut Host, name: &str) -> Value {
    let saved = host.save_state().unwrap();
    let json: Value = serde_json::from_slice(&saved[8..]).unwrap();
    serde_json::from_str(json["fields"][name].as_str().unwrap()).unwrap()
}

#[test]
fn the_original_chart_and_the_melody_are_remembered_and_the_kept_one_sounds() {
    let mut host = with_chart(ORIGINAL);
    let chart = json!({ "text": KEPT, "original": ORIGINAL });
    let melody = json!("F 0 3840 Db 3840 3840");
    let saved = host.save_state().unwrap();
    let saved = state::with_field(&saved, "chart", &chart);
    let saved = state::with_field(&saved, "melody", &melody);
    host.load_state(&saved).unwrap();
    assert_eq!(field(&mut host, "chart"), chart);
    assert_eq!(field(&mut host, "melody"), melody);

    let session = Session::new(RATE_HZ, TEMPO_BPM, 15_900);
    let performance = play(&mut host, &session);
    let keys: Vec<Vec<i16>> = planned(KEPT).into_iter().map(|chord| chord.keys).collect();
    assert_ne!(planned(KEPT), planned(ORIGINAL));
    assert_eq!(chord_keys(&performance.events), keys);
}
