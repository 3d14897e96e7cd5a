//! What `comp` reports of a performance, chord by chord: as JSON and as a table. Imports the
//! planned chords, notes, the rows of a melody, text in columns and the theory.

pub use crate::notes::NoteRow;

use crate::planned::PlannedChord;
use crate::sung::{BlockRow, MelodyRow, YieldRow, block_table};
use crate::table::{aligned, beat_cell, widths};
use guidehand_theory::chart::TICKS_PER_QUARTER;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::plan::Voiced;
use guidehand_theory::scale::{self, Suggestion};
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::tension;
use guidehand_theory::voicing::Form;
use serde::Serialize;
use std::fmt;

/// A whole performance.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Report {
    /// The chords in order.
    pub chords: Vec<ChordRow>,
    /// The melody; empty without one.
    pub melody: Vec<MelodyRow>,
    /// The block chords under the melody; empty if none are asked for.
    pub blocks: Vec<BlockRow>,
    /// The note events that came out of the plugin, in order.
    pub events: Vec<EventRow>,
}

impl Report {
    /// The report of chords and of the events that came out.
    #[must_use]
    pub fn new<'a>(
        chords: impl IntoIterator<Item = &'a PlannedChord>,
        events: Vec<EventRow>,
    ) -> Report {
        Report {
            chords: ChordRow::all(chords),
            melody: Vec::new(),
            blocks: Vec::new(),
            events,
        }
    }

    /// The report with a melody over the chords, and with its block chords.
    #[must_use]
    pub fn under(self, melody: Vec<MelodyRow>, blocks: Vec<BlockRow>) -> Report {
        Report {
            melody,
            blocks,
            ..self
        }
    }
}

/// One chord, or silence.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChordRow {
    /// The bar as played, from 1; 0 is a pickup.
    pub bar: u32,
    /// The beat in the bar, from 1, with its fraction.
    pub beat: f64,
    /// The symbol as written, or the root as played.
    pub symbol: String,
    /// The symbol of what sounds, in ASCII; `N.C.` for silence.
    pub sounding: String,
    /// The root's name; none for silence.
    pub root: Option<String>,
    /// `A`, `B`, `fourths`, `on the fifth` or `on the ninth`, or `as played` for an own voicing that is
    /// none of them; none for silence. A letter names a whole cadence: a dominant takes it with the other slot lowest.
    pub form: Option<String>,
    /// The slot that is lowest in close position: `third`, `seventh`, `fifth` or
    /// `ninth`; none in fourths, as played and for silence.
    pub lowest: Option<&'static str>,
    /// The notes, from the lowest.
    pub notes: Vec<NoteRow>,
    /// The degrees among them that are tensions or altered fifths.
    pub tensions: Vec<&'static str>,
    /// The scales to play on it; the first one is the suggestion.
    pub scales: Vec<ScaleRow>,
    /// The scale that the player has chosen; none if the suggestion stands.
    pub chosen_scale: Option<ScaleRow>,
    /// Whether the player has pinned the voicing.
    pub pinned: bool,
    /// The notes of the melody that sound over it, spelled with their octaves.
    pub melody: Vec<String>,
    /// What yields to the melody, and what stands against it.
    pub yields: Vec<YieldRow>,
    /// Semitones by which its highest note is too high to lie below the melody, where it should lie
    /// there; 0 if it does.
    pub too_high: u8,
    /// Semitones moved since the chord before; none for the first.
    pub motion: Option<u32>,
    /// The key in force; none for silence.
    pub key: Option<String>,
    /// The chord's part in the key; none for silence.
    pub function: Option<String>,
    /// Why these tensions; none for silence.
    pub why: Option<String>,
}

/// One scale.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ScaleRow {
    /// The scale's name.
    pub name: &'static str,
    /// Other names by which players know it.
    pub also: &'static [&'static str],
    /// Its root: the chord's for most, the tonic of the key for the blues scale.
    pub root: String,
    /// Its notes from the root, spelled by degree.
    pub notes: Vec<String>,
    /// The same notes, each by its everyday name: `C` for `B#`.
    pub everyday: Vec<String>,
    /// The steps between them: H a half step, W a whole one, W+H three half steps.
    pub steps: String,
    /// Those of them to pass over.
    pub avoid: Vec<String>,
    /// Whether it leaves out notes of the chord, as pentatonics and the blues scale do.
    pub partial: bool,
    /// Why it is suggested.
    pub why: String,
}

impl ScaleRow {
    pub(crate) fn new(suggestion: &Suggestion) -> ScaleRow {
        let steps: Vec<&str> = suggestion.scale.steps().collect();
        ScaleRow {
            name: suggestion.scale.name,
            also: suggestion.scale.also,
            root: suggestion.root.to_string(),
            notes: suggestion.notes().map(|n| n.to_string()).collect(),
            everyday: suggestion
                .notes()
                .map(|n| scale::everyday(n).unwrap_or(n).to_string())
                .collect(),
            steps: steps.join(" "),
            avoid: suggestion.avoid_notes().map(|n| n.to_string()).collect(),
            partial: suggestion.partial,
            why: suggestion.reason.to_string(),
        }
    }
}

/// One note event.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EventRow {
    /// Quarter notes from the start, on a grid of 960 to the quarter.
    pub beat: f64,
    /// `on` or `off`.
    #[serde(rename = "type")]
    pub kind: &'static str,
    /// The MIDI channel, 1 to 16.
    pub channel: i16,
    /// The MIDI note.
    pub midi: i16,
    /// 0 to 1.
    pub velocity: f64,
}

impl EventRow {
    /// A key that is struck: its place in quarter notes, its channel from 0, its
    /// MIDI note, its velocity from 0 to 1.
    #[must_use]
    pub fn note_on(beats: f64, channel: i16, midi: i16, velocity: f64) -> EventRow {
        EventRow::new("on", beats, channel, midi, velocity)
    }

    /// A key that is released, told in the same way.
    #[must_use]
    pub fn note_off(beats: f64, channel: i16, midi: i16, velocity: f64) -> EventRow {
        EventRow::new("off", beats, channel, midi, velocity)
    }

    fn new(kind: &'static str, beats: f64, channel: i16, midi: i16, velocity: f64) -> EventRow {
        let grid = f64::from(TICKS_PER_QUARTER);
        EventRow {
            beat: (beats * grid).round() / grid,
            kind,
            channel: channel + 1,
            midi,
            velocity,
        }
    }
}

impl ChordRow {
    /// The rows of chords that follow each other.
    fn all<'a>(chords: impl IntoIterator<Item = &'a PlannedChord>) -> Vec<ChordRow> {
        let mut before: Option<Voiced> = None;
        let row = |planned: &PlannedChord| {
            let motion = planned.chord.and_then(|(_, now)| {
                let last = before.replace(now)?;
                Some(last.voicing.motion(&now.voicing))
            });
            let chord = planned.chord.as_ref();
            let row = ChordRow::new(planned.bar, planned.beat, &planned.symbol, chord, motion);
            row.picked(planned)
        };
        chords.into_iter().map(row).collect()
    }

    /// A row for a chord, or for silence where there is none.
    #[must_use]
    pub fn new(
        bar: u32,
        beat: f64,
        symbol: &str,
        chord: Option<&(ChordInKey, Voiced)>,
        motion: Option<u32>,
    ) -> ChordRow {
        let silence = ChordRow {
            bar,
            beat,
            symbol: symbol.to_owned(),
            sounding: "N.C.".to_owned(),
            root: None,
            form: None,
            lowest: None,
            notes: Vec::new(),
            tensions: Vec::new(),
            scales: Vec::new(),
            chosen_scale: None,
            pinned: false,
            melody: Vec::new(),
            yields: Vec::new(),
            too_high: 0,
            motion,
            key: None,
            function: None,
            why: None,
        };
        let Some((placed, voiced)) = chord else {
            return silence;
        };
        let root = placed.chord.root;
        let voicing = &voiced.voicing;
        let scales = placed.scales(voicing);
        ChordRow {
            sounding: Symbol(&placed.sounding(voicing), Sign::Ascii).to_string(),
            root: Some(root.to_string()),
            form: Some(Form::of(voicing.position, placed.chord.quality).to_string()),
            lowest: voicing.position.lowest(),
            notes: NoteRow::all(voicing, root),
            tensions: tension::of(voicing.degrees())
                .iter()
                .map(|d| d.name())
                .collect(),
            scales: scales.iter().map(ScaleRow::new).collect(),
            key: Some(placed.function.key.to_string()),
            function: Some(placed.function.to_string()),
            why: Some(voiced.tensions.reason.to_string()),
            ..silence
        }
    }
}

impl ChordRow {
    /// The row with what was picked for the chord.
    fn picked(self, planned: &PlannedChord) -> ChordRow {
        let chosen = planned.chord.zip(planned.scale.as_ref());
        let chosen_scale = chosen.and_then(|((placed, voiced), scale)| {
            let suggestions = placed.scales(&voiced.voicing);
            scale.among(&suggestions, &placed.chord).map(ScaleRow::new)
        });
        ChordRow {
            chosen_scale,
            pinned: planned.pinned,
            melody: planned.melody.iter().map(ToString::to_string).collect(),
            yields: planned.yields.iter().map(YieldRow::new).collect(),
            too_high: planned.too_high,
            ..self
        }
    }
}

impl fmt::Display for Report {
    /// A table: bar, beat, symbols, notes with degrees, form, motion, scale. With a melody there are
    /// its notes too, and what yields to them, and after a line the block chords.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let heads = [
            "bar", "beat", "chord", "sounds", "notes", "form", "moves", "scale", "melody", "yields",
        ];
        let mut rows = vec![heads.map(str::to_owned)];
        rows.extend(self.chords.iter().map(ChordRow::cells));
        if self.melody.is_empty() {
            let [.., melody, yields] = &mut rows[0];
            (*melody, *yields) = (String::new(), String::new());
        }
        let widths = widths(&rows);
        rows.insert(1, widths.map(|width| "-".repeat(width)));
        for row in &mut rows {
            for index in NUMBERS {
                let width = widths[index];
                row[index] = format!("{:>width$}", row[index]);
            }
        }
        f.write_str(&aligned(&rows))?;
        if self.blocks.is_empty() {
            return Ok(());
        }
        write!(f, "\n{}", block_table(&self.blocks))
    }
}

/// The columns of the table that hold numbers, which stand to the right.
const NUMBERS: [usize; 3] = [0, 1, 6];

impl ChordRow {
    fn cells(&self) -> [String; 10] {
        let notes: Vec<String> = self
            .notes
            .iter()
            .map(|n| format!("{:<7}", format!("{}:{}", n.name, n.degree)))
            .collect();
        let words = |scale: &ScaleRow| format!("{} {}", scale.root, scale.name);
        let chosen = self.chosen_scale.as_ref().map(words);
        let chosen = chosen.map(|words| format!("{words} (chosen)"));
        let scale = chosen.or_else(|| self.scales.first().map(words));
        let mut told: Vec<&str> = self.yields.iter().map(|y| y.words.as_str()).collect();
        let too_high = format!("{} half steps above the melody", self.too_high);
        told.extend((self.too_high > 0).then_some(too_high.as_str()));
        [
            self.bar.to_string(),
            beat_cell(self.beat),
            self.symbol.clone(),
            self.sounding.clone(),
            notes.join(" ").trim_end().to_owned(),
            self.form.clone().unwrap_or_default(),
            self.motion.map_or_else(String::new, |m| m.to_string()),
            scale.unwrap_or_default(),
            self.melody.join(" "),
            told.join("; "),
        ]
    }
}
