//! The peers: aubio and librosa's pYIN, run as programs on the same file.

use crate::common::score::Word;
use std::path::Path;
use std::process::Command;

/// aubio's yinfft with a window of so many samples, at a hop of 256; a pitch becomes a note when
/// it stayed for `hold` frames.
pub fn aubio(wav: &Path, window: u32, holds: &[usize]) -> Option<(f64, Vec<Vec<Word>>)> {
    let before = children_seconds();
    let done = Command::new("aubio")
        .args(["pitch", "-m", "yinfft", "-H", "256", "-B"])
        .arg(window.to_string())
        .arg("-i")
        .arg(wav)
        .output()
        .ok()?;
    let spent = children_seconds() - before;
    let text = String::from_utf8(done.stdout).ok()?;
    Some((spent, notes(&text, holds)))
}

/// librosa's pYIN by a Python that has librosa.
pub fn pyin(python: &str, wav: &Path, holds: &[usize]) -> Option<(f64, Vec<Vec<Word>>)> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/peers/pyin.py");
    let done = Command::new(python).arg(script).arg(wav).output().ok()?;
    let text = String::from_utf8(done.stdout).ok()?;
    let (spent, frames) = text.split_once('\n')?;
    Some((spent.parse().ok()?, notes(frames, holds)))
}

/// Lines of time and frequency as notes, once for each hold.
fn notes(text: &str, holds: &[usize]) -> Vec<Vec<Word>> {
    const HOP_SECONDS: f64 = 256.0 / 44_100.0;
    let frames: Vec<Word> = text
        .lines()
        .filter_map(|line| {
            let (at, hertz) = line.split_once(char::is_whitespace)?;
            Some(Word {
                // A frame is known when its hop has ended.
                at_seconds: at.trim().parse::<f64>().ok()? + HOP_SECONDS,
                note: note(hertz.trim().parse().ok()?),
            })
        })
        .collect();
    holds.iter().map(|hold| held(&frames, *hold)).collect()
}

fn held(frames: &[Word], hold: usize) -> Vec<Word> {
    let mut words: Vec<Word> = Vec::new();
    for run in frames.windows(hold) {
        let said = words.last().and_then(|w| w.note);
        let newest = run[hold - 1];
        if run.iter().all(|w| w.note == newest.note) && newest.note != said {
            words.push(newest);
        }
    }
    words
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "filtered to MIDI numbers"
)]
fn note(hertz: f64) -> Option<u8> {
    let number = (69.0 + 12.0 * (hertz / 440.0).log2()).round();
    (hertz > 0.0 && (0.0..128.0).contains(&number)).then_some(number as u8)
}

/// Processor time of the children that have ended, from Linux's process table.
fn children_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after_name = stat.rsplit_once(')').map_or("", |(_, rest)| rest);
    let ticks = after_name.split_whitespace().skip(13).take(2);
    ticks.filter_map(|t| t.parse::<f64>().ok()).sum::<f64>() / 100.0
}
