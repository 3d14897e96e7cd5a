//! The result of reading a file: a chart and what was missed, or the error. Imports `kept`,
//! `melodies`, `sheet` and `text`.

use crate::kept::Kept;
use crate::melodies::FoundMelody;
use crate::sheet::{self, Sheet, SheetBar};
use crate::text::{self, Moved};
use guidehand_theory::chart::{self, ChartError, ChartProblem, Roads};
use guidehand_theory::melody::MelodyError;
use guidehand_theory::read::Reason;
use guidehand_theory::symbol::{Sign, Symbol};
use std::collections::BTreeSet;
use std::fmt;

/// The largest file, in bytes, packed or not.
pub const LARGEST_FILE: usize = 16 * 1024 * 1024;
/// The most things that are reported. Further ones are only counted.
pub const MOST_MISSED: usize = 200;

/// A chart that was read from a file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Imported {
    /// The chart in our notation. It can always be read.
    pub text: String,
    /// What could not be read or kept, in the order of the file, at most
    /// [`MOST_MISSED`]. What is left out of the melody comes last.
    pub missed: Vec<Missed>,
    /// The number of further things that could not be read.
    pub missed_more: usize,
    /// What was done with the file that lost nothing, each in one sentence.
    pub remarks: Vec<String>,
    /// The parts of the score that have chords, in the order of the score. Empty for files of
    /// other kinds.
    pub parts: Vec<Part>,
    /// The chords that were read from notes, with the reasons.
    pub heard: Vec<Heard>,
    /// What was picked for the chords, in a page of our own. The text of its chart is the one that
    /// was typed, as long as the page has not been changed; `text` says the same with English names
    /// of the notes.
    pub kept: Option<Kept>,
    /// The melody over the chart, if it was asked for and the file has one.
    pub melody: Option<FoundMelody>,
}

impl Imported {
    /// Reports more that could not be read.
    pub(crate) fn with_misses<T>(&mut self, tell: impl FnOnce(&mut Misses) -> T) -> T {
        let mut misses = Misses {
            told: std::mem::take(&mut self.missed),
            more: self.missed_more,
        };
        let found = tell(&mut misses);
        (self.missed, self.missed_more) = (misses.told, misses.more);
        found
    }
}

/// A part of a score that has chords.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// Its name, by which it can be chosen. No two parts of a file have the same name.
    pub name: String,
    /// How many chord symbols stand over it.
    pub chords: usize,
    /// The semitones from what it writes at its beginning to what sounds.
    pub sounds: i8,
    /// Whether this part was read.
    pub is_taken: bool,
}

/// Something that could not be read or kept, with its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Missed {
    /// The bar, by its number in the file. Empty if the whole file is meant.
    pub bar: String,
    /// What it is, such as an element or an event.
    pub what: String,
    /// Its place in the file, in bytes. In a `.mxl` it is the place in the unpacked score.
    pub at: Option<usize>,
    /// What is wrong with it, and what became of it.
    pub words: String,
}

impl fmt::Display for Missed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.bar.is_empty() {
            write!(f, "bar {}, ", self.bar)?;
        }
        write!(f, "{}: {}", self.what, self.words)
    }
}

/// A chord that was read from notes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heard {
    /// The bar of the file, from 1.
    pub bar: usize,
    /// Ticks from the start of the bar.
    pub at_ticks: u32,
    /// The chord's symbol.
    pub symbol: String,
    /// The confidence, in percent.
    pub confidence: u8,
    /// Why.
    pub reason: Reason,
}

/// Why nothing was read.
#[derive(Clone, Debug, PartialEq)]
pub enum ImportError {
    /// The file is of no known kind, or its text is no chart.
    Unknown,
    /// The file holds too much: bytes, elements, events or bars.
    TooLarge,
    /// The XML is broken at this byte.
    Xml {
        /// The place, in bytes.
        at: usize,
        /// The message of the XML reader.
        words: String,
    },
    /// The MIDI file is broken.
    Midi(String),
    /// The container holds no score.
    Container(String),
    /// Nothing in the file could be a chord.
    NoChords,
    /// No part with chords has this name.
    NoPart {
        /// The name that was asked for.
        name: String,
        /// The names of the parts with chords.
        parts: Vec<String>,
    },
    /// Nothing in the file could be a melody.
    NoMelody,
    /// No line of notes has this name.
    NoLine {
        /// The name that was asked for.
        name: String,
        /// The names of the lines.
        lines: Vec<String>,
    },
    /// The text looks like a melody, but cannot be read.
    Melody(Vec<MelodyError>),
    /// The text looks like a chart, but cannot be read.
    Chart(Vec<ChartError>),
}

impl fmt::Display for ImportError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ImportError::Unknown => f.write_str(
                "expected MusicXML (.musicxml, .xml, .mxl), a MIDI file or a chart as text",
            ),
            ImportError::TooLarge => write!(
                f,
                "the file is larger than a chart can be; expected at most {} MiB and {} bars",
                LARGEST_FILE >> 20,
                chart::MOST_BARS
            ),
            ImportError::Xml { at, words } => {
                write!(f, "the MusicXML is broken at byte {at}: {words}")
            }
            ImportError::Midi(words) => write!(f, "the MIDI file cannot be read: {words}"),
            ImportError::Container(words) => write!(f, "the container cannot be read: {words}"),
            ImportError::NoChords => f.write_str("there are no chords in the file"),
            ImportError::NoPart { name, parts } if parts.is_empty() => {
                write!(
                    f,
                    "there is no part \"{name}\"; the file has no parts to choose from"
                )
            }
            ImportError::NoPart { name, parts } => {
                let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
                let parts = quoted(&parts);
                write!(
                    f,
                    "there is no part \"{name}\" with chords; expected {parts}"
                )
            }
            ImportError::NoMelody => {
                f.write_str("there is no melody in the file; expected notes with pitches")
            }
            ImportError::NoLine { name, lines } => {
                let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
                let lines = quoted(&lines);
                write!(
                    f,
                    "nothing that is named \"{name}\" has notes; expected {lines}"
                )
            }
            ImportError::Melody(errors) => {
                f.write_str("the text is no melody")?;
                errors.iter().take(3).try_for_each(|e| write!(f, "; {e}"))
            }
            ImportError::Chart(errors) => {
                f.write_str("the text is no chart")?;
                errors.iter().take(3).try_for_each(|e| write!(f, "; {e}"))
            }
        }
    }
}

impl std::error::Error for ImportError {}

/// So many names of parts are listed in a sentence. Further ones are only counted.
const MOST_NAMES: usize = 24;

/// The names of parts, as a list within a sentence.
pub(crate) fn quoted(names: &[&str]) -> String {
    let (listed, more) = names.split_at(names.len().min(MOST_NAMES));
    let listed: Vec<String> = listed.iter().map(|name| format!("\"{name}\"")).collect();
    match more.len() {
        0 => listed.join(", "),
        more => format!("{} and {more} more", listed.join(", ")),
    }
}

/// Says what else a file holds than a chart does, if it holds anything else.
pub(crate) fn passed_over(kinds: &BTreeSet<&str>) -> Option<String> {
    let kinds: Vec<&str> = kinds.iter().copied().collect();
    let kinds = (!kinds.is_empty()).then(|| kinds.join(", "))?;
    Some(format!(
        "A chart holds chords and the form; passed over: {kinds}."
    ))
}

/// The largest rounding error of files with a coarse time grid, in ticks.
pub(crate) const HAIR: u32 = 8;

/// Collects what could not be read, up to the bound.
#[derive(Debug, Default)]
pub(crate) struct Misses {
    told: Vec<Missed>,
    more: usize,
}

impl Misses {
    /// Reports one thing.
    pub(crate) fn tell(&mut self, bar: &str, what: &str, at: Option<usize>, words: String) {
        if self.told.len() == MOST_MISSED {
            self.more += 1;
            return;
        }
        self.told.push(Missed {
            bar: bar.to_owned(),
            what: what.to_owned(),
            at,
            words,
        });
    }
}

/// A sheet that was read from a file as text. What the notation cannot hold is added to what was
/// missed. `numbers` are the numbers of the bars in the file.
pub(crate) fn finish(
    mut sheet: Sheet,
    numbers: &[String],
    mut misses: Misses,
    heard: Vec<Heard>,
) -> Result<Imported, ImportError> {
    let errors = chart::parse(&sheet.to_text()).err().unwrap_or_default();
    let too_many = |error: &ChartError| {
        matches!(
            error.problem,
            ChartProblem::TooMany | ChartProblem::TooManyBars
        )
    };
    if errors.iter().any(too_many) {
        return Err(ImportError::TooLarge);
    }
    if !errors.is_empty() {
        let first = numbers.first().map_or("1", String::as_str);
        leave_out_signs(&mut sheet, first, &mut misses);
    }
    let printed = text::print(&sheet);
    let number = |index: usize| numbers.get(index).map_or("", String::as_str);
    for moved in &printed.moved {
        misses.tell(number(moved.bar), "chord", None, told(moved));
    }
    for (index, meter) in &printed.finer {
        let words = format!("it is counted in {meter} to hold a chord between its beats");
        misses.tell(number(*index), "bar", None, words);
    }
    chart::parse(&printed.text).map_err(|errors| {
        let long = printed.text.len() > chart::LONGEST_TEXT;
        if long {
            ImportError::TooLarge
        } else {
            ImportError::Chart(errors)
        }
    })?;
    Ok(Imported {
        text: printed.text,
        missed: misses.told,
        missed_more: misses.more,
        heard,
        ..Imported::default()
    })
}

/// Leaves out signs of the form until the sheet can be read, and reports them. The way that loses
/// the least comes first. The last way always works.
fn leave_out_signs(sheet: &mut Sheet, first: &str, misses: &mut Misses) {
    let kept = sheet.bars.clone();
    for way in [
        &[LETTERS][..],
        &[ROADS],
        &[LETTERS, ROADS],
        &[ROADS, REPEATS],
    ] {
        sheet.bars.clone_from(&kept);
        let mut lost: Vec<&Loss> = Vec::new();
        for loss in way {
            let before = sheet.bars.clone();
            sheet.bars.iter_mut().for_each(loss.lose);
            lost.extend((sheet.bars != before).then_some(loss));
        }
        let is_last = way.iter().any(|loss| loss.what == REPEATS.what);
        if is_last || chart::parse(&sheet.to_text()).is_ok() {
            for loss in lost {
                misses.tell(first, loss.what, None, loss.words.to_owned());
            }
            break;
        }
    }
}

/// Signs that are left out if the sheet cannot be read with them.
#[derive(Clone, Copy)]
struct Loss {
    what: &'static str,
    words: &'static str,
    lose: fn(&mut SheetBar),
}

const LETTERS: Loss = Loss {
    what: "letters",
    words: "they stand inside of repeats and are left out",
    lose: |bar| bar.section = None,
};

const ROADS: Loss = Loss {
    what: "jumps",
    words: "they lead where no chart can follow, and are left out",
    lose: |bar| bar.roads = Roads::default(),
};

const REPEATS: Loss = Loss {
    what: "repeats",
    words: "they are out of order, and each bar is played once",
    lose: |bar| (bar.opens, bar.closes, bar.ending) = (false, false, None),
};

fn told(moved: &Moved) -> String {
    let symbol = match &moved.place.chord {
        Some(chord) => Symbol(chord, Sign::Ascii).to_string(),
        None => "N.C.".to_owned(),
    };
    match moved.to_ticks {
        Some(_) => format!("{symbol} stands between beats and is moved to the nearest one"),
        None => format!("{symbol} finds no free beat and is left out"),
    }
}

/// Moves places that are slightly off to the places that are meant: even shares of the bar, or
/// quarters of a beat.
pub(crate) fn straighten(bar: &mut sheet::SheetBar) {
    let ticks = bar.meter.bar_ticks();
    let count = u32::try_from(bar.places.len()).unwrap_or(u32::MAX).max(1);
    let shares: Vec<u32> = (0..count)
        .map(|nth| ticks.saturating_mul(nth) / count)
        .collect();
    let near = |(place, share): (&sheet::Place, &u32)| place.at_ticks.abs_diff(*share) <= HAIR;
    if bar.places.len() <= chart::MOST_SHARES && bar.places.iter().zip(&shares).all(near) {
        for (place, share) in bar.places.iter_mut().zip(shares) {
            place.at_ticks = share;
        }
        return;
    }
    for place in &mut bar.places {
        let nearest = (place.at_ticks + 120) / 240 * 240;
        if nearest.abs_diff(place.at_ticks) <= HAIR && nearest < ticks {
            place.at_ticks = nearest;
        }
    }
    bar.places.dedup_by_key(|place| place.at_ticks);
}
