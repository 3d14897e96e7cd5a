//! Fits the model's weights, and prints them as `src/weights.rs`: multinomial logistic regression
//! over hops of lines through General MIDI sound fonts and the project's own strings, dry and with
//! drums. No test and no other benchmark uses these seeds. `--without N` leaves out a General MIDI
//! program, which shows how the ear hears a sound that was not fitted.

#[path = "../../tests/common/mod.rs"]
mod common;
mod regression;
#[path = "../peers/render.rs"]
mod render;

use common::lines::{self, BassLine, Compass, Feel};
use common::pluck::{self, Voice};
use fastrand::Rng;
use guidehand_bass::fitting::{self, AGE_BOUNDS_MS, AGES, FIRST_NOTE};
use regression::{Examples, NONE};
use std::path::{Path, PathBuf};

const FONTS: [&str; 2] = [
    "/usr/share/sounds/sf2/TimGM6mb.sf2",
    "/usr/share/sounds/sf2/FluidR3_GM.sf2",
];
/// General MIDI programs, from 0: acoustic, fingered, picked and fretless basses.
const PROGRAMS: [u8; 4] = [32, 33, 34, 35];
const TEMPOS: [f64; 5] = [80.0, 120.0, 160.0, 200.0, 240.0];
const FIRST_SEED: u64 = 500_000;
/// Voices of the project's own strings, drawn at random.
const VOICES: u64 = 30;
const RATE_HZ: f32 = 44_100.0;
/// The earliest and the latest time of an example after an onset, if the note lasts that long.
const SOONEST_MS: f32 = 20.0;
const LATEST_MS: f32 = 500.0;
/// The time after its onset from which a note is no longer young.
const SETTLED_SECONDS: f64 = 0.07;
/// The examples of each age from one note, and from each drum stroke during it.
const EXAMPLES: usize = 2;
/// The largest error of the tuning that the model is given, in cents.
const MISTUNED_CENTS: f32 = 12.0;

/// The number of examples of each age.
type Ages = [Examples; AGES];

fn main() {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("fit");
    std::fs::create_dir_all(&folder).expect("a folder under target");
    let mut rng = Rng::with_seed(1);
    let mut ages = Ages::default();
    let without = std::env::args().skip_while(|a| a != "--without").nth(1);
    let without = without.map(|n| n.parse().expect("a program's number"));
    let programs = PROGRAMS.iter().filter(|p| Some(**p) != without);
    for program in programs {
        sampled(&mut ages, &mut rng, &folder, *program);
    }
    own(&mut ages, &mut rng);
    without_bass(&mut ages, &mut rng);
    println!(
        "//! The model's weights, as `cargo bench -p guidehand-bass --bench fit` writes them."
    );
    println!("//! Imports nothing of the crate.\n");
    println!("/// For each age, a weight for each term of a score.");
    println!("#[rustfmt::skip]");
    println!(
        "#[allow(clippy::approx_constant, reason = \"fitted numbers come near constants by chance\")]"
    );
    let terms = regression::TERMS;
    println!("pub(crate) const WEIGHTS: [[f32; {terms}]; {AGES}] = [");
    for age in &ages {
        eprintln!("{} examples", age.len());
        println!("    [");
        for row in regression::fit(age).chunks(8) {
            let row: Vec<String> = row.iter().map(|w| format!("{w:.3}")).collect();
            println!("        {},", row.join(", "));
        }
        println!("    ],");
    }
    println!("];");
}

/// Lines on a program of the sound fonts.
fn sampled(ages: &mut Ages, rng: &mut Rng, folder: &Path, program: u8) {
    for font in FONTS {
        for (tempo, tempo_bpm) in (1_u64..).zip(TEMPOS) {
            let seed = FIRST_SEED + 100 * u64::from(program) + 10 * tempo;
            for line in lines_of(seed, tempo_bpm) {
                let bass = render::bass(&line, program, folder, font);
                let drums = render::drums(&line, seed, folder, font);
                let starts = render::starts(&line, program, folder, font);
                add(ages, &line, &starts, &bass, rng);
                let bled = common::mix(&bass, &drums, bleed_db(rng));
                add(ages, &line, &starts, &bled, rng);
            }
        }
    }
}

/// Lines on the project's own strings, no two alike.
fn own(ages: &mut Ages, rng: &mut Rng) {
    for seed in 0..VOICES {
        let mut between = |low: f64, high: f64| low + (high - low) * rng.f64();
        let voice = Voice {
            plucked_at: between(0.1, 0.35),
            dulling: between(0.6, 3.0),
            dying: between(0.5, 1.5),
            thump: between(-1.0, 1.5).max(0.0),
            stiffness: between(2e-5, 1e-4),
            slope: between(-1.3, -0.4),
        };
        let tempo_bpm = between(80.0, 240.0);
        let rate_hz = f64::from(RATE_HZ);
        for line in lines_of(FIRST_SEED + 10_000 + 10 * seed, tempo_bpm) {
            let bass = pluck::play(&line, voice, rate_hz, 440.0);
            let air = match seed % 3 {
                0 => pluck::drums(&line, bass.len(), rate_hz),
                1 => pluck::noise(seed, bass.len()),
                _ => pluck::hum(bass.len(), rate_hz),
            };
            let starts = line.notes.iter().map(|n| line.seconds(n.start_beats));
            let starts: Vec<f64> = starts.collect();
            add(ages, &line, &starts, &bass, rng);
            let bled = common::mix(&bass, &air, bleed_db(rng));
            add(ages, &line, &starts, &bled, rng);
        }
    }
}

/// Sounds without a bass: drums and noise alone.
fn without_bass(ages: &mut Ages, rng: &mut Rng) {
    let line = BassLine::new(FIRST_SEED, Feel::Walking, lines::FOUR_STRINGS, 140.0, 24);
    let count = 44_100 * 40;
    let airs = [
        pluck::drums(&line, count, f64::from(RATE_HZ)),
        pluck::noise(FIRST_SEED, count),
    ];
    for sound in airs {
        let mut times: Vec<usize> = (0..500).map(|_| rng.usize(6000..count - 6000)).collect();
        times.sort_unstable();
        for examples in ages.iter_mut() {
            for levels in fitting::levels(&sound, RATE_HZ, &times, 0.0) {
                examples.push(levels, NONE);
            }
        }
    }
}

/// Adds examples from all notes of a line, whose sounds begin at `starts`, in seconds.
fn add(ages: &mut Ages, line: &BassLine, starts: &[f64], sound: &[f32], rng: &mut Rng) {
    let shift_cents = MISTUNED_CENTS * (2.0 * rng.f32() - 1.0);
    let from = [SOONEST_MS].into_iter().chain(AGE_BOUNDS_MS);
    let to = AGE_BOUNDS_MS.into_iter().chain([LATEST_MS]);
    for ((examples, from_ms), to_ms) in ages.iter_mut().zip(from).zip(to) {
        let (from_ms, to_ms) = (f64::from(from_ms), f64::from(to_ms));
        let mut due: Vec<(usize, u8)> = Vec::new();
        for (note, start) in line.notes.iter().zip(starts) {
            let end = line.seconds(note.end_beats);
            let mut at = |onset: f64| {
                let last_ms = to_ms.min(1000.0 * (end - onset));
                let ms = from_ms + (last_ms - from_ms) * rng.f64();
                due.push((samples(onset + ms / 1000.0), note.number));
            };
            (0..EXAMPLES).for_each(|_| at(*start));
            // A stroke during the note makes the note look young.
            let struck = hits(line).filter(|hit| *hit > start + SETTLED_SECONDS);
            for hit in struck.take_while(|hit| hit + from_ms / 1000.0 < end) {
                (0..EXAMPLES).for_each(|_| at(hit));
            }
        }
        due.sort_unstable();
        let times: Vec<usize> = due.iter().map(|d| d.0).collect();
        let all = fitting::levels(sound, RATE_HZ, &times, shift_cents);
        for (levels, (_, number)) in all.into_iter().zip(due) {
            examples.push(levels, usize::from(number - FIRST_NOTE));
        }
    }
}

/// The seconds at which a drum may strike: beats and the swung halves between them.
fn hits(line: &BassLine) -> impl Iterator<Item = f64> {
    let beats = u32::try_from(4 * line.chart.len()).expect("a short chart");
    let of_beat = move |beat: u32| [0.0, 2.0 / 3.0].map(|part| f64::from(beat) + part);
    (0..beats)
        .flat_map(of_beat)
        .map(|beats| line.seconds(beats))
}

/// As in the benchmark with the peers, most lines lie in the range of a four-string bass.
fn lines_of(seed: u64, tempo_bpm: f64) -> Vec<BassLine> {
    let line =
        |n, feel, compass: Compass, bars| BassLine::new(seed + n, feel, compass, tempo_bpm, bars);
    vec![
        line(1, Feel::Walking, lines::FOUR_STRINGS, 4),
        line(2, Feel::Two, lines::FIVE_STRINGS, 3),
        line(3, Feel::Walking, lines::FIVE_STRINGS, 2),
        line(4, Feel::Walking, lines::HIGH, 2),
    ]
}

fn bleed_db(rng: &mut Rng) -> f64 {
    -20.0 + 12.0 * rng.f64()
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "minutes of samples"
)]
fn samples(seconds: f64) -> usize {
    (seconds * f64::from(RATE_HZ)) as usize
}
