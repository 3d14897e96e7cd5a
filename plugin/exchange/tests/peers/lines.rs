//! Lines of the scores that music21 carries: they come in note by note, and chords agree with them.

use crate::{ask, folder, read};
use guidehand_exchange::import::{self, Wanted, Wish};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::Chart;
use guidehand_theory::comping::{self, Yielding};
use guidehand_theory::melody::Melody;
use guidehand_theory::own_shape::Own;
use guidehand_theory::pipeline;
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::Outcome;
use guidehand_theory::under::{self, Harmony, Line, Style};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

/// Lines that differ: the number of the score, the lines, and why.
const DIFFERENT: [(usize, &[usize], &str); 3] = [
    (
        18,
        &[0, 1, 2],
        "a bar has more notes than its meter, and another has fewer in some parts",
    ),
    (
        24,
        &[5],
        "a chord stands on two staves, and music21 leaves one of them out",
    ),
    (
        34,
        &[2],
        "music21 gives the pickup the length that it has in another part",
    ),
];

/// Every staff of the scores with chord symbols that music21 carries, and of some others: each note
/// of its highest line as it is played and as it sounds, its start, its length and its key. Chords
/// under the lines of the lead sheets have no clash with them that is not told, and block chords
/// have the line on top.
#[test]
fn lines_of_others_come_in_note_by_note() {
    let folder = folder("sung");
    let answers = ask("sung", &[folder]);
    let with_symbols = answers.iter().filter(|a| a["symbols"] == json!(true));
    assert_eq!(
        with_symbols.count(),
        12,
        "the lead sheets of music21's corpus"
    );
    let (mut lines, mut notes, mut without, mut different) = (0, 0, 0, 0);
    let mut wrong = Vec::new();
    for answer in &answers {
        let file = answer["file"].as_str().unwrap();
        let bytes = fs::read(file).unwrap();
        let has_symbols = answer["symbols"] == json!(true);
        let of = |name: Option<&str>| {
            let wish = Wish {
                part: None,
                melody: Wanted::of(name),
            };
            let imported = if has_symbols {
                import::read(&bytes, wish).unwrap()
            } else {
                // The chart of the score, which is silent, so that no note lies outside of it.
                let own = import::melody(&bytes, name, &read("| N.C. |")).unwrap();
                import::melody(&bytes, name, &read(&own.text)).unwrap()
            };
            (imported.text, imported.melody.unwrap())
        };
        let (_, found) = of(None);
        let theirs = answer["lines"].as_array().unwrap();
        assert_eq!(found.lines.len(), theirs.len(), "{file}");
        for (index, (line, theirs)) in found.lines.iter().zip(theirs).enumerate() {
            let Some(theirs) = theirs.as_array() else {
                without += 1;
                continue;
            };
            let (text, found) = of(Some(&line.name));
            let chart = read(&text);
            let nearest = |quarters: &Value| (quarters.as_f64().unwrap() * 960.0).round();
            let theirs = theirs.iter().map(|note| {
                let key = note[2].as_u64().unwrap();
                (nearest(&note[0]), nearest(&note[1]), key)
            });
            let theirs: Vec<(f64, f64, u64)> = theirs.collect();
            let ours = found.melody.notes().iter().map(|note| {
                let (start, length) = (f64::from(note.start_ticks), f64::from(note.length_ticks));
                (start, length, u64::from(note.note.number()))
            });
            let ours: Vec<(f64, f64, u64)> = ours.collect();
            let first = ours.iter().zip(&theirs).position(|(a, b)| a != b);
            let number: usize = Path::new(file)
                .file_stem()
                .unwrap()
                .to_str()
                .unwrap()
                .parse()
                .unwrap();
            let known = DIFFERENT.iter().find(|(score, ..)| *score == number);
            if known.is_some_and(|(_, lines, _)| lines.contains(&index)) {
                assert_ne!(ours, theirs, "{file} line {index} is as music21 reads it");
                different += 1;
                continue;
            }
            if ours.len() != theirs.len() || first.is_some() {
                let first = first.unwrap_or(0);
                let around = |notes: &[(f64, f64, u64)]| {
                    let notes = notes.iter().skip(first.saturating_sub(1)).take(4);
                    notes.copied().collect::<Vec<_>>()
                };
                wrong.push(format!(
                    "{file} line {index}, {} of {} notes, note {first}: {:?} for {:?}",
                    ours.len(),
                    theirs.len(),
                    around(&ours),
                    around(&theirs)
                ));
                continue;
            }
            lines += 1;
            notes += theirs.len();
            if has_symbols && line.is_taken {
                agree_under(&chart, &found.melody, file);
            }
        }
    }
    let scores = answers.len();
    println!(
        "{scores} scores, {lines} lines, {notes} notes; {different} lines differ, and {without} have \
         no answer"
    );
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let known: usize = DIFFERENT.iter().map(|(_, lines, _)| lines.len()).sum();
    assert_eq!(different, known);
    assert!(
        lines > 120 && notes > 12_000,
        "{lines} lines, {notes} notes"
    );
}

/// Plans the chords under a melody: what the melody speaks against is told, and every block chord
/// has the melody on top.
fn agree_under(chart: &Chart, melody: &Melody, file: &str) {
    let placed = pipeline::place(chart, None);
    let under = pipeline::under(chart, melody, Yielding::TensionsAndRegister);
    let (texture, register, own) = (Texture::FourNotes, Register::DEFAULT, Own::NONE);
    let plan = pipeline::plan_under(&placed, texture, register, Ends::Open, &[], own, &under);
    for ((placed, agreeing), under) in placed.iter().zip(&plan).zip(&under) {
        let (Some(placed), Some(agreeing)) = (placed, agreeing) else {
            continue;
        };
        for rub in comping::rubs(&agreeing.voiced.voicing, &placed.chord, under.above) {
            let told = agreeing
                .yields
                .iter()
                .any(|told| told.outcome == Outcome::Stands && told.degree == rub.voice.degree);
            assert!(told, "{file}: {} under {:?}", placed.chord.root, rub.melody);
        }
    }
    let harmonies: Vec<Option<Harmony>> = placed
        .iter()
        .map(|placed| placed.map(Harmony::from))
        .collect();
    let line = Line {
        melody,
        chart,
        harmonies: &harmonies,
        single_under_ticks: 0,
    };
    for style in Style::ALL {
        let taste = under::Taste {
            style,
            ..under::Taste::default()
        };
        for timed in under::plan(&taste, &line) {
            let top = melody.notes()[timed.note].note;
            assert_eq!(timed.block.melody(), Some(top), "{file}");
        }
    }
}
