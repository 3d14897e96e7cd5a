//! The golden performances in `data/golden`, event by event. After a change that is meant to be
//! heard, `cargo xtask golden` writes them anew. Listen to them, and say in the commit what has
//! changed.

use guidehand_tests::{golden, paths};
use midly::{Smf, Track};
use std::collections::BTreeSet;
use std::path::PathBuf;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("data/golden")
}

/// The events of all tracks as text, each with its track and its tick.
fn events(bytes: &[u8]) -> Vec<String> {
    let smf = Smf::parse(bytes).expect("a MIDI file");
    let words = |(number, track): (usize, &Track<'_>)| {
        let mut at_ticks = 0;
        let events = track.iter().map(|event| {
            at_ticks += event.delta.as_int();
            format!("track {number}, tick {at_ticks}: {:?}", event.kind)
        });
        events.collect::<Vec<_>>()
    };
    smf.tracks.iter().enumerate().flat_map(words).collect()
}

#[test]
fn the_plugin_plays_the_golden_performances() {
    for performance in golden::all() {
        let path = folder().join(performance.file_name());
        let golden = std::fs::read(&path).unwrap_or_else(|error| {
            panic!(
                "{}: {error}; `cargo xtask golden` writes it",
                path.display()
            )
        });
        let played = performance
            .render(&paths::plugin_path())
            .unwrap_or_else(|error| panic!("{}: {error}", performance.name));
        let (golden, played) = (events(&golden), events(&played));
        assert!(golden.len() > 100, "{} is too short", path.display());
        let same = golden
            .iter()
            .zip(&played)
            .take_while(|(a, b)| a == b)
            .count();
        assert!(
            same == golden.len() && same == played.len(),
            "{}: event {same} differs\n  golden {:?}\n  played {:?}\nif that is meant, run \
             `cargo xtask golden` and listen",
            performance.name,
            golden.get(same),
            played.get(same)
        );
    }
}

#[test]
fn every_golden_file_is_played() {
    let names: BTreeSet<String> = golden::all()
        .iter()
        .map(golden::Golden::file_name)
        .collect();
    let files = std::fs::read_dir(folder()).expect("the folder of golden performances");
    let found: BTreeSet<String> = files
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    assert_eq!(found, names);
}
