//! What other programs read in our files, and what we read in theirs: mido for MIDI files, the
//! W3C's schema and music21 for MusicXML. Their environment is set up under the target directory if
//! it is missing.

#[path = "../../../tests/python/mod.rs"]
mod python;
mod random;

use guidehand_exchange::import::{self, Wanted, Wish};
use guidehand_exchange::kept::{Kept, KeptPin, KeptScale};
use guidehand_exchange::musicxml::{self, Form, Page, Staves};
use guidehand_exchange::pages::plays_alike;
use guidehand_exchange::score::{Note, Score, Sung};
use guidehand_exchange::sheet::{Place, Sheet};
use guidehand_exchange::{midi, practice};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::chord::Chord;
use guidehand_theory::comping::{self, Yielding};
use guidehand_theory::kind;
use guidehand_theory::melody::{self, Melody};
use guidehand_theory::own_shape::Own;
use guidehand_theory::pipeline;
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::tension::Outcome;
use guidehand_theory::under::{self, Harmony, Line, Style};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

/// Charts with tuplets, changes of meter, repeats, silence and slashes.
const CHARTS: [&str; 8] = [
    "[A] |: Dm7 | G7(b9) | [1 Cmaj7 | % :| [2 C6/9 | N.C. | [B] | Fm7 Bb13(#11) | Ebmaj7 / / Db7/Cb |",
    "| Dm7 G7 Em7 | A7alt B7 C7 D7 E7 | Cmaj7 |",
    "3/4 | Bbmaj7 Gm7 | Cm7 F7 Bb6 | 5/4 Ebm9 | 7/8 Am7b5 D7(b9) | 6/8 Gm(maj7) C7 | 4/4 F#m7 |",
    "12/8 | Cmaj9 | F9sus4 F7 | 2/2 Bbm7 Eb7 | 5/8 Abmaj7 Db7 Gb6 | 13/16 Bdim7 E7(#5) |",
    "| C#m7b5 F#7(b9) | Bmaj7 | Ebm7 Ab7 Dbmaj7 Gb7(#11) | / / / F7 | Bbm6 |",
    "Pickup G7 | C6 | Segno F6 | G7 Am7 D7 To Coda | even A7 D7 G7 D.S. al Coda | Coda |: F6 :| x3 C6 |",
    "3/4 | Bbmaj7 | Gm7 Fine | Cm7 | F7 D.C. al Fine |",
    "| C6 F6 G6 A6 B6 C6 D6 | Em7 A7 Dm7 G7 Cm7 F7 Bbmaj7 Ebmaj7 |",
];

/// The Python of the environment.
fn python() -> &'static Path {
    static PYTHON: OnceLock<PathBuf> = OnceLock::new();
    PYTHON.get_or_init(|| {
        let target = Path::new(env!("CARGO_TARGET_TMPDIR")).parent().unwrap();
        python::for_tests(target)
    })
}

/// Asks a peer about files, and returns its answers in the order of the files.
fn ask(kind: &str, files: &[PathBuf]) -> Vec<Value> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/peers.py");
    let lines = python::run(Command::new(python()).arg(script).arg(kind).args(files));
    lines
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect()
}

fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("exchange")
        .join(name);
    let _none_yet = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn read(text: &str) -> Chart {
    chart::parse(text).unwrap_or_else(|errors| panic!("{text}: {errors:?}"))
}

fn charts() -> Vec<String> {
    let mut random = fastrand::Rng::with_seed(20_260_105);
    let fixed = CHARTS.iter().map(|text| (*text).to_owned());
    fixed
        .chain((0..10).map(|_| random::chart(&mut random)))
        .collect()
}

fn score(text: &str, texture: Texture) -> Score {
    let mut score = Score::planned(read(text), 132.0, None, texture, Register::DEFAULT);
    score.title = "Exchange & back".to_owned();
    score
}

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
                words: staves == Staves::One,
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
                words: true,
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

fn ticks(quarters: &Value) -> u32 {
    let ticks = (quarters.as_f64().unwrap() * 960.0 + 1e-6).floor();
    (0..=u32::MAX).find(|t| f64::from(*t) >= ticks).unwrap()
}

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
