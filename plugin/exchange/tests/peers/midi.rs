//! MIDI files that mido reads, and MIDI files that it writes.

use crate::{ask, charts, folder, score};
use guidehand_exchange::import;
use guidehand_exchange::midi;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol::{Sign, Symbol};
use serde_json::{Value, json};
use std::fs;

/// Events at the same tick are sorted, because their order has no meaning.
fn sorted(mut values: Vec<Value>) -> Vec<Value> {
    values.sort_by_key(Value::to_string);
    values
}

#[test]
fn mido_reads_the_same_notes_times_and_markers() {
    let folder = folder("midi");
    let texts = charts();
    let mut scores = Vec::new();
    let mut files = Vec::new();
    for (index, text) in texts.iter().enumerate() {
        let score = score(text, Texture::TwoHands);
        let file = folder.join(format!("{index}.mid"));
        fs::write(&file, midi::write(&score)).unwrap();
        files.push(file);
        scores.push(score);
    }
    for (answer, score) in ask("midi", &files).iter().zip(&scores) {
        assert_eq!(answer["quarter"], 960);
        let tracks = answer["tracks"].as_array().unwrap();
        assert_eq!(tracks.len(), 3);
        let conductor = tracks[0].as_array().unwrap();
        let of = |kind: &str| -> Vec<Value> {
            conductor
                .iter()
                .filter(|e| e["type"] == kind)
                .cloned()
                .collect()
        };
        let symbols = score.chart.changes.iter().map(|change| {
            let symbol = change
                .chord
                .as_ref()
                .map(|c| Symbol(c, Sign::Ascii).to_string());
            json!([change.start_ticks, symbol.unwrap_or("N.C.".to_owned())])
        });
        let letters = score.chart.bars.iter().filter_map(|bar| {
            let section = score.chart.written[bar.written].section?;
            Some(json!([bar.start_ticks, section.to_string()]))
        });
        let found = of("marker")
            .into_iter()
            .map(|e| json!([e["at"], e["text"]]));
        assert_eq!(
            sorted(found.collect()),
            sorted(symbols.chain(letters).collect())
        );
        assert_eq!(of("track_name")[0]["name"], "Exchange & back");
        let tempo = of("set_tempo")[0]["tempo"].as_f64().unwrap();
        assert!((60_000_000.0 / tempo - 132.0).abs() < 0.001);
        let mut meter = None;
        let meters = score
            .chart
            .bars
            .iter()
            .filter(|bar| meter.replace(bar.meter) != Some(bar.meter));
        let meters: Vec<Value> = meters
            .map(|bar| json!([bar.start_ticks, bar.meter.beats, bar.meter.unit]))
            .collect();
        let found = of("time_signature").into_iter();
        let found = found.map(|e| json!([e["at"], e["numerator"], e["denominator"]]));
        assert_eq!(found.collect::<Vec<_>>(), meters);
        for (track, notes) in tracks[1..].iter().zip([&score.comping, &score.bass]) {
            let events = track.as_array().unwrap();
            let end = events.last().unwrap();
            assert_eq!(
                (&end["type"], &end["at"]),
                (&json!("end_of_track"), &json!(score.chart.length_ticks()))
            );
            let found = events.iter().filter(|e| e["note"].is_number());
            let found = found.map(|e| {
                let on = e["type"] == "note_on" && e["velocity"] != 0;
                json!([
                    e["at"],
                    on,
                    e["note"],
                    if on { e["velocity"].clone() } else { json!(0) }
                ])
            });
            let expected = notes.iter().flat_map(|n| {
                let key = n.note.number();
                [
                    json!([n.start_ticks, true, key, n.velocity]),
                    json!([n.end_ticks(), false, key, 0]),
                ]
            });
            assert_eq!(sorted(found.collect()), sorted(expected.collect()));
        }
    }
}

/// Triads as mido writes them, in every inversion, with and without a bass, held, struck again or
/// broken: each is called by its name.
#[test]
fn triads_in_notes_are_called_by_their_names() {
    let folder = folder("triads");
    let answers = ask("triads", &[folder]);
    assert_eq!(answers.len(), 20);
    let mut wrong = Vec::new();
    for answer in &answers {
        let file = answer["file"].as_str().unwrap();
        let back = import::import(&fs::read(file).unwrap()).unwrap();
        let expected = match answer["beats"].as_u64() {
            Some(4) => "| C | Am | F | G |\n| C | Am | F | G |",
            _ => "| C Am | F G | C Am | F G |",
        };
        if back.text != expected || !back.missed.is_empty() {
            wrong.push(format!("{file}: {}, {:?}", back.text, back.missed));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
