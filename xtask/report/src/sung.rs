//! What `comp` reports of a melody: its notes, what yields to it, and the block chords under it.
//! Imports the request, the planned chords, notes, text in columns and the theory.

use crate::notes::NoteRow;
use crate::planned::PlannedChord;
use crate::request::Request;
use crate::table::{aligned, beat_cell, widths};
use guidehand_theory::chart::{Chart, TICKS_PER_QUARTER};
use guidehand_theory::melody::{Melody, MelodyNote};
use guidehand_theory::tension::{Outcome, Yield};
use guidehand_theory::under::{self, Harmony, Line, Style, TimedBlock};
use serde::Serialize;

/// A note of the melody.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MelodyRow {
    /// The bar as played, from 1; 0 is a pickup.
    pub bar: u32,
    /// The beat in the bar, from 1, with its fraction.
    pub beat: f64,
    /// Its length in quarter notes.
    pub quarters: f64,
    /// The MIDI note.
    pub midi: u8,
    /// The name with its octave.
    pub name: String,
}

/// Something that yields to the melody, or stands against it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct YieldRow {
    /// The degree.
    pub degree: &'static str,
    /// The degree that sounds in its place; none if it is left out, or stands.
    pub to: Option<&'static str>,
    /// Whether it stands against the melody, because nothing else is possible.
    pub stands: bool,
    /// The note of the melody, spelled by its degree over the chord.
    pub melody: String,
    /// All of it in one line.
    pub words: String,
}

impl YieldRow {
    pub(crate) fn new(told: &Yield) -> YieldRow {
        YieldRow {
            degree: told.degree.name(),
            to: match told.outcome {
                Outcome::To(degree) | Outcome::WrittenLeftOut(Some(degree)) => Some(degree.name()),
                Outcome::WrittenLeftOut(None) | Outcome::LeftOut | Outcome::Stands => None,
            },
            stands: told.outcome == Outcome::Stands,
            melody: told.melody.to_string(),
            words: told.to_string(),
        }
    }
}

/// A block chord under a note of the melody.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BlockRow {
    /// The bar as played, from 1; 0 is a pickup.
    pub bar: u32,
    /// The beat in the bar, from 1, with its fraction.
    pub beat: f64,
    /// Its length in quarter notes.
    pub quarters: f64,
    /// The root that the degrees count from; none where no chord is known.
    pub root: Option<String>,
    /// The notes, from the lowest. The highest one is the melody.
    pub notes: Vec<NoteRow>,
    /// The style in which they lie.
    pub style: &'static str,
    /// Which rule chose the notes.
    pub why: String,
    /// What else stands in the place of a chord tone: `9 for 1`.
    pub instead: Vec<String>,
    /// What becomes of a block whose melody lies low.
    pub low: Vec<String>,
}

impl BlockRow {
    /// The row of a block; `note` is the melody on top.
    fn new(timed: &TimedBlock, note: &MelodyNote, chart: &Chart) -> BlockRow {
        let block = &timed.block;
        let (bar, beat) = chart.bar_and_beat(timed.start_ticks);
        let mut notes = NoteRow::all(&block.voicing, block.root.unwrap_or_default());
        if let Some(top) = notes.last_mut() {
            top.name = note.spelled().to_string();
        }
        BlockRow {
            bar,
            beat,
            quarters: quarters(timed.length_ticks),
            root: block.root.map(|root| root.to_string()),
            notes,
            style: block.style.name(),
            why: block.rule.to_string(),
            instead: block.instead.iter().map(ToString::to_string).collect(),
            low: block.low().map(|low| low.to_string()).collect(),
        }
    }

    fn cells(&self) -> [String; 4] {
        let notes: Vec<String> = self
            .notes
            .iter()
            .map(|n| format!("{:<7}", format!("{}:{}", n.name, n.degree)))
            .collect();
        let why = [&self.why].into_iter().chain(&self.instead);
        let why: Vec<&str> = why.chain(&self.low).map(String::as_str).collect();
        [
            self.bar.to_string(),
            beat_cell(self.beat),
            notes.join(" ").trim_end().to_owned(),
            why.join("; "),
        ]
    }
}

fn quarters(ticks: u32) -> f64 {
    f64::from(ticks) / f64::from(TICKS_PER_QUARTER)
}

/// The rows of a melody whose notes have names.
#[must_use]
pub fn rows(melody: &Melody, chart: &Chart) -> Vec<MelodyRow> {
    let notes = melody.notes().iter();
    notes
        .map(|note| {
            let (bar, beat) = chart.bar_and_beat(note.start_ticks);
            MelodyRow {
                bar,
                beat,
                quarters: quarters(note.length_ticks),
                midi: note.note.number(),
                name: note.spelled().to_string(),
            }
        })
        .collect()
}

/// The block chords that are asked for, under the melody of the request. `chords` are those of the
/// chart, whose tensions they have.
#[must_use]
pub fn blocks(request: &Request, chart: &Chart, chords: &[PlannedChord]) -> Vec<TimedBlock> {
    let (Some(style), Some(melody)) = (request.blocks, &request.melody) else {
        return Vec::new();
    };
    let harmonies = chords.iter().map(|planned| {
        planned.chord.map(|(placed, voiced)| Harmony {
            placed,
            tensions: Some(voiced.tensions),
        })
    });
    let line = Line {
        melody,
        chart,
        harmonies: &harmonies.collect::<Vec<_>>(),
        single_under_ticks: request.single_under_ticks(),
    };
    let taste = under::Taste {
        style,
        requests: request.requests,
        ..under::Taste::default()
    };
    under::plan(&taste, &line)
}

/// The rows of block chords under a melody.
#[must_use]
pub fn block_rows(blocks: &[TimedBlock], melody: &Melody, chart: &Chart) -> Vec<BlockRow> {
    let rows = blocks.iter().filter_map(|timed| {
        let note = melody.notes().get(timed.note)?;
        Some(BlockRow::new(timed, note, chart))
    });
    rows.collect()
}

/// The block chords as a table: bar, beat, notes with degrees, and why.
pub(crate) fn block_table(blocks: &[BlockRow]) -> String {
    let mut rows = vec![["bar", "beat", "block chord", "why"].map(str::to_owned)];
    rows.extend(blocks.iter().map(BlockRow::cells));
    let widths = widths(&rows);
    rows.insert(1, widths.map(|width| "-".repeat(width)));
    for row in &mut rows {
        let [bar, beat, ..] = row;
        *bar = format!("{bar:>width$}", width = widths[0]);
        *beat = format!("{beat:>width$}", width = widths[1]);
    }
    aligned(&rows)
}

/// The style of block chords of this name.
#[must_use]
pub fn style(text: &str) -> Option<Style> {
    let plain = text.replace(['-', '_', ' '], "").to_lowercase();
    match plain.as_str() {
        "close" | "fourwayclose" => Some(Style::FourWayClose),
        "drop2" => Some(Style::DropTwo),
        "doublelead" => Some(Style::DoubleLead),
        _ => None,
    }
}
