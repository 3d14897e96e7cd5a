//! The ear and its peers on the same files: lines from seeds through General MIDI sound fonts, dry
//! and with a drummer's bleed at -12 dB by mean power, at 44.1 kHz.
//!
//! The same figures are measured for every listener (see `common::score`):
//! - *Onset*: where the note's own sound, rendered alone, first reaches a tenth of the highest peak
//!   of its first 150 ms. The samples of the fonts begin with up to 50 ms of near silence, and no
//!   listener can hear a note before it sounds.
//! - *Right*: half-way between onset and note-off, the last reported note has the pitch class of
//!   the note that sounds. *Octave*: those of them that are in another octave.
//! - *Time*: from the onset to the first report of the right note in the right octave that no other
//!   report follows up to half-way. If there is no such report, the time is infinite. A note that
//!   repeats the note before has no time. The table shows the median and the 95th percentile.
//! - *Spurious*: reports of a note that does not sound, for 100 notes played. A second report of
//!   the right note does not count, and neither does the note before, up to 50 ms after the onset.
//! - *The time of a report*: when its last needed sample is in. aubio reports the beginning of a
//!   hop, so a hop is added. pYIN's frames are centred, so half a window is added. pYIN looks at
//!   the whole file before it reports anything; that does not count.
//!
//! The peers have a hop of 256 samples, and report a note when its pitch has stayed for 1, 3 or 6
//! frames (quick, medium and calm). pYIN is slow, so it hears 160 bpm only. aubio does not listen
//! below -50 dB, so it does not report the tails.
//!
//! Arguments: `--notes N` for about N notes for each sound and tempo (default 128), `--seed N` for
//! other lines (tune with other seeds than 0), `--tempo N` for a single tempo (80, 120, 160, 200 or
//! 240), `--alone` for no peers, `--wrong` to list the errors. `GUIDEHAND_PYTHON` names a Python
//! with librosa.

#[path = "../../tests/common/mod.rs"]
mod common;
mod peers;
mod render;

use common::lines::{self, BassLine, Compass, Feel};
use common::score::{HeardNote, ListenerScore};
use guidehand_bass::Tracker;
use peers::Pyin;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

const FONTS: [(&str, &str); 2] = [
    ("small", "/usr/share/sounds/sf2/TimGM6mb.sf2"),
    ("large", "/usr/share/sounds/sf2/FluidR3_GM.sf2"),
];
const SOUNDS: [(&str, u8); 3] = [("acoustic", 32), ("fingered", 33), ("fretless", 35)];
const TEMPOS: [f64; 5] = [80.0, 120.0, 160.0, 200.0, 240.0];
const BLEED_DB: f64 = -12.0;
/// The number, from 1, of the only tempo that pYIN hears: pYIN takes a sixth of a core.
const PYIN_TEMPO: u64 = 3;

/// One listener's score over lines.
#[derive(Default)]
struct Row {
    score: ListenerScore,
    processor_seconds: f64,
    sound_seconds: f64,
}

type Table = BTreeMap<String, Row>;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let after = |name: &str| arguments.iter().skip_while(|a| *a != name).nth(1);
    let notes: usize = after("--notes").map_or(128, |n| n.parse().expect("a number"));
    let seed: u64 = after("--seed").map_or(0, |n| n.parse().expect("a number"));
    let only_bpm: Option<f64> = after("--tempo").map(|n| n.parse().expect("a number"));
    let wrong = arguments.iter().any(|a| a == "--wrong");
    let alone = arguments.iter().any(|a| a == "--alone");
    let mut pyin = std::env::var("GUIDEHAND_PYTHON")
        .ok()
        .filter(|_| !alone)
        .and_then(|python| Pyin::start(&python));
    cost();
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("peers");
    std::fs::create_dir_all(&folder).expect("a folder under target");
    for (font, path) in FONTS {
        if !Path::new(path).exists() {
            println!("{path} is missing (Debian packages timgm6mb-soundfont, fluid-soundfont-gm)");
            continue;
        }
        let mut table = Table::new();
        for (program, (sound, number)) in (1_u64..).zip(SOUNDS) {
            let tempos = (1_u64..).zip(TEMPOS);
            for (tempo, tempo_bpm) in tempos.filter(|t| only_bpm.is_none_or(|only| only == t.1)) {
                for line in lines_of(seed + 1000 * program + 10 * tempo, tempo_bpm, notes) {
                    let starts = render::starts(&line, number, &folder, path);
                    let bass = render::bass(&line, number, &folder, path);
                    let drums = render::drums(&line, program, &folder, path);
                    let bled = common::mix(&bass, &drums, BLEED_DB);
                    let speed = format!("{tempo_bpm:3.0} bpm");
                    for (air, sound_in) in [("dry", bass), ("drums", bled)] {
                        let wav = folder.join("heard.wav");
                        peers::write(&wav, &sound_in);
                        for (who, row) in hear(
                            &wav,
                            &sound_in,
                            (&line, &starts),
                            alone,
                            pyin.as_mut().filter(|_| tempo == PYIN_TEMPO),
                        ) {
                            for part in [sound, speed.as_str(), "all"] {
                                let key = format!("{air:5} {who:20} {part}");
                                table.entry(key).or_default().join(&row);
                            }
                        }
                    }
                }
            }
        }
        print(font, &table, wrong);
    }
}

/// Prints the time to make a tracker, and the time of its slowest block.
fn cost() {
    const BLOCK: usize = 64;
    let line = BassLine::new(1, Feel::Walking, lines::FOUR_STRINGS, 200.0, 4);
    let sound = common::pluck::play(&line, common::pluck::FINGERED, 48_000.0, 440.0);
    // The quickest of many runs counts, because it has the least of the machine's other work in it.
    let mut made = Duration::MAX;
    let mut blocks = vec![Duration::MAX; sound.len().div_ceil(BLOCK)];
    for _ in 0..20 {
        let start = Instant::now();
        let mut tracker = Tracker::new(48_000.0);
        made = made.min(start.elapsed());
        for (quickest, block) in blocks.iter_mut().zip(sound.chunks(BLOCK)) {
            let start = Instant::now();
            tracker.push(block, &mut |event| {
                std::hint::black_box(event);
            });
            *quickest = (*quickest).min(start.elapsed());
        }
    }
    let dearest = blocks.iter().max().expect("blocks");
    println!(
        "A new tracker takes {made:.1?}, the slowest block of {BLOCK} frames at 48 kHz {dearest:.1?}."
    );
}

/// Two walking lines and one in two, on a four-string bass, a five-string bass and in a high range.
fn lines_of(seed: u64, tempo_bpm: f64, notes: usize) -> Vec<BassLine> {
    let line = |n, feel, compass: Compass, notes: usize| {
        let a_bar = if feel == Feel::Walking { 4 } else { 2 };
        BassLine::new(seed + n, feel, compass, tempo_bpm, (notes / a_bar).max(2))
    };
    vec![
        line(1, Feel::Walking, lines::FOUR_STRINGS, notes / 2),
        line(2, Feel::Two, lines::FOUR_STRINGS, notes / 4),
        line(3, Feel::Walking, lines::FIVE_STRINGS, notes / 8),
        line(4, Feel::Walking, lines::HIGH, notes / 8),
    ]
}

impl Row {
    fn join(&mut self, other: &Row) {
        self.score.join(&other.score);
        self.processor_seconds += other.processor_seconds;
        self.sound_seconds += other.sound_seconds;
    }
}

fn hear(
    wav: &Path,
    sound: &[f32],
    (line, starts): (&BassLine, &[f64]),
    alone: bool,
    pyin: Option<&mut Pyin>,
) -> Vec<(String, Row)> {
    let samples = f64::from(u32::try_from(sound.len()).expect("minutes of sound"));
    let sound_seconds = samples / f64::from(render::RATE_HZ);
    let row = |processor_seconds, words: &[HeardNote]| {
        let mut score = ListenerScore::default();
        score.add_from(line, starts, words);
        Row {
            score,
            processor_seconds,
            sound_seconds,
        }
    };
    let mut tracker = Tracker::new(44_100.0);
    let start = peers::thread_seconds();
    let words = common::listen_with(&mut tracker, sound, 44_100.0);
    let spent = peers::thread_seconds() - start;
    let mut rows = vec![("guidehand".to_owned(), row(spent, &words))];
    if alone {
        return rows;
    }
    let mut peer = |name: &str, heard: Option<peers::Made>| {
        if let Some((spent, streams)) = heard {
            for (hold, words) in peers::HOLDS.iter().zip(&streams) {
                rows.push((format!("{name}, held {hold}"), row(spent, words)));
            }
        }
    };
    peer("aubio 2048", peers::aubio(wav, 2048));
    peer("aubio 4096", peers::aubio(wav, 4096));
    if let Some(pyin) = pyin {
        peer("pYIN", pyin.hear(wav));
    }
    rows
}

fn print(font: &str, table: &Table, wrong: bool) {
    println!("\nThe {font} sound font; drums at {BLEED_DB} dB.");
    println!(
        "{:36} {:>6} {:>7} {:>7} {:>8} {:>8} {:>8} {:>7}",
        "", "notes", "right %", "octave%", "spurious", "half ms", "95 % ms", "core %"
    );
    for (name, row) in table {
        let s = &row.score;
        println!(
            "{name:36} {:6} {:7.1} {:7.1} {:8.1} {:8.0} {:8.0} {:7.2}",
            s.notes,
            s.right_percent(),
            s.octave_percent(),
            s.spurious_percent(),
            s.delay_ms(0.5),
            s.delay_ms(0.95),
            100.0 * row.processor_seconds / row.sound_seconds,
        );
        if wrong && name.contains("guidehand") && !name.contains("all") && !name.contains("bpm") {
            s.wrong.iter().for_each(|w| println!("    {w}"));
        }
    }
}
