//! Charts: from text to bars of chords, in the order in which they are played.
//! Imports `chord` and `symbol`.
//!
//! The text is cut into words (`words`, and `signs` for those of the road), read
//! into bars as written and the signs between them (`read`), put into the order of
//! playing (`unfold`, with `roads` for D.C. and D.S.), and played: each bar gets its
//! ticks and its changes (`play`). `division` says how chords share a bar, and `marks`
//! holds what stands around it.

mod division;
mod error;
mod marks;
mod play;
mod read;
mod rewrite;
mod roads;
mod signs;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_of_roads;
mod unfold;
mod words;

pub use error::{ChartError, ChartProblem};
pub use marks::{Jump, Road, Roads, Section, SectionName, Start, Until};
pub use rewrite::{renamed, rewrite};

use crate::chord::Chord;
use crate::pitch::NoteNames;
use std::fmt;
use std::ops::Range;

/// Ticks in a quarter note: every division of a beat that charts can hold is a
/// whole number of them, or is rounded down to one.
pub const TICKS_PER_QUARTER: u32 = 960;

/// The longest chart text, in bytes.
pub const LONGEST_TEXT: usize = 256 * 1024;

/// The most changes in a chart as played; `%` and repeats make many out of
/// little text.
pub const MOST_CHANGES: usize = 20_000;

/// The most bars in a chart as played.
pub const MOST_BARS: usize = 20_000;

/// The most endings of a repeat.
pub const MOST_ENDINGS: u8 = 9;

/// The most times that a repeat is played.
pub const MOST_TIMES: u8 = 99;

/// The most D.C. and D.S. in a chart.
pub const MOST_JUMPS: usize = 9;

// The longest bars, as many as there may be, are counted in a `u32`.
const _: () = {
    let longest = Meter { beats: 16, unit: 2 };
    assert!(longest.bar_ticks() as u64 * MOST_BARS as u64 <= u32::MAX as u64);
};

/// A time signature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meter {
    /// Beats in a bar, 1 to 16.
    pub beats: u8,
    /// The note value of a beat: 2, 4, 8 or 16.
    pub unit: u8,
}

impl Meter {
    /// 4/4
    pub const COMMON: Meter = Meter { beats: 4, unit: 4 };

    /// A time signature, if the numbers are in range.
    #[must_use]
    pub const fn new(beats: u8, unit: u8) -> Option<Meter> {
        if beats >= 1 && beats <= 16 && matches!(unit, 2 | 4 | 8 | 16) {
            Some(Meter { beats, unit })
        } else {
            None
        }
    }

    /// Ticks in a beat.
    #[must_use]
    pub const fn beat_ticks(self) -> u32 {
        TICKS_PER_QUARTER * 4 / self.unit as u32
    }

    /// Ticks in a bar.
    #[must_use]
    pub const fn bar_ticks(self) -> u32 {
        self.beat_ticks() * self.beats as u32
    }
}

impl fmt::Display for Meter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.beats, self.unit)
    }
}

/// A bar as it is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bar {
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// The time signature that it is played in: the one that it was written in, or
    /// for a pickup as many of its beats as there are.
    pub meter: Meter,
    /// Where it stands in the text: an index into [`Chart::written`].
    pub written: usize,
}

/// A bar as it stands in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Its chords and signs in the text, in bytes, without the bar lines and
    /// without a letter, an ending or a time signature before them; empty where
    /// nothing stands between two bar lines.
    pub source: Range<usize>,
    /// Its number in the text, from 1; 0 for a pickup.
    pub number: u32,
    /// The time signature in force.
    pub meter: Meter,
    /// What shares it, in order.
    pub shares: Vec<Share>,
    /// Where the bar line after it stands, in bytes, or the text ends.
    pub line: usize,
    /// The section that starts here.
    pub section: Option<Section>,
    /// `|:` stands before it.
    pub opens: bool,
    /// `:|` stands after it.
    pub closes: bool,
    /// How often a repeat that closes here is played, 2 to [`MOST_TIMES`].
    pub times: u8,
    /// The ending that starts here, 1 to [`MOST_ENDINGS`].
    pub ending: Option<u8>,
    /// Signs of the road around it.
    pub roads: Roads,
    /// It is shorter than its meter, and stands before the first bar.
    pub pickup: bool,
    /// It is `%%`, which stands for two bars.
    pub two_bars: bool,
}

/// A word in a bar that takes a share of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Share {
    /// Its place in the text, in bytes.
    pub source: Range<usize>,
    /// Where it begins, in ticks from the start of the bar.
    pub at_ticks: u32,
}

/// A letter without bars of its own: its section is played again here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recall {
    /// The section that is played again.
    pub section: Section,
    /// The letter's place in the text, in bytes.
    pub source: Range<usize>,
    /// The written bar that it stands before: an index into [`Chart::written`],
    /// or its length at the end of the chart.
    pub before: usize,
}

/// A place in the chart where a chord, or silence, begins.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The chord, or none for `N.C.`
    pub chord: Option<Chord>,
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Ticks until the next change or the end of the chart.
    pub length_ticks: u32,
    /// The symbol's place in the text, in bytes.
    pub source: Range<usize>,
    /// The bar in which it begins: an index into [`Chart::bars`].
    pub bar: usize,
}

/// A chart that has been read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chart {
    /// The line above the bars; empty if there is none.
    pub title: String,
    /// The language of the notes in its text.
    pub names: NoteNames,
    /// The bars in the order of playing; at least one, at most [`MOST_BARS`].
    pub bars: Vec<Bar>,
    /// The changes in the order of playing; the first one starts at tick 0.
    pub changes: Vec<Change>,
    /// The bars in the order of the text; each is played at least once.
    pub written: Vec<Written>,
    /// The letters that play a section again, in the order of the text.
    pub recalls: Vec<Recall>,
}

impl Chart {
    /// The time signature of the first full bar.
    #[must_use]
    pub fn meter(&self) -> Meter {
        let first = self.bars.get(usize::from(self.has_pickup()));
        first.map_or(Meter::COMMON, |bar| bar.meter)
    }

    /// Whether the first bar is a pickup, which is played once: whatever goes back
    /// to the beginning goes to the bar after it.
    #[must_use]
    pub fn has_pickup(&self) -> bool {
        let first = self.bars.first();
        let written = first.and_then(|bar| self.written.get(bar.written));
        written.is_some_and(|written| written.pickup)
    }

    /// The length of the pickup in ticks; 0 if there is none.
    #[must_use]
    pub fn pickup_ticks(&self) -> u32 {
        let pickup = self.bars.first().filter(|_| self.has_pickup());
        pickup.map_or(0, |bar| bar.meter.bar_ticks())
    }

    /// The chart's length in ticks.
    #[must_use]
    pub fn length_ticks(&self) -> u32 {
        let last = self.bars.last();
        last.map_or(0, |bar| bar.start_ticks + bar.meter.bar_ticks())
    }

    /// The bar that is played at a tick, as an index into [`Chart::bars`]; the
    /// last one past the end.
    #[must_use]
    pub fn bar_at(&self, ticks: u32) -> usize {
        let begun = self.bars.partition_point(|bar| bar.start_ticks <= ticks);
        begun.saturating_sub(1)
    }

    /// The bar as played (from 1, or 0 for a pickup) and the beat in it (from 1, with
    /// its fraction) at a tick. A pickup has the last beats of its meter. Past the end
    /// the last time signature goes on.
    #[must_use]
    pub fn bar_and_beat(&self, ticks: u32) -> (u32, f64) {
        let index = self.bar_at(ticks);
        let bar = self.bars.get(index);
        let (start, meter) = bar.map_or((0, Meter::COMMON), |b| (b.start_ticks, b.meter));
        let since = ticks - start;
        let in_bar = f64::from(since % meter.bar_ticks());
        let pickup = self.has_pickup();
        let number = u32::try_from(index + 1 - usize::from(pickup)).unwrap_or(u32::MAX);
        let whole = bar.and_then(|bar| self.written.get(bar.written));
        let before = whole.map_or(0, |w| w.meter.beats.saturating_sub(meter.beats));
        (
            number.saturating_add(since / meter.bar_ticks()),
            1.0 + f64::from(before) + in_bar / f64::from(meter.beat_ticks()),
        )
    }
}

/// The sign of the road that a text begins with, if it does with one: `Fine`, `D.S. al
/// Coda`.
#[must_use]
pub fn road(text: &str) -> Option<Road> {
    use signs::Phrase;
    match signs::phrase(text.trim_start())?.1 {
        Phrase::Segno => Some(Road::Segno),
        Phrase::Coda | Phrase::EitherCoda => Some(Road::Coda),
        Phrase::ToCoda => Some(Road::ToCoda),
        Phrase::Fine => Some(Road::Fine),
        Phrase::Jump(jump) => Some(Road::Jump(jump)),
        Phrase::Pickup | Phrase::Even | Phrase::Silence => None,
    }
}

/// Whether a word says that there is no chord: `N.C.`, `No Chord`, `Tacet`.
#[must_use]
pub fn is_silence(word: &str) -> bool {
    signs::phrase(word) == Some((word.len(), signs::Phrase::Silence))
}

/// The line that names a chart, so that it is read as that: with `Title:` before it
/// where it looks like bars. Line breaks become spaces; none for a blank title.
#[must_use]
pub fn title_line(title: &str) -> Option<String> {
    let words: Vec<&str> = title.split_whitespace().collect();
    let title: String = words.join(" ").chars().take(100).collect();
    let line = title.trim_end();
    let plain = parse(&format!("{line}\n| C |")).is_ok_and(|chart| chart.title == line);
    let line = match (line.is_empty(), plain) {
        (true, _) => return None,
        (false, true) => line.to_owned(),
        (false, false) => format!("Title: {line}"),
    };
    Some(line)
}

/// What a word of a chart is, as far as laying it out goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WordKind {
    /// The line above the bars.
    Title,
    /// A bar line, with repeats or without.
    Line,
    /// A section, an ending, a time signature, a sign of the road.
    Mark,
    /// A chord, a slash, a percent sign, silence: what shares a bar.
    Share,
}

/// The words of any text, each with its place in bytes, whether or not it can be
/// read as a chart.
#[must_use]
pub fn cut(text: &str, names: NoteNames) -> Vec<(Range<usize>, WordKind)> {
    use words::Sign;
    let words = words::words(text, names).into_iter();
    let kinds = words.map(|word| {
        let kind = match word.sign {
            Sign::Title => WordKind::Title,
            Sign::Line(_) => WordKind::Line,
            Sign::Mark(_) | Sign::Meter(_) | Sign::Turn(_) | Sign::EitherCoda | Sign::Times(_) => {
                WordKind::Mark
            }
            Sign::Percent | Sign::TwoBars | Sign::Slash | Sign::Silence | Sign::Chord => {
                WordKind::Share
            }
        };
        (word.source(), kind)
    });
    kinds.collect()
}

/// The bars of any text in their order, whether or not it can be read as a chart.
#[must_use]
pub fn written(text: &str, names: NoteNames) -> Vec<Written> {
    let reading = read::read(&words::words(text, names), text.len(), names);
    let bars = reading.bars.into_iter();
    bars.map(|bar| bar.written).collect()
}

/// Reads a chart: bars between `|`, or `||` and `|]`. Chords share their bar by beats, the first
/// ones longer ([`Meter::shares`]), or evenly in a bar that begins with `even`. In a
/// bar with `/` or `.` each chord or slash is one beat; `%` and an empty bar repeat
/// the bar that was played before, `%%` is two bars and repeats two; `N.C.` is
/// silence. A time signature holds from its bar on; without one it is 4/4. A bar
/// that begins with `Pickup` stands before the first one, and is as long as its
/// chords and slashes, a beat each; it is played once.
///
/// `|:` and `:|` enclose a repeat, with `x3` after it for three times; `[1`, `[2` or
/// `1.`, `2.` and so on are its endings. `[A]` or `A:` starts a section; without
/// bars of its own it plays that section again.
///
/// `Segno` and `Coda` stand before a bar, `To Coda`, `Fine`, `D.C.` and `D.S.`, with
/// `al Fine` or `al Coda` or without, after one. Each jump is taken once, when the
/// repeat at its bar line has been played. On the way back repeats are played once,
/// with their last ending, and so are sections that a letter recalls; `Fine` ends
/// the chart, `To Coda` leads to the next `Coda`, from where on repeats count again.
///
/// A slash, and a `%` for a bar of one chord, prolong the chord; a chord that is
/// written again or repeated otherwise is struck again.
///
/// # Errors
/// Everything that is wrong, in the order of the text, each with its place, its
/// bar and what was expected there. Repeats are looked at once all their signs
/// can be read, and what only playing shows, such as a `%` for a bar of another
/// length, once the repeats are in order.
pub fn parse(text: &str) -> Result<Chart, Vec<ChartError>> {
    parse_with(text, NoteNames::English)
}

/// As [`parse`], with the notes named in this language: `| Hm7 | E7 | B7 |`.
///
/// # Errors
/// As [`parse`].
pub fn parse_with(text: &str, names: NoteNames) -> Result<Chart, Vec<ChartError>> {
    if text.len() > LONGEST_TEXT {
        return Err(vec![ChartError {
            source: LONGEST_TEXT..text.len(),
            bar: 1,
            problem: ChartProblem::TooLong,
        }]);
    }
    let mut reading = read::read(&words::words(text, names), text.len(), names);
    let mut errors = std::mem::take(&mut reading.errors);
    let empty = || ChartError {
        source: 0..text.len(),
        bar: 1,
        problem: ChartProblem::EmptyChart,
    };
    let order = if reading.torn {
        Ok(Vec::new())
    } else {
        unfold::unfold(&reading.steps)
    };
    match order.and_then(|order| play::play(&reading.bars, &order)) {
        Ok((bars, changes)) if errors.is_empty() && !bars.is_empty() => Ok(Chart {
            title: reading.title,
            names,
            bars,
            changes,
            written: reading.bars.into_iter().map(|bar| bar.written).collect(),
            recalls: reading.recalls,
        }),
        played => {
            errors.extend(played.err().unwrap_or_default());
            if errors.is_empty() {
                errors.push(empty());
            }
            errors.sort_by_key(|error| error.source.start);
            Err(errors)
        }
    }
}
