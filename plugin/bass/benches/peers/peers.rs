//! The peers: aubio and librosa's pYIN, run as programs on the same file.

use crate::common::score::HeardNote;
use std::io::{BufRead, BufReader, Lines, Write};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};

/// aubio reports no pitch below this level, in dB.
const SILENCE_DB: &str = "-50";

/// Writes one channel of floats.
pub fn write(wav: &Path, sound: &[f32]) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: crate::render::RATE_HZ,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut writer = hound::WavWriter::create(wav, spec).expect("a file under target");
    for sample in sound {
        writer.write_sample(*sample).expect("a whole file");
    }
    writer.finalize().expect("a whole file");
}

/// A peer's result for a file: processor seconds, and the notes for each hold.
pub type Made = (f64, Vec<Vec<HeardNote>>);

/// The number of frames for which a pitch must stay to be a note.
pub const HOLDS: [usize; 3] = [1, 3, 6];

/// The length of a peer's hop, in seconds.
const HOP_SECONDS: f64 = 256.0 / 44_100.0;

/// aubio's yinfft with a window of this many samples and a hop of 256.
pub fn aubio(wav: &Path, window: u32) -> Option<Made> {
    let before = children_seconds();
    let done = Command::new("aubiopitch")
        .args(["-p", "yinfft", "-H", "256", "-s", SILENCE_DB, "-B"])
        .arg(window.to_string())
        .arg("-i")
        .arg(wav)
        .output()
        .ok()?;
    let spent = children_seconds() - before;
    let text = String::from_utf8(done.stdout).ok()?;
    // aubio reports the beginning of a hop, but a frame is known only when its hop has ended.
    let frames: Option<Vec<HeardNote>> =
        text.lines().map(|line| frame(line, HOP_SECONDS)).collect();
    Some((spent, held(&frames?)))
}

/// librosa's pYIN in a Python that has librosa. The program runs as long as this value lives.
pub struct Pyin {
    child: Child,
    answers: Lines<BufReader<ChildStdout>>,
}

impl Pyin {
    /// Starts the program with the Python of this name.
    pub fn start(python: &str) -> Option<Pyin> {
        let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/peers/pyin.py");
        let mut child = Command::new(python)
            .arg(script)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .ok()?;
        let answers = BufReader::new(child.stdout.take()?).lines();
        Some(Pyin { child, answers })
    }

    /// Runs it on one file.
    pub fn hear(&mut self, wav: &Path) -> Option<Made> {
        writeln!(self.child.stdin.as_mut()?, "{}", wav.display()).ok()?;
        let first = self.answers.next()?.ok()?;
        let (spent, count) = first.split_once(' ')?;
        let lines = self.answers.by_ref().take(count.parse().ok()?);
        let frames: Option<Vec<HeardNote>> = lines.map(|line| frame(&line.ok()?, 0.0)).collect();
        Some((spent.parse().ok()?, held(&frames?)))
    }
}

impl Drop for Pyin {
    fn drop(&mut self) {
        // It ends when its input does.
        drop(self.child.stdin.take());
        drop(self.child.wait());
    }
}

/// Reads a line of time and frequency; the frame is known this much later.
fn frame(line: &str, later_seconds: f64) -> Option<HeardNote> {
    let (at, hertz) = line.split_once(char::is_whitespace)?;
    Some(HeardNote {
        at_seconds: at.trim().parse::<f64>().ok()? + later_seconds,
        note: note(hertz.trim().parse().ok()?),
    })
}

/// The frames as notes, once for each hold.
fn held(frames: &[HeardNote]) -> Vec<Vec<HeardNote>> {
    HOLDS.map(|hold| held_for(frames, hold)).to_vec()
}

fn held_for(frames: &[HeardNote], hold: usize) -> Vec<HeardNote> {
    let mut words: Vec<HeardNote> = Vec::new();
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

/// Processor time of this thread, from Linux's process table.
pub fn thread_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let nanoseconds = stat.split_whitespace().next().map(str::parse::<f64>);
    nanoseconds.and_then(Result::ok).unwrap_or(f64::NAN) / 1e9
}

/// Processor time of the children that have ended, from Linux's process table.
fn children_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after_name = stat.rsplit_once(')').map_or("", |(_, rest)| rest);
    let ticks = after_name.split_whitespace().skip(13).take(2);
    ticks.filter_map(|t| t.parse::<f64>().ok()).sum::<f64>() / 100.0
}
