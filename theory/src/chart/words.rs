//! The words of a chart: bar lines, marks in square brackets, time signatures,
//! and what else stands between spaces. Imports the types of `chart`.

use super::{MOST_ENDINGS, Meter, Section};
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

/// What a word is, as far as its letters tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sign {
    /// A bar line; none if its signs make none.
    Line(Option<Line>),
    /// Something in square brackets; none if it is neither a section nor an ending.
    Mark(Option<Mark>),
    /// A time signature; none if its numbers are out of range.
    Meter(Option<Meter>),
    Percent,
    Slash,
    Silence,
    /// A chord symbol, if it is anything.
    Chord,
}

/// A bar line, single or double.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Line {
    /// `:|`
    pub closes: bool,
    /// `|:`
    pub opens: bool,
    /// It doubles the line before: the end of one line of text and the start of
    /// the next.
    pub joined: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mark {
    Section(Section),
    Ending(u8),
}

/// Cuts a text into words.
pub(super) fn words(text: &str) -> Vec<Word<'_>> {
    let mut words: Vec<Word> = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
        let gap = rest.len() - rest.trim_start().len();
        let rest = rest.trim_start();
        let (length, sign) = match rest.chars().next() {
            None => break,
            Some('[') => bracket(rest),
            Some(_) if starts_line(rest) => line(rest),
            Some(_) => other(rest),
        };
        let start = at + gap;
        at = start + length;
        let mut word = Word {
            text: rest.get(..length).unwrap_or("").trim_end(),
            at: start,
            sign,
        };
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

/// Whether a bar line starts here: colons belong to one where `|` follows.
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
        let mark = known.filter(|_| !closed).map(Mark::Ending);
        return (1 + digits + usize::from(closed), Sign::Mark(mark));
    }
    let end = inner.find(|c: char| c == ']' || c == '|' || c.is_whitespace());
    let end = end.unwrap_or(inner.len());
    let name = inner.get(..end).unwrap_or("");
    if inner.get(end..).is_some_and(|t| t.starts_with(']')) {
        let mark = section(name).map(Mark::Section);
        (end + 2, Sign::Mark(mark))
    } else {
        (end + 1, Sign::Mark(None))
    }
}

/// The name of a section, without its brackets.
fn section(name: &str) -> Option<Section> {
    let mut chars = name.chars();
    let letter = chars.next().filter(char::is_ascii_uppercase)?;
    let rest = chars.as_str();
    let (digit, primes) = match rest.as_bytes() {
        [digit @ b'1'..=b'9'] => (digit - b'0', 0),
        _ => {
            let prime = |c| matches!(c, '\'' | '’' | '′');
            let primes = u8::try_from(rest.chars().count()).ok()?;
            if primes > 3 || !rest.chars().all(prime) {
                return None;
            }
            (0, primes)
        }
    };
    Some(Section {
        letter,
        digit,
        primes,
    })
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
        "/" => Sign::Slash,
        "N.C." | "NC" | "n.c." | "N.C" => Sign::Silence,
        _ => meter(word).map_or(Sign::Chord, Sign::Meter),
    };
    (end, sign)
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
