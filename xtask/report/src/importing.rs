//! What `import` reports of a file: the chart, and what was done and missed on the way, as JSON.
//! Imports the exchange.

use guidehand_exchange::import::Imported;
use guidehand_theory::chart::{self, TICKS_PER_QUARTER};
use serde::Serialize;
use std::num::NonZeroU16;

/// A chart that was read from a file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ImportReport {
    /// The chart in our notation.
    pub chart: String,
    /// The name of the part that was read; none where a file has no parts.
    pub part: Option<String>,
    /// The parts with chords, in the order of the score.
    pub parts: Vec<PartRow>,
    /// What was done with the file that lost nothing, each in one sentence.
    pub remarks: Vec<String>,
    /// What could not be read or kept, in the order of the file.
    pub missed: Vec<MissedRow>,
    /// The number of further things that could not be read.
    pub missed_more: usize,
    /// The chords that were read from notes.
    pub heard: Vec<HeardRow>,
    /// The voicings that are pinned to chords of the chart, in a page of our own.
    pub pins: Vec<PinRow>,
    /// The scales that are chosen for chords of the chart, in a page of our own.
    pub scales: Vec<ChosenRow>,
    /// The melody as text over the chart; none if it was not asked for, or if there is none.
    pub melody: Option<String>,
    /// The lines of notes that could be the melody, in the order of the file.
    pub lines: Vec<LineRow>,
}

/// A line of notes: a staff of a part, or a track.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LineRow {
    /// Its name, for `--melody-part`.
    pub name: String,
    /// How many notes it has.
    pub notes: usize,
    /// Whether it is the melody.
    pub taken: bool,
}

/// A voicing that is pinned to a chord.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PinRow {
    /// The chord as it is written, from 1.
    pub chord: usize,
    /// Its symbol.
    pub symbol: String,
    /// The time that it is played, from 1; none if the pin holds every time.
    pub pass: Option<u16>,
    /// The MIDI notes, from the lowest.
    pub midi: Vec<u8>,
}

/// A scale that is chosen for a chord.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ChosenRow {
    /// The chord as it is written, from 1.
    pub chord: usize,
    /// Its symbol.
    pub symbol: String,
    /// The scale's name.
    pub name: String,
    /// Half steps from the root of the chord up to that of the scale.
    pub above: u8,
}

/// A part with chords.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PartRow {
    /// Its name, for `--part`.
    pub name: String,
    /// How many chord symbols it has.
    pub chords: usize,
    /// Half steps from what it writes to what sounds.
    pub sounds: i8,
}

/// Something that could not be read or kept.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MissedRow {
    /// The bar, by its number in the file.
    pub bar: String,
    /// What it is, such as an element or an event.
    pub what: String,
    /// Its place in the file, in bytes, where it has one.
    pub byte: Option<usize>,
    /// What is wrong with it, and what became of it.
    pub words: String,
}

/// A chord that was read from notes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeardRow {
    /// The bar of the file, from 1.
    pub bar: usize,
    /// Quarter notes from the start of the bar.
    pub quarters: f64,
    /// The chord's symbol.
    pub symbol: String,
    /// In percent.
    pub confidence: u8,
    /// Why, in one line.
    pub why: String,
}

impl ImportReport {
    /// The report of a file that was read.
    #[must_use]
    pub fn new(imported: &Imported) -> ImportReport {
        let taken = imported.parts.iter().find(|part| part.is_taken);
        let parts = imported.parts.iter().map(|part| PartRow {
            name: part.name.clone(),
            chords: part.chords,
            sounds: part.sounds,
        });
        let missed = imported.missed.iter().map(|missed| MissedRow {
            bar: missed.bar.clone(),
            what: missed.what.clone(),
            byte: missed.at,
            words: missed.words.clone(),
        });
        let heard = imported.heard.iter().map(|heard| HeardRow {
            bar: heard.bar,
            quarters: f64::from(heard.at_ticks) / f64::from(TICKS_PER_QUARTER),
            symbol: heard.symbol.clone(),
            confidence: heard.confidence,
            why: heard.reason.to_string(),
        });
        let kept = imported.kept.as_ref();
        let pins = kept.map_or(&[][..], |kept| &kept.pins).iter();
        let pins = pins.map(|pin| PinRow {
            chord: pin.chord + 1,
            symbol: pin.symbol.clone(),
            pass: pin.pass.map(NonZeroU16::get),
            midi: pin.notes.clone(),
        });
        let scales = kept.map_or(&[][..], |kept| &kept.scales).iter();
        let scales = scales.map(|scale| ChosenRow {
            chord: scale.chord + 1,
            symbol: scale.symbol.clone(),
            name: scale.scale.clone(),
            above: scale.above,
        });
        let lines = imported.melody.iter().flat_map(|found| &found.lines);
        let lines = lines.map(|line| LineRow {
            name: line.name.clone(),
            notes: line.notes,
            taken: line.is_taken,
        });
        ImportReport {
            melody: melody(imported),
            lines: lines.collect(),
            chart: imported.text.clone(),
            part: taken.map(|part| part.name.clone()),
            parts: parts.collect(),
            remarks: imported.remarks.clone(),
            missed: missed.collect(),
            missed_more: imported.missed_more,
            heard: heard.collect(),
            pins: pins.collect(),
            scales: scales.collect(),
        }
    }
}

/// The melody of a file as text over the chart.
#[must_use]
pub fn melody(imported: &Imported) -> Option<String> {
    let found = imported.melody.as_ref()?;
    let chart = chart::parse(&imported.text).ok()?;
    Some(found.melody.text(&chart))
}
