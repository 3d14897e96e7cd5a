//! Lead sheets that music21 carries or writes: their chords come in, and go out and in again.

use crate::{ask, folder, read, ticks};
use guidehand_exchange::import;
use guidehand_exchange::midi;
use guidehand_exchange::musicxml::{self, Page};
use guidehand_exchange::pages::plays_alike;
use guidehand_exchange::score::Score;
use guidehand_exchange::sheet::Sheet;
use guidehand_theory::chart::Chart;
use guidehand_theory::chord::Chord;
use serde_json::json;
use std::collections::BTreeSet;
use std::fs;

/// Every chord symbol in the scores that music21 carries comes in, in its order,
/// its place in the bar and its notes.
#[test]
fn lead_sheets_of_others_come_in_whole() {
    let folder = folder("corpus");
    let answers = ask("corpus", &[folder]);
    assert!(answers.len() >= 10, "{} scores", answers.len());
    let mut count = 0;
    for answer in &answers {
        let file = answer["file"].as_str().unwrap();
        let imported = import::import(&fs::read(file).unwrap()).unwrap();
        let unread: Vec<_> = imported
            .missed
            .iter()
            .filter(|m| m.what == "harmony")
            .collect();
        assert!(unread.is_empty(), "{file}: {unread:?}");
        let parts = answer["parts"].as_array().unwrap();
        let mut parts = parts.iter().map(|part| part["symbols"].as_array().unwrap());
        let theirs = parts.find(|symbols| !symbols.is_empty()).unwrap();
        let ours = placed(&imported.text);
        assert_eq!(ours.len(), theirs.len(), "{file}\n{}", imported.text);
        // A pickup without chords is left out, so bars count from the next one.
        let first = theirs[0]["measure"].as_u64().unwrap() - ours[0].0;
        assert!(first <= 1, "{file}");
        for ((bar, at_ticks, chord), symbol) in ours.iter().zip(theirs) {
            let place = (bar + first, *at_ticks);
            assert_eq!(
                place,
                (symbol["measure"].as_u64().unwrap(), ticks(&symbol["at"]))
            );
            assert_eq!(chord.root.to_string(), symbol["root"], "{file}: {symbol}");
            let bass = chord.bass.unwrap_or(chord.root);
            let classes = chord.stack().iter().map(|d| d.class(chord.root));
            let classes: BTreeSet<u8> = classes.chain([bass.class()]).map(|c| c.number()).collect();
            let kind = symbol["kind"].as_str().unwrap();
            if !MEANT_OTHERWISE.contains(&kind) {
                assert_eq!(json!(classes), symbol["classes"], "{file}: {symbol}");
                assert_eq!(bass.to_string(), symbol["bass"], "{file}: {symbol}");
            }
            count += 1;
        }
    }
    assert!(count > 100, "{count} symbols");
}

/// The lead sheets that music21 carries come in, go out and come in again: the same bars, chords
/// and form, and nothing is lost on the way that was not told at first.
#[test]
fn lead_sheets_of_others_go_out_and_in_again() {
    let folder = folder("corpus-again");
    let answers = ask("corpus", &[folder]);
    assert_eq!(answers.len(), 12, "the lead sheets of music21's corpus");
    for answer in &answers {
        let file = answer["file"].as_str().unwrap();
        let first = import::import(&fs::read(file).unwrap()).unwrap();
        let chart = read(&first.text);
        let page = musicxml::write(&Score::of(chart.clone(), 120.0), Page::default());
        let back = import::import(page.as_bytes()).unwrap();
        assert_eq!(back.missed, [], "{file}\n{}", first.text);
        assert!(
            plays_alike(&read(&back.text), &chart),
            "{file}\n{}\n{}",
            first.text,
            back.text
        );
        assert_eq!(back.text, Sheet::written(&chart).to_text(), "{file}");
        let notes = import::import(&midi::write(&Score::of(chart.clone(), 120.0))).unwrap();
        assert_eq!(notes.missed, [], "{file}");
        assert_eq!(
            symbols_played(&read(&notes.text)),
            symbols_played(&chart),
            "{file}"
        );
    }
}

/// The chords of a chart with their ticks, as played.
fn symbols_played(chart: &Chart) -> Vec<(u32, Option<Chord>)> {
    let changes = chart.changes.iter();
    changes
        .map(|change| (change.start_ticks, change.chord))
        .collect()
}

/// A lead sheet of a transposing instrument, as music21 writes it, comes in as it sounds.
#[test]
fn a_transposing_part_of_music21_comes_in_as_it_sounds() {
    let file = folder("horn").join("horn.musicxml");
    let answer = ask("horn", &[file]);
    let bytes = fs::read(answer[0]["file"].as_str().unwrap()).unwrap();
    let back = import::import(&bytes).unwrap();
    assert!(back.text.ends_with("| Dm7 | G7 | Cmaj7 |"), "{}", back.text);
    assert_eq!(back.parts[0].sounds, -2);
    assert!(
        back.remarks[0].contains("a whole step lower"),
        "{:?}",
        back.remarks
    );
}

/// Kinds that the standard names without a description. music21 reads them as functions of a key,
/// we read them as chords on their root. The last one is not in the standard: music21 reads the
/// root alone, we read the symbol next to it.
const MEANT_OTHERWISE: [&str; 6] = [
    "Neapolitan",
    "Italian",
    "French",
    "German",
    "tristan",
    "minor-major",
];

/// The chords of a page with their bars, from 0, and places; silence at the start, for which a file
/// has no element, is ignored.
fn placed(text: &str) -> Vec<(u64, u32, Chord)> {
    let sheet = Sheet::written(&read(text));
    let bars = sheet.bars.iter().zip(0..);
    let places = bars.flat_map(|(bar, index)| bar.places.iter().map(move |p| (index, p)));
    places
        .filter_map(|(bar, place)| Some((bar, place.at_ticks, place.chord?)))
        .collect()
}
