//! `cargo xtask bench harmony`: compares what the theory hears in stock forms with their annotation
//! and with another program's key analysis, and measures how far the hand moves in them. It imports
//! `python` and `workspace`; only `bench` imports it.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use guidehand_report::performance::ChordRow;
use guidehand_theory::candidates::Register;
use guidehand_theory::pipeline;
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use serde_json::Value;
use xshell::cmd;

use crate::python;
use crate::workspace::Workspace;

#[allow(dead_code, reason = "the benchmark and the test use the rest")]
#[path = "../../theory/tests/harmony/corpus.rs"]
mod corpus;
#[allow(dead_code, reason = "the benchmark and the test use the rest")]
#[path = "../../theory/tests/harmony/words.rs"]
mod words;

use corpus::{AnnotatedChord, Tune};

/// Runs the benchmark of the theory, compares the JSON of every chord with the corpus, and asks
/// music21 for one key a tune, in the Python environment of the tests.
///
/// # Errors
/// Says which program is missing.
pub fn run() -> Result<()> {
    let workspace = Workspace::locate()?;
    let shell = &workspace.shell;
    let folder = workspace.target.join("harmony");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let tunes = folder.join("tunes.tsv");
    cmd!(
        shell,
        "cargo bench -p guidehand-theory --bench harmony --locked -- --tunes {tunes}"
    )
    .run()?;
    played(&folder)?;
    println!("\nOne key a tune, the one with the most time in it, beside music21's key analysis");
    let python = python::for_tests(&workspace.target);
    cmd!(shell, "{python} theory/benches/harmony_keys.py {tunes}").run()?;
    Ok(())
}

/// What `cargo xtask comp --json` prints for the chords of the corpus in the keys that they are
/// written in, against the annotation. The rows are made as `comp` makes them, of the same plan,
/// without the plugin around it.
fn played(folder: &Path) -> Result<()> {
    let names = ["key", "function", "tensions", "first scale"];
    let mut right = [0_usize; 4];
    let mut all = 0;
    let mut reports = serde_json::Map::new();
    for tune in corpus::tunes() {
        let rows = report(&tune)?;
        for (row, json) in &rows {
            for (count, right) in right.iter_mut().zip(judge(row, json)) {
                *count += usize::from(right);
            }
            all += 1;
        }
        let chords = rows.into_iter().map(|(_, json)| json).collect();
        reports.insert(tune.name.clone(), Value::Array(chords));
    }
    let file = folder.join("chords.json");
    fs::write(&file, serde_json::to_string_pretty(&reports)?)
        .with_context(|| format!("cannot write {}", file.display()))?;
    println!(
        "\nJSON of the planned chords as played, in the keys as written, against the annotation: {all} \
         chords, in {}",
        file.display()
    );
    println!("  (here the planner may have led the voices through a further choice of tensions)");
    for (name, right) in names.iter().zip(right) {
        let tenths = (right * 1000 + all / 2) / all;
        println!("  {name:12} {:3}.{} %", tenths / 10, tenths % 10);
    }
    Ok(())
}

/// The chords of a tune as played, each with its annotation and its JSON.
fn report(tune: &Tune) -> Result<Vec<(AnnotatedChord, Value)>> {
    let chart = tune.chart();
    let placed = pipeline::place(&chart, None);
    let voiced = pipeline::plan(&placed, Texture::FourNotes, Register::DEFAULT, Ends::Cyclic);
    let chords = placed.into_iter().zip(voiced);
    let played = chart.changes.iter().zip(tune.rows_played(&chart));
    let mut rows = Vec::new();
    for ((change, row), chord) in played.zip(chords) {
        let (bar, beat) = chart.bar_and_beat(change.start_ticks);
        let symbol = &tune.text[change.source.clone()];
        let chord = match chord {
            (Some(placed), Some(voiced)) => Some((placed, voiced)),
            _ => None,
        };
        let made = ChordRow::new(bar, beat, symbol, chord.as_ref(), None);
        rows.push((tune.rows[row].clone(), serde_json::to_value(made)?));
    }
    Ok(rows)
}

/// Whether key, function, tensions and first scale are as annotated. Four notes may hold two of
/// three tensions.
fn judge(row: &AnnotatedChord, json: &Value) -> [bool; 4] {
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let (key, function) = (text(&json["key"]), text(&json["function"]));
    let function = words::without_key(&function);
    let keyed = || row.hearings.iter().filter(|h| h.key.is_named(&key));
    let tensions = json["tensions"].as_array().into_iter().flatten().map(text);
    let tensions: Vec<String> = tensions.filter(|t| t != "b5" && t != "#5").collect();
    let holds = |choice: &[String]| {
        tensions.iter().all(|t| choice.contains(t)) && tensions.len() >= choice.len().min(2)
    };
    let mut choices = row.tensions.iter();
    [
        keyed().next().is_some(),
        keyed().any(|h| words::same(&h.function, function)),
        choices.any(|choice| {
            let names: Vec<String> = choice.iter().map(|d| d.name().to_owned()).collect();
            holds(&names)
        }),
        row.scales.contains(&text(&json["scales"][0]["name"])),
    ]
}
