//! The words of a chart: bar lines, marks, signs of the road, time signatures, and everything
//! else between spaces. Imports `signs`, `marks`, `meter`, `limits` and `symbol`.

use super::signs::{self, Phrase};
use super::{Jump, MOST_ENDINGS, Meter, Section};
use crate::pitch::NoteNames;
use crate::symbol;
use std::ops::Range;

/// A word and what it is.
#[derive(Debug)]
pub(super) struct Word<'a> {
    pub text: &'a str,
    /// Where it starts in the chart, in bytes.
    pub at: usize,
    pub sign: Sign,
}

impl Word<'_> {
    /// Its place in the chart, in bytes.
    pub fn source(&self) -> Range<usize> {
        self.at..self.at + self.text.len()
    }
}

/// What a word is, judged by its characters alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sign {
    /// A bar line. None if its signs make no valid bar line.
    Line(Option<Line>),
    /// Something in square brackets. None if it is neither a section nor an ending.
    Mark(Option<BarMark>),
    /// A time signature. None if its numbers are out of range.
    Meter(Option<Meter>),
    /// A sign at the end of a bar that says where the road goes.
    Turn(Turn),
    /// The sign of the coda. Before the chords of a bar it is the coda itself, after them the
    /// jump to it.
    EitherCoda,
    /// How often a repeat is played. None if the number is out of range.
    Times(Option<u8>),
    /// The line above the chart.
    Title,
    Percent,
    /// The two bars before.
    TwoBars,
    Slash,
    Silence,
    /// Any other word, which should be a chord symbol.
    Chord,
}

/// A bar line, single or double.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Line {
    /// `:|`
    pub closes: bool,
    /// `|:`
    pub opens: bool,
    /// Whether it doubles the line before: the end of one line of text and the start of the
    /// next.
    pub joined: bool,
}

/// A mark at the start of a bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum BarMark {
    Section(Section),
    Ending(u8),
    Segno,
    Coda,
    /// The bar is shorter than its meter, and stands before the first.
    Pickup,
    /// The chords of the bar share it evenly, on beats or between them.
    Even,
}

/// Where the road goes after a bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Turn {
    ToCoda,
    Fine,
    Jump(Jump),
}

/// Cuts a text into words.
pub(super) fn words(text: &str, names: NoteNames) -> Vec<Word<'_>> {
    match title(text, names) {
        Some(title) => {
            let at = title.end;
            let title = Word {
                text: text.get(title.clone()).unwrap_or(""),
                at: title.start,
                sign: Sign::Title,
            };
            cut(text, at, vec![title], names)
        }
        None => cut(text, 0, Vec::new(), names),
    }
}

/// Cuts a text from a place on.
fn cut<'a>(
    text: &'a str,
    mut at: usize,
    mut words: Vec<Word<'a>>,
    names: NoteNames,
) -> Vec<Word<'a>> {
    while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
        let gap = rest.len() - rest.trim_start().len();
        let rest = rest.trim_start();
        let (length, sign) = match rest.chars().next() {
            None => break,
            Some('[') => bracket(rest),
            Some(_) if starts_line(rest) => line(rest),
            Some(_) => phrase(rest).unwrap_or_else(|| other(rest)),
        };
        let start = at + gap;
        at = start + length;
        let mut word = Word {
            text: rest.get(..length).unwrap_or("").trim_end(),
            at: start,
            sign,
        };
        if let Some(before) = words.last_mut()
            && joins(text, before, &word, names)
        {
            before.text = text.get(before.at..word.source().end).unwrap_or("");
            continue;
        }
        if let Sign::Line(Some(line)) = &mut word.sign
            && let Some(before) = words.last()
            && matches!(before.sign, Sign::Line(_))
        {
            let between = text.get(before.source().end..start).unwrap_or("");
            line.joined = between.is_empty() || between.contains('\n');
        }
        words.push(word);
    }
    words
}

/// Whether a word is the rest of the symbol before it: `C7 b9`, `C7 alt`, `C/bass E`. This is
/// so if the two are a chord together, but not both of them are chords alone.
fn joins(text: &str, before: &Word, word: &Word, names: NoteNames) -> bool {
    let reads = |symbol: &str| symbol::parse_with(symbol, names).is_ok();
    let between = text.get(before.source().end..word.at).unwrap_or("");
    before.sign == Sign::Chord
        && word.sign == Sign::Chord
        && before.text.len() + word.text.len() <= LONGEST_JOINED
        && between.chars().all(|c| c == ' ')
        && !(reads(word.text) && reads(before.text))
        && reads(&format!("{} {}", before.text, word.text))
}

/// The longest symbol that is joined from several words, in bytes.
const LONGEST_JOINED: usize = 64;

/// The place of the title, if there is one: the first line, if it begins with `Title:`, or if
/// it has no bar line and holds words that cannot stand in bars.
fn title(text: &str, names: NoteNames) -> Option<Range<usize>> {
    let start = text.len() - text.trim_start().len();
    let rest = text.get(start..)?;
    let length = rest.find('\n').unwrap_or(rest.len());
    let (first, after) = rest.split_at_checked(length)?;
    let end = start + first.trim_end().len();
    if signs::after_title(first).is_some() {
        return Some(start..end);
    }
    if first.contains('|') || first.len() > LONGEST_TITLE || !after.contains('|') {
        return None;
    }
    let words = cut(first, 0, Vec::new(), names);
    let speaks = |word: &Word| matches!(word.sign, Sign::Mark(Some(_)) | Sign::Meter(Some(_)));
    let odd =
        |word: &Word| word.sign == Sign::Chord && symbol::parse_with(word.text, names).is_err();
    (words.iter().any(odd) && !words.iter().any(speaks)).then_some(start..end)
}

/// The longest title, in bytes.
const LONGEST_TITLE: usize = 200;

/// One or more words that are a sign of the road, or that mean silence.
fn phrase(text: &str) -> Option<(usize, Sign)> {
    let (length, phrase) = signs::phrase(text)?;
    let sign = match phrase {
        Phrase::Segno => Sign::Mark(Some(BarMark::Segno)),
        Phrase::Coda => Sign::Mark(Some(BarMark::Coda)),
        Phrase::Pickup => Sign::Mark(Some(BarMark::Pickup)),
        Phrase::Even => Sign::Mark(Some(BarMark::Even)),
        Phrase::EitherCoda => Sign::EitherCoda,
        Phrase::ToCoda => Sign::Turn(Turn::ToCoda),
        Phrase::Fine => Sign::Turn(Turn::Fine),
        Phrase::Jump(jump) => Sign::Turn(Turn::Jump(jump)),
        Phrase::Silence => Sign::Silence,
    };
    Some((length, sign))
}

/// Whether a bar line starts here. Colons belong to a bar line if `|` follows.
fn starts_line(text: &str) -> bool {
    text.trim_start_matches(':').starts_with('|')
}

/// A bar line and its length in bytes.
fn line(text: &str) -> (usize, Sign) {
    let signs = text.bytes().take_while(|b| matches!(b, b'|' | b':'));
    let mut length = signs.count();
    let signs = text.get(..length).unwrap_or("");
    let closes = signs.starts_with(':');
    let opens = signs.ends_with(':');
    let inner = signs.strip_prefix(':').unwrap_or(signs);
    let inner = inner.strip_suffix(':').unwrap_or(inner);
    let plain = !inner.is_empty() && inner.bytes().all(|b| b == b'|');
    if !opens && text.get(length..).is_some_and(|t| t.starts_with(']')) {
        length += 1;
    }
    let line = Line {
        closes,
        opens,
        joined: false,
    };
    (length, Sign::Line(plain.then_some(line)))
}

/// A mark in square brackets and its length in bytes.
fn bracket(text: &str) -> (usize, Sign) {
    let inner = text.get(1..).unwrap_or("");
    let digits = inner.bytes().take_while(u8::is_ascii_digit).count();
    if digits > 0 {
        let number = inner.get(..digits).and_then(|t| t.parse().ok());
        let known = number.filter(|n| (1..=MOST_ENDINGS).contains(n));
        let closed = inner.get(digits..).is_some_and(|t| t.starts_with(']'));
        let mark = known.filter(|_| !closed).map(BarMark::Ending);
        return (1 + digits + usize::from(closed), Sign::Mark(mark));
    }
    let end = inner.find(|c: char| c == ']' || c == '|' || c.is_whitespace());
    let end = end.unwrap_or(inner.len());
    let name = inner.get(..end).unwrap_or("");
    if inner.get(end..).is_some_and(|t| t.starts_with(']')) {
        let mark = signs::section(name).map(BarMark::Section);
        (end + 2, Sign::Mark(mark))
    } else {
        (end + 1, Sign::Mark(None))
    }
}

/// A word that is neither a bar line nor a mark, and its length in bytes.
fn other(text: &str) -> (usize, Sign) {
    // Spaces inside the brackets of a symbol do not end it: `G7(b9, b13)`.
    let mut brackets = 0_usize;
    let mut end = text.len();
    let mut colons_from: Option<usize> = None;
    for (at, c) in text.char_indices() {
        match c {
            '(' => brackets += 1,
            ')' => brackets = brackets.saturating_sub(1),
            _ => {}
        }
        if c == '|' {
            end = colons_from.unwrap_or(at);
            break;
        }
        if c.is_whitespace() && (c != ' ' || brackets == 0) {
            end = at;
            break;
        }
        if c == ':' {
            colons_from.get_or_insert(at);
        } else {
            colons_from = None;
        }
    }
    let word = text.get(..end).unwrap_or("").trim_end();
    let sign = match word {
        "%" => Sign::Percent,
        "%%" => Sign::TwoBars,
        "/" | "." => Sign::Slash,
        _ => named(word).unwrap_or(Sign::Chord),
    };
    (end, sign)
}

/// A word that is known by the signs around a number, or by its colon.
fn named(word: &str) -> Option<Sign> {
    if let Some(meter) = meter(word) {
        return Some(Sign::Meter(meter));
    }
    if let Some(times) = signs::times(word) {
        return Some(Sign::Times(times));
    }
    if let Some(number) = word.strip_suffix('.')
        && !number.is_empty()
        && number.bytes().all(|b| b.is_ascii_digit())
    {
        let number = number.parse().ok();
        let known = number.filter(|n| (1..=MOST_ENDINGS).contains(n));
        return Some(Sign::Mark(known.map(BarMark::Ending)));
    }
    let section = signs::section(word.strip_suffix(':')?)?;
    Some(Sign::Mark(Some(BarMark::Section(section))))
}

/// A time signature. `None` if the word does not look like one, `Some(None)` if its numbers are
/// out of range.
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
