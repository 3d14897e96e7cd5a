//! What other programs read in our files, and what we read in theirs: mido for MIDI files, the
//! W3C's schema and music21 for MusicXML. Their environment is set up under the target directory if
//! it is missing.

#[path = "../../../tests/python/mod.rs"]
mod python;
mod random;

mod peers {
    pub mod lead_sheets;
    pub mod lines;
    pub mod midi;
    pub mod pages;
}

use guidehand_exchange::score::Score;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::shape::Texture;
use serde_json::Value;
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

fn ticks(quarters: &Value) -> u32 {
    let ticks = (quarters.as_f64().unwrap() * 960.0 + 1e-6).floor();
    (0..=u32::MAX).find(|t| f64::from(*t) >= ticks).unwrap()
}
