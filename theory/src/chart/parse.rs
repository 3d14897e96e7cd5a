//! From text to a chart, and smaller questions about a text. Imports the rest of its folder
//! except `rewrite`, which imports it.

use super::bars::{Chart, Written};
use super::error::{ChartError, ChartProblem};
use super::limits::LONGEST_TEXT;
use super::marks::Road;
use super::signs::{self, Phrase};
use super::words::{self, Sign};
use super::{play, read, unfold};
use crate::chord::Chord;
use crate::pitch::NoteNames;
use crate::symbol;
use std::ops::Range;

/// The sign of the road that a text begins with, such as `Fine` or `D.S. al Coda`.
#[must_use]
pub fn road(text: &str) -> Option<Road> {
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
    signs::phrase(word) == Some((word.len(), Phrase::Silence))
}

/// The line of text that is read as this title. A title that looks like bars gets `Title:`
/// before it. Line breaks become spaces. None for a blank title.
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

/// What a word of a chart is, as far as its layout depends on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WordKind {
    /// The line above the bars.
    Title,
    /// A bar line, with repeats or without.
    Line,
    /// A section, an ending, a time signature, or a sign of the road.
    Mark,
    /// A word that shares a bar: a chord, a slash, a percent sign, or silence.
    Share,
}

/// The words of any text, each with its place in bytes, whether or not it can be
/// read as a chart.
#[must_use]
pub fn cut(text: &str, names: NoteNames) -> Vec<(Range<usize>, WordKind)> {
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

/// The words of any text that stand for chords, in their order: each with its place in bytes, and
/// with its chord if it can be read.
#[must_use]
pub fn chords(text: &str, names: NoteNames) -> Vec<(Range<usize>, Option<Chord>)> {
    let words = words::words(text, names).into_iter();
    let words = words.filter(|word| word.sign == Sign::Chord);
    words
        .map(|word| (word.source(), symbol::parse_with(word.text, names).ok()))
        .collect()
}

/// The bars of any text in their order, whether or not it can be read as a chart.
#[must_use]
pub fn written(text: &str, names: NoteNames) -> Vec<Written> {
    let reading = read::read(&words::words(text, names), text.len(), names);
    let bars = reading.bars.into_iter();
    bars.map(|bar| bar.written).collect()
}

/// Reads a chart: bars between `|`, or `||` and `|]`. Chords share their bar by beats, the
/// first ones longer ([`Meter::shares`](super::Meter::shares)), or evenly in a bar that begins
/// with `even`. In a bar with `/` or `.` each chord or slash is one beat. `%` and an empty bar
/// repeat the bar that was played before. `%%` is two bars and repeats two. `N.C.` is silence.
/// A time signature holds from its bar on; a chart without one is in 4/4. A bar that begins
/// with `Pickup` stands before the first one and is played once. It is as long as its chords
/// and slashes, a beat each.
///
/// `|:` and `:|` enclose a repeat, with `x3` after it for three times. `[1`, `[2` or `1.`, `2.`
/// and so on are its endings. `[A]` or `A:` starts a section; without bars of its own it plays
/// that section again.
///
/// `Segno` and `Coda` stand before a bar. `To Coda`, `Fine`, `D.C.` and `D.S.` (alone, with `al
/// Fine` or with `al Coda`) stand after one. Each jump is taken once, when the repeat at its
/// bar line has been played. After a jump, repeats are played once, with their last ending, and
/// so are sections that a letter recalls. `Fine` ends the chart. `To Coda` leads to the next
/// `Coda`; from there on repeats count again.
///
/// A slash prolongs the chord, and so does a `%` for a bar of one chord. A chord that is
/// written again, or repeated in another way, is struck again.
///
/// # Errors
/// Everything that is wrong, in the order of the text, each with its place, its bar and what
/// was expected there. Repeats are checked when all their signs can be read. What only playing
/// shows, such as a `%` for a bar of another length, is checked when the repeats are in order.
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
