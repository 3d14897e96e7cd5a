//! What long pages cost: charts of 2,000 and of 20,000 bars to MusicXML and to MIDI files, and back.
//! The ratio is that of the times for one bar; it is 1.0 where the time grows as the chart does.
//! Words on the command line choose the rows that hold one of them.

use guidehand_exchange::musicxml::{self, Form, Page, Staves, Words};
use guidehand_exchange::score::Score;
use guidehand_exchange::{import, midi};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::shape::Texture;
use std::hint::black_box;
use std::time::{Duration, Instant};

/// The lengths of the charts, in bars.
const SIZES: [usize; 2] = [2_000, 20_000];
/// How often each row is measured. The fastest run counts, as other work only slows it down.
const RUNS: usize = 5;

/// Cadences, so that no bar is like the one before. A chart holds no more than 20,000 chords.
const BARS: [&str; 5] = ["Dm7", "G7", "Cmaj7", "Em7b5", "A7(b9)"];

/// A name, and what is done with a score and with its two files.
type Row = (&'static str, fn(&Score, &str, &[u8]));

const ROWS: [Row; 5] = [
    ("MusicXML out", |score, _, _| {
        black_box(musicxml::write(score, page(Form::Written)));
    }),
    ("MusicXML out, as played", |score, _, _| {
        black_box(musicxml::write(score, page(Form::AsPlayed)));
    }),
    ("MusicXML in", |_, file, _| {
        black_box(import::import(file.as_bytes())).expect("the page reads");
    }),
    ("MIDI out", |score, _, _| {
        black_box(midi::write(score));
    }),
    ("MIDI in", |_, _, file| {
        black_box(import::import(file)).expect("the file reads");
    }),
];

fn page(form: Form) -> Page {
    Page {
        form,
        bass: true,
        words: Words::FORMS,
        ..Page::default()
    }
}

fn main() {
    // Cargo hands `--bench` on to every benchmark.
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with("--"))
        .collect();
    let [short, long] = SIZES.map(|bars| {
        let score = score(bars);
        // A page of so many bars with its notes is larger than a file that is read.
        let symbols = Page {
            staves: Staves::Symbols,
            ..Page::default()
        };
        let file = musicxml::write(&score, symbols);
        let notes = midi::write(&score);
        (score, file, notes)
    });
    println!("                          2,000 bars  20,000 bars  ratio of one bar");
    for (name, done) in ROWS {
        if !words.is_empty() && !words.iter().any(|word| name.contains(word.as_str())) {
            continue;
        }
        let [short, long] = [&short, &long]
            .map(|(score, file, notes)| fastest(|| done(score, file, notes)).as_secs_f64());
        let ratio = long / short * bars(SIZES[0]) / bars(SIZES[1]);
        let (short, long) = (short * 1e3, long * 1e3);
        println!("{name:24}  {short:7.1} ms   {long:7.1} ms  {ratio:16.2}");
    }
}

fn bars(count: usize) -> f64 {
    f64::from(u32::try_from(count).expect("a chart is not so long"))
}

fn score(bars: usize) -> Score {
    let text = BARS.iter().cycle().take(bars);
    let text = text.fold("|".to_owned(), |text, bar| text + bar + "|");
    let chart = chart::parse(&text).expect("the chart reads");
    Score::planned(chart, 120.0, None, Texture::FourNotes, Register::DEFAULT)
}

fn fastest(mut run: impl FnMut()) -> Duration {
    let times = (0..RUNS).map(|_| {
        let start = Instant::now();
        run();
        start.elapsed()
    });
    times.min().unwrap_or_default()
}
