//! Charts: from text to bars of chords and where each chord starts.
//! Imports `chord` and `symbol`.

use crate::chord::Chord;
use crate::symbol::{self, SymbolError};
use std::fmt;
use std::ops::Range;

/// Ticks in a quarter note: every division of a beat that charts can hold is a
/// whole number of them, or is rounded down to one.
pub const TICKS_PER_QUARTER: u32 = 960;

/// The longest chart text, in bytes.
pub const LONGEST_TEXT: usize = 256 * 1024;

/// The most changes in a chart; `%` makes many out of little text.
pub const MOST_CHANGES: usize = 20_000;

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
}

/// A chart that has been read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chart {
    /// The time signature of all bars.
    pub meter: Meter,
    /// How many bars there are.
    pub bars: u32,
    /// The changes in order; the first one starts at tick 0.
    pub changes: Vec<Change>,
}

impl Chart {
    /// The chart's length in ticks.
    #[must_use]
    pub const fn length_ticks(&self) -> u32 {
        self.bars * self.meter.bar_ticks()
    }

    /// The bar (from 1) and the beat in it (from 1, with its fraction) where a
    /// change starts.
    #[must_use]
    pub fn bar_and_beat(&self, start_ticks: u32) -> (u32, f64) {
        let bar = self.meter.bar_ticks();
        let in_bar = f64::from(start_ticks % bar);
        (
            start_ticks / bar + 1,
            1.0 + in_bar / f64::from(self.meter.beat_ticks()),
        )
    }
}

/// One thing that is wrong with a chart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartError {
    /// Its place in the text, in bytes.
    pub source: Range<usize>,
    /// The bar it stands in, from 1.
    pub bar: u32,
    /// What is wrong.
    pub problem: ChartProblem,
}

/// The kinds of trouble in a chart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ChartProblem {
    /// A symbol that is no chord.
    Symbol(String, SymbolError),
    /// A time signature out of range, or not at the start.
    Meter(String),
    /// Bars with slashes count a beat for each sign: found and expected.
    Beats(usize, u8),
    /// More chords in a bar than it can hold.
    Crowded(usize),
    /// A slash or a percent sign with nothing before it to repeat.
    NothingToRepeat(&'static str),
    /// `%` shares its bar with something else.
    PercentNotAlone,
    /// Two bar lines with nothing between them.
    EmptyBar,
    /// No chord at all.
    EmptyChart,
    /// Repeat signs, which this notation does not have yet.
    RepeatSign,
    /// The text is longer than a chart can be.
    TooLong,
    /// There are more chords than a chart can hold.
    TooMany,
}

impl fmt::Display for ChartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "bar {}: {}", self.bar, self.problem)
    }
}

impl fmt::Display for ChartProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ChartProblem::Symbol(text, error) => write!(f, "\"{text}\" is not a chord: {error}"),
            ChartProblem::Meter(text) => write!(
                f,
                "\"{text}\" is no time signature here; expected 1 to 16 over 2, 4, 8 or 16, \
                 before the first bar"
            ),
            ChartProblem::Beats(found, expected) => write!(
                f,
                "a bar with slashes needs a chord or a slash for each beat: found {found}, \
                 expected {expected}"
            ),
            ChartProblem::Crowded(found) => {
                write!(f, "{found} chords in one bar; expected at most 16")
            }
            ChartProblem::NothingToRepeat(sign) => {
                write!(
                    f,
                    "\"{sign}\" has nothing before it to repeat; expected a chord"
                )
            }
            ChartProblem::PercentNotAlone => {
                f.write_str("\"%\" repeats a whole bar; expected it alone in its bar")
            }
            ChartProblem::EmptyBar => {
                f.write_str("an empty bar; expected a chord, % (repeat the bar) or N.C. (silence)")
            }
            ChartProblem::EmptyChart => {
                f.write_str("no chords; expected bars such as | Dm7 | G7 |")
            }
            ChartProblem::RepeatSign => {
                f.write_str("repeat signs are not read; expected the bars written out, or %")
            }
            ChartProblem::TooMany => {
                write!(f, "too many chords; expected at most {MOST_CHANGES}")
            }
            ChartProblem::TooLong => {
                write!(
                    f,
                    "the chart is too long; expected at most {LONGEST_TEXT} bytes"
                )
            }
        }
    }
}

impl std::error::Error for ChartError {}

/// Reads a chart: an optional time signature, then bars between `|`. Chords
/// share their bar evenly; in a bar with `/` each chord or slash is one beat;
/// `%` repeats the bar before; `N.C.` is silence.
///
/// A slash, and a `%` for a bar of one chord, prolong the chord; a chord that is
/// written again is struck again.
///
/// # Errors
/// Everything that is wrong, in order, each with its place, its bar and what
/// was expected there.
pub fn parse(text: &str) -> Result<Chart, Vec<ChartError>> {
    if text.len() > LONGEST_TEXT {
        return Err(vec![ChartError {
            source: LONGEST_TEXT..text.len(),
            bar: 1,
            problem: ChartProblem::TooLong,
        }]);
    }
    let mut reader = Reader::default();
    let words = words(text);
    let mut rest = words.as_slice();
    if let [first, tail @ ..] = rest
        && let Some(meter) = meter(first.text)
    {
        rest = tail;
        match meter {
            Some(meter) => reader.meter = meter,
            None => reader.error(first, ChartProblem::Meter(first.text.to_owned())),
        }
    }
    let mut bar: Vec<&Word> = Vec::new();
    let mut line_before: Option<&Word> = None;
    for word in rest {
        if word.text != "|" {
            bar.push(word);
            continue;
        }
        if bar.is_empty() {
            if let Some(before) = line_before
                && !word.joined
            {
                reader.bars += 1;
                reader.error_at(before.at..word.at + 1, ChartProblem::EmptyBar);
            }
        } else {
            reader.bar(&bar);
            bar.clear();
        }
        line_before = Some(word);
    }
    if !bar.is_empty() {
        reader.bar(&bar);
    }
    reader.finish(text)
}

/// A word of the text: a bar line, or what stands between spaces.
#[derive(Debug)]
struct Word<'a> {
    text: &'a str,
    at: usize,
    /// For a bar line: it doubles the one before (`||`, or the end of one line
    /// of text and the start of the next).
    joined: bool,
}

fn words(text: &str) -> Vec<Word<'_>> {
    let mut words: Vec<Word> = Vec::new();
    let mut start: Option<usize> = None;
    let mut gap = "";
    let mut gap_from = 0;
    // Spaces inside the brackets of a symbol do not end it: `G7(b9, b13)`.
    let mut brackets = 0_usize;
    let end = std::iter::once((text.len(), '\n'));
    for (at, c) in text.char_indices().chain(end) {
        match c {
            '(' => brackets += 1,
            ')' => brackets = brackets.saturating_sub(1),
            '|' | '\n' => brackets = 0,
            _ => {}
        }
        let breaks = c == '|' || c.is_whitespace() && (c != ' ' || brackets == 0);
        if !breaks {
            start.get_or_insert(at);
            continue;
        }
        if let Some(from) = start.take() {
            let text = text.get(from..at).unwrap_or("").trim_end();
            words.push(Word {
                text,
                at: from,
                joined: false,
            });
            gap_from = at;
        }
        if c == '|' {
            gap = text.get(gap_from..at).unwrap_or(gap);
            let joined = gap.is_empty() || gap.contains('\n');
            words.push(Word {
                text: "|",
                at,
                joined,
            });
            gap_from = at + 1;
        }
    }
    words
}

/// A time signature: `None` if it does not look like one, `Some(None)` if its
/// numbers are out of range.
fn meter(word: &str) -> Option<Option<Meter>> {
    let (beats, unit) = word.split_once('/')?;
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    if !digits(beats) || !digits(unit) {
        return None;
    }
    let meter = beats
        .parse()
        .ok()
        .zip(unit.parse().ok())
        .and_then(|(beats, unit)| Meter::new(beats, unit));
    Some(meter)
}

struct Reader {
    meter: Meter,
    bars: u32,
    changes: Vec<Change>,
    /// Where in `changes` the bar before begins, and whether it is one chord.
    last_bar: Option<Range<usize>>,
    errors: Vec<ChartError>,
    /// There are too many changes.
    full: bool,
}

impl Default for Reader {
    fn default() -> Self {
        Reader {
            meter: Meter::COMMON,
            bars: 0,
            changes: Vec::new(),
            last_bar: None,
            errors: Vec::new(),
            full: false,
        }
    }
}

impl Reader {
    fn error(&mut self, word: &Word, problem: ChartProblem) {
        self.error_at(word.at..word.at + word.text.len(), problem);
    }

    fn error_at(&mut self, source: Range<usize>, problem: ChartProblem) {
        self.errors.push(ChartError {
            source,
            bar: self.bars.max(1),
            problem,
        });
    }

    fn bar(&mut self, words: &[&Word]) {
        if self.changes.len() > MOST_CHANGES {
            // Said once; what follows is not read.
            if !self.full
                && let Some(first) = words.first()
            {
                self.full = true;
                self.error(first, ChartProblem::TooMany);
            }
            return;
        }
        let bar_start = self.bars * self.meter.bar_ticks();
        self.bars += 1;
        if let Some(percent) = words.iter().find(|w| w.text == "%") {
            if words.len() == 1 {
                self.repeat_bar(percent, bar_start);
            } else {
                self.error(percent, ChartProblem::PercentNotAlone);
            }
            return;
        }
        let first = self.changes.len();
        let by_beats = words.iter().any(|w| w.text == "/");
        let beats = usize::from(self.meter.beats);
        if by_beats && words.len() != beats {
            let (from, to) = (words.first(), words.last());
            if let Some((from, to)) = from.zip(to) {
                let problem = ChartProblem::Beats(words.len(), self.meter.beats);
                self.error_at(from.at..to.at + to.text.len(), problem);
            }
        }
        let Ok(shares) = u32::try_from(words.len()).map(|n| n.clamp(1, 16)) else {
            return;
        };
        if words.len() > 16
            && let Some(word) = words.get(16)
        {
            self.error(word, ChartProblem::Crowded(words.len()));
        }
        for (word, share) in words.iter().zip(0..shares) {
            let start = bar_start + self.meter.bar_ticks() * share / shares;
            self.word(word, start);
        }
        self.last_bar = Some(first..self.changes.len());
    }

    fn word(&mut self, word: &Word, start_ticks: u32) {
        let chord = match word.text {
            "/" => {
                if self.changes.is_empty() {
                    self.error(word, ChartProblem::NothingToRepeat("/"));
                }
                return;
            }
            "N.C." | "NC" | "n.c." | "N.C" => None,
            text if text.contains(':') || text.starts_with('[') => {
                return self.error(word, ChartProblem::RepeatSign);
            }
            text if meter(text).is_some() => {
                return self.error(word, ChartProblem::Meter(text.to_owned()));
            }
            text => match symbol::parse(text) {
                Ok(chord) => Some(chord),
                Err(error) => {
                    let from = word.at + error.at;
                    let problem = ChartProblem::Symbol(text.to_owned(), error.clone());
                    return self.error_at(from..from + error.len, problem);
                }
            },
        };
        self.changes.push(Change {
            chord,
            start_ticks,
            length_ticks: 0,
            source: word.at..word.at + word.text.len(),
        });
    }

    fn repeat_bar(&mut self, percent: &Word, bar_start: u32) {
        let Some(last) = self.last_bar.clone() else {
            return self.error(percent, ChartProblem::NothingToRepeat("%"));
        };
        // A bar of one chord, or of none of its own, is prolonged; any other bar
        // is played again, with the chord that it took over from before.
        let bar_ticks = self.meter.bar_ticks();
        let mut again: Vec<Change> = self.changes.get(last.clone()).unwrap_or(&[]).to_vec();
        let on_the_one = again.first().is_none_or(|c| c.start_ticks % bar_ticks == 0);
        if on_the_one && again.len() < 2 {
            return;
        }
        if !on_the_one
            && let Some(mut held) = last
                .start
                .checked_sub(1)
                .and_then(|i| self.changes.get(i))
                .cloned()
        {
            held.start_ticks = 0;
            again.insert(0, held);
        }
        let first = self.changes.len();
        for mut change in again {
            change.start_ticks = bar_start + change.start_ticks % bar_ticks;
            self.changes.push(change);
        }
        self.last_bar = Some(first..self.changes.len());
    }

    fn finish(mut self, text: &str) -> Result<Chart, Vec<ChartError>> {
        if self.changes.is_empty() && self.errors.is_empty() {
            self.error_at(0..text.len(), ChartProblem::EmptyChart);
        }
        if !self.errors.is_empty() {
            return Err(self.errors);
        }
        let mut end = self.bars * self.meter.bar_ticks();
        for change in self.changes.iter_mut().rev() {
            change.length_ticks = end - change.start_ticks;
            end = change.start_ticks;
        }
        Ok(Chart {
            meter: self.meter,
            bars: self.bars,
            changes: self.changes,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn starts(text: &str) -> Vec<(u32, u32)> {
        let chart = parse(text).unwrap();
        let changes = chart.changes.iter();
        changes.map(|c| (c.start_ticks, c.length_ticks)).collect()
    }

    #[test]
    fn chords_share_a_bar() {
        assert_eq!(
            starts("| Dm7 G7 | Cmaj7 |"),
            [(0, 1920), (1920, 1920), (3840, 3840)]
        );
        assert_eq!(starts("Dm7|G7"), [(0, 3840), (3840, 3840)]);
        assert_eq!(starts("3/4 | C6 | F6 G7 A7 |").last(), Some(&(4800, 960)));
        assert_eq!(
            starts("| Dm7 G7 C6 |"),
            [(0, 1280), (1280, 1280), (2560, 1280)]
        );
    }

    #[test]
    fn brackets_hold_spaces_until_the_bar_ends() {
        assert_eq!(starts("| G7(b9, b13) C6 |"), [(0, 1920), (1920, 1920)]);
        let errors = parse("| C7(b9 | G7(b9").unwrap_err();
        let places: Vec<_> = errors.iter().map(|e| e.source.clone()).collect();
        assert_eq!(places, [7..7, 15..15]);
    }

    #[test]
    fn slashes_are_beats_and_percent_repeats() {
        assert_eq!(starts("| Dm7 / / G7 |"), [(0, 2880), (2880, 960)]);
        assert_eq!(
            starts("| Cmaj7 | % | / / / F6 |"),
            [(0, 10560), (10560, 960)]
        );
        assert_eq!(starts("| Dm7 G7 | % |").len(), 4);
        let held = starts("| C6 | / / / F6 | % |");
        assert_eq!(held.get(2..), Some(&[(7680, 2880), (10560, 960)][..]));
        assert_eq!(starts("| C6 || F6 |\n| G7 |").len(), 3);
        let silent = parse("| C6 | N.C. |").unwrap();
        assert_eq!(silent.changes[1].chord, None);
    }

    #[test]
    fn a_chart_cannot_grow_without_bounds() {
        let text = format!("{}|{}", "C6 ".repeat(16), "%|".repeat(10_000));
        let errors = parse(&text).unwrap_err();
        assert_eq!(errors.len(), 1);
        assert_eq!(errors[0].problem, ChartProblem::TooMany);
    }

    #[test]
    fn errors_have_places() {
        let errors = |t: &str| {
            let all = parse(t).unwrap_err();
            all.into_iter()
                .map(|e| (e.bar, e.source))
                .collect::<Vec<_>>()
        };
        assert_eq!(errors("| Dm7 | H7 |"), [(2, 8..10)]);
        assert_eq!(errors("| Dm7 q | G7x |"), [(1, 6..7), (2, 12..13)]);
        assert_eq!(errors("| Dm7 / |"), [(1, 2..7)]);
        assert_eq!(errors("| % |"), [(1, 2..3)]);
        assert_eq!(errors("| C6 | | F6 |"), [(2, 5..8)]);
        assert_eq!(errors("| C6 | 3/4 F6 |"), [(2, 7..10)]);
        assert_eq!(errors("3/5 | C6 |"), [(1, 0..3)]);
        assert_eq!(errors(""), [(1, 0..0)]);
        assert_eq!(errors("|: C6 :|"), [(1, 1..2), (1, 6..7)]);
    }
}
