//! Our pages of MusicXML: they keep to the schema, and music21 reads the same music.

use crate::{ask, charts, folder, read, score, ticks};
use guidehand_exchange::kept::{Kept, KeptPin, KeptScale};
use guidehand_exchange::musicxml::{self, Form, Page, Staves, Words};
use guidehand_exchange::practice;
use guidehand_exchange::score::{Note, Score, Sung};
use guidehand_exchange::sheet::{Place, Sheet};
use guidehand_theory::candidates::Register;
use guidehand_theory::comping::Yielding;
use guidehand_theory::kind;
use guidehand_theory::melody;
use guidehand_theory::shape::Texture;
use guidehand_theory::under::{self, Style};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;

/// A chart with pins and scales.
fn picked(text: &str) -> Score {
    let pin = json!({"chord": 1, "symbol": "G7", "notes": [41, 47, 52, 57, 63], "pass": 2});
    let pin = serde_json::from_value::<KeptPin>(pin).unwrap();
    let scale = |chord, symbol: &str, name: &str| {
        let json = json!({"chord": chord, "symbol": symbol, "scale": name});
        serde_json::from_value::<KeptScale>(json).unwrap()
    };
    let kept = Kept {
        pins: vec![pin],
        scales: vec![scale(0, "Dm7", "Dorian"), scale(1, "G7", "altered")],
        ..Kept::of(text)
    };
    let setting = (Texture::FourNotes, Register::DEFAULT);
    Score::planned_around(read(text), 132.0, None, setting, Some(&kept))
}

/// A page, and the chart and options that it was written from.
fn pages() -> Vec<(Score, Page, String)> {
    let mut pages = Vec::new();
    for text in charts() {
        for (form, staves, texture) in [
            (Form::Written, Staves::One, Texture::FourNotes),
            (Form::AsPlayed, Staves::Grand, Texture::TwoHands),
            (Form::AsPlayed, Staves::Symbols, Texture::FourNotes),
        ] {
            let page = Page {
                form,
                staves,
                bass: staves == Staves::Grand,
                words: if staves == Staves::One {
                    Words::ALL
                } else {
                    Words::default()
                },
            };
            pages.push((score(&text, texture), page, text.clone()));
        }
    }
    // Comping that is off the beat, swung, and a little late.
    let mut played = score("| Dm7 | G7 | Cmaj7 | A7(b9) |", Texture::FourNotes);
    let notes = std::mem::take(&mut played.comping);
    for note in notes {
        for (at, length) in [(3, 910), (1600, 300), (2410, 1400)] {
            let start_ticks = note.start_ticks + at;
            let length_ticks = length;
            played.comping.push(Note {
                start_ticks,
                length_ticks,
                ..note
            });
        }
    }
    let page = Page {
        form: Form::AsPlayed,
        ..Page::default()
    };
    pages.push((played, page, "off the beat".to_owned()));
    // A practice page, with its keys and with swing.
    let progression = "| Dm7 | G7 | Cmaj7 | A7(b9) |";
    let text = practice::practice(progression, practice::Order::HalfSteps).unwrap();
    let mut practised = score(&text, Texture::FourNotes);
    practised.keys = practice::keys(&read(progression), &practised.chart);
    practised.off_beat = 0.62;
    pages.insert(0, (practised, page, text));
    // Pinned voicings that differ from time to time, and chosen scales, in the head of the page and
    // under its staff.
    let typed = "[A] |: Dm7  | G7   C7(b9, b13) :| D/C7 |";
    for form in [Form::Written, Form::AsPlayed] {
        pages.insert(0, (picked(typed), Page { form, ..page }, typed.to_owned()));
    }
    // Off-beats that swing, under their mark.
    let mut swung = score("| Dm7 | G7 | Cmaj7 | % |", Texture::FourNotes);
    for note in &mut swung.comping {
        (note.start_ticks, note.length_ticks) = (note.start_ticks + 1600, 320);
    }
    swung.off_beat = 2.0 / 3.0;
    pages.insert(0, (swung, page, "swung".to_owned()));
    pages
}

#[test]
fn pages_are_valid_and_music21_reads_the_same_music() {
    let folder = folder("pages");
    let pages = pages();
    let mut files = Vec::new();
    for (index, (score, page, _)) in pages.iter().enumerate() {
        let file = folder.join(format!("{index}.musicxml"));
        fs::write(&file, musicxml::write(score, *page)).unwrap();
        files.push(file);
    }
    let swung = fs::read_to_string(&files[0]).unwrap();
    assert!(swung.contains("<swing>"), "{swung}");
    for (answer, file) in ask("valid", &files).iter().zip(&files) {
        assert_eq!(answer["errors"], json!([]), "{}", file.display());
    }
    for (index, (answer, (score, page, text))) in
        ask("music21", &files).iter().zip(&pages).enumerate()
    {
        let parts = answer["parts"].as_array().unwrap();
        let sheet = musicxml::sheet(score, *page);
        let found = symbols(&parts[0]);
        assert_eq!(found, expected_symbols(&sheet), "{index}: {text}");
        let is_moved = ["off the beat", "swung"].contains(&text.as_str());
        if page.form == Form::AsPlayed && page.staves != Staves::Symbols && !is_moved {
            let staves = if page.bass { &parts[..2] } else { &parts[..1] };
            compare_notes(staves, &score.comping, &format!("{index}: {text}"));
            if page.bass {
                compare_notes(&parts[2..], &score.bass, text);
            }
        }
    }
    let swung = ask("music21", &files[files.len() - 1..]);
    let onsets: BTreeSet<u32> = struck(&swung[0]["parts"].as_array().unwrap()[..1])
        .into_iter()
        .map(|(at, _)| at % 3840)
        .collect();
    assert_eq!(
        onsets,
        BTreeSet::from([0, 1600, 2400]),
        "off-beats stand where they are meant"
    );
}

/// Pages with a melody, alone and with block chords: they keep to the schema, and music21 reads the
/// melody with the voices below it on the first staff, and the chords on the second.
#[test]
fn pages_with_a_melody_are_valid_and_music21_reads_them() {
    let folder = folder("melodies");
    let text = "Pickup G7 |: Dm7 | G7(b9) | [1 Cmaj7 :| [2 3/4 C6/9 |";
    let chart = read(text);
    let melody = "| G4 | A4/8t B4 C5 D5/4. E5/8~ E5/4 | F5/2 Ab5/4 G5~ | G5/2 r/4 E5/16 F5 E5 D5 \
                  | A4/8t B4 C5 D5/4. E5/8~ E5/4 | F5/2 Ab5/4 G5~ | G5/2. |";
    let melody = melody::parse(melody, &chart).unwrap();
    let styles = Style::ALL.map(Some).into_iter().chain([None]);
    let mut files = Vec::new();
    let mut scores = Vec::new();
    for (number, style) in styles.enumerate() {
        let sung = Sung {
            melody: &melody,
            yielding: Yielding::TensionsAndRegister,
            blocks: style.map(|style| {
                let taste = under::Taste {
                    style,
                    ..under::Taste::default()
                };
                (taste, 0)
            }),
        };
        let setting = (Texture::FourNotes, Register::DEFAULT);
        let chart = chart.clone();
        let score = Score::planned_under(chart, 120.0, None, setting, None, Some(&sung));
        for form in [Form::AsPlayed, Form::Written] {
            let page = Page {
                form,
                words: Words::ALL,
                ..Page::default()
            };
            let file = folder.join(format!("{number}-{form:?}.musicxml"));
            fs::write(&file, musicxml::write(&score, page)).unwrap();
            files.push(file);
        }
        scores.push(score);
    }
    for (answer, file) in ask("valid", &files).iter().zip(&files) {
        assert_eq!(answer["errors"], json!([]), "{}", file.display());
    }
    let as_played: Vec<PathBuf> = files.into_iter().step_by(2).collect();
    for (answer, score) in ask("music21", &as_played).iter().zip(&scores) {
        let parts = answer["parts"].as_array().unwrap();
        assert_eq!(parts.len(), 2);
        let on_top: Vec<Note> = score.melody.iter().chain(&score.blocks).copied().collect();
        compare_notes(&parts[..1], &on_top, "melody");
        compare_notes(&parts[1..], &score.comping, "chords");
    }
}

/// Charts with jumps that music21 understands as we do.
const ROADS: [&str; 9] = [
    "| C6 | F6 | G7 | A7 D.C. |",
    "| C6 | F6 Fine | G7 | A7 D.C. al Fine |",
    "| C6 | F6 To Coda | G7 | A7 D.C. al Coda | Coda D7 | E7 |",
    "| C6 | Segno F6 | G7 | A7 D.S. |",
    "| C6 | Segno F6 | G7 Fine | A7 D.S. al Fine |",
    "| C6 | Segno F6 | G7 To Coda | A7 D.S. al Coda | Coda D7 | E7 |",
    "Pickup G7 |: C6 | F6 :| x3 | G7 |",
    "|: C6 | F6 | [1 G7 :| [2 A7 | D7 |",
    "|: C6 :| F6 |: G7 | [1 A7 :| [2 D7 :| [3 E7 |",
];

/// music21 plays the measures of our pages in the same order as we do.
#[test]
fn music21_takes_the_same_road() {
    let folder = folder("roads");
    let mut files = Vec::new();
    for (index, text) in ROADS.iter().enumerate() {
        let file = folder.join(format!("{index}.musicxml"));
        let page = Page::default();
        fs::write(&file, musicxml::write(&Score::of(read(text), 120.0), page)).unwrap();
        files.push(file);
    }
    for (answer, text) in ask("played", &files).iter().zip(ROADS) {
        let chart = read(text);
        let order = chart
            .bars
            .iter()
            .map(|bar| chart.written[bar.written].number);
        assert_eq!(answer["order"], json!(order.collect::<Vec<_>>()), "{text}");
    }
}

type SymbolRow = (u64, u32, String, Option<(String, String)>, Vec<String>);

fn symbols(part: &Value) -> Vec<SymbolRow> {
    let rows = part["symbols"].as_array().unwrap().iter().map(|row| {
        let name = |key: &str| row[key].as_str().map(str::to_owned);
        let degrees = row["degrees"].as_array().unwrap().iter();
        (
            row["measure"].as_u64().unwrap(),
            ticks(&row["at"]),
            row["kind"].as_str().unwrap().to_owned(),
            name("root").zip(name("bass")),
            degrees.map(Value::to_string).collect(),
        )
    });
    rows.collect()
}

/// music21's own names of kinds, if they differ from the standard's.
fn in_music21(kind: &str) -> &str {
    match kind {
        "dominant" => "dominant-seventh",
        "half-diminished" => "half-diminished-seventh",
        "major-minor" => "minor-major-seventh",
        other => other,
    }
}

fn expected_symbols(sheet: &Sheet) -> Vec<SymbolRow> {
    let mut rows = Vec::new();
    for (index, bar) in sheet.bars.iter().enumerate() {
        for Place { at_ticks, chord } in &bar.places {
            let harmony = chord.as_ref().map_or_else(kind::no_chord, kind::to_kind);
            let bass = harmony.bass.unwrap_or(harmony.root);
            let names = chord.map(|_| (harmony.root.to_string(), bass.to_string()));
            let degrees = harmony.degrees.iter();
            let degrees = degrees.map(|d| json!([d.step.name(), d.value, d.alter]).to_string());
            rows.push((
                u64::try_from(index).unwrap(),
                *at_ticks,
                in_music21(harmony.kind.name()).to_owned(),
                names,
                degrees.collect(),
            ));
        }
    }
    rows
}

/// The ticks and names of the notes that are struck.
fn struck(parts: &[Value]) -> BTreeSet<(u32, String)> {
    let notes = parts
        .iter()
        .flat_map(|part| part["notes"].as_array().unwrap());
    let struck = notes.filter(|note| note[3] == true);
    struck
        .map(|note| (ticks(&note[0]), note[2].as_str().unwrap().to_owned()))
        .collect()
}

fn compare_notes(parts: &[Value], notes: &[Note], of: &str) {
    let name = |note: &Note| note.name.at(note.note).to_string();
    let expected: BTreeSet<(u32, String)> =
        notes.iter().map(|n| (n.start_ticks, name(n))).collect();
    assert_eq!(struck(parts), expected, "{of}");
    let mut lengths: BTreeMap<String, f64> = BTreeMap::new();
    for note in notes {
        *lengths.entry(name(note)).or_default() += f64::from(note.length_ticks) / 960.0;
    }
    for note in parts
        .iter()
        .flat_map(|part| part["notes"].as_array().unwrap())
    {
        *lengths
            .entry(note[2].as_str().unwrap().to_owned())
            .or_default() -= note[1].as_f64().unwrap();
    }
    for (name, rest) in lengths {
        assert!(
            rest.abs() < 0.02,
            "{of}: {name} lasts {rest} quarters longer"
        );
    }
}
