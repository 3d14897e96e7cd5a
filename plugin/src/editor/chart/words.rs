//! The chart's text as the panel lays it out: words, and the bars that they make,
//! whether or not the text can be read as a chart. Imports nothing of the crate.

use std::ops::Range;

/// A word of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Word {
    /// Its place in the text, in bytes.
    pub source: Range<usize>,
    /// What it is.
    pub kind: Kind,
}

/// What a word is, as far as laying out goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A bar line, with repeats or without.
    Line,
    /// A section, an ending or a time signature.
    Mark,
    /// A chord, a slash, a percent sign, silence: what shares the bar evenly.
    Share,
}

/// A bar that has something in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bar {
    /// The places of its shares in the text, in bytes; at least one.
    pub shares: Vec<Range<usize>>,
    /// Where the bar line after it starts, in bytes; the end of the text if there
    /// is none.
    pub end: usize,
}

impl Bar {
    /// From the first share to the last.
    #[must_use]
    pub fn source(&self) -> Range<usize> {
        let start = self.shares.first().map_or(self.end, |s| s.start);
        start..self.shares.last().map_or(self.end, |s| s.end)
    }
}

/// Cuts a text into words, as the reader of charts does.
#[must_use]
pub fn words(text: &str) -> Vec<Word> {
    let mut words = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..) {
        let trimmed = rest.trim_start();
        let Some(first) = trimmed.chars().next() else {
            break;
        };
        let start = at + rest.len() - trimmed.len();
        let (length, kind) = match first {
            '[' => (bracket(trimmed), Kind::Mark),
            _ if trimmed.trim_start_matches(':').starts_with('|') => (line(trimmed), Kind::Line),
            _ => {
                let length = other(trimmed);
                let word = trimmed.get(..length).unwrap_or("");
                let kind = if is_meter(word) {
                    Kind::Mark
                } else {
                    Kind::Share
                };
                (length, kind)
            }
        };
        at = start + length.max(first.len_utf8());
        let word = text.get(start..at).unwrap_or("").trim_end();
        words.push(Word {
            source: start..start + word.len(),
            kind,
        });
    }
    words
}

fn line(text: &str) -> usize {
    let length = text
        .bytes()
        .take_while(|b| matches!(b, b'|' | b':'))
        .count();
    let opens = text.get(..length).is_some_and(|t| t.ends_with(':'));
    let bracket = !opens && text.get(length..).is_some_and(|t| t.starts_with(']'));
    length + usize::from(bracket)
}

fn bracket(text: &str) -> usize {
    let inner = text.get(1..).unwrap_or("");
    let digits = inner.bytes().take_while(u8::is_ascii_digit).count();
    let end = if digits > 0 {
        digits
    } else {
        let end = inner.find(|c: char| c == ']' || c == '|' || c.is_whitespace());
        end.unwrap_or(inner.len())
    };
    let closed = inner.get(end..).is_some_and(|t| t.starts_with(']'));
    1 + end + usize::from(closed)
}

/// A word up to a space outside of brackets, or to a bar line.
fn other(text: &str) -> usize {
    let mut depth = 0_usize;
    let mut colons_from = None;
    for (at, c) in text.char_indices() {
        match c {
            '(' => depth += 1,
            ')' => depth = depth.saturating_sub(1),
            '|' => return colons_from.unwrap_or(at),
            _ if c.is_whitespace() && (c != ' ' || depth == 0) => return at,
            _ => {}
        }
        colons_from = if c == ':' {
            colons_from.or(Some(at))
        } else {
            None
        };
    }
    text.len()
}

fn is_meter(word: &str) -> bool {
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    word.split_once('/')
        .is_some_and(|(beats, unit)| digits(beats) && digits(unit))
}

/// The bars that have something in them, in the order of the text.
#[must_use]
pub fn bars(words: &[Word], length: usize) -> Vec<Bar> {
    let mut bars = Vec::new();
    let mut shares: Vec<Range<usize>> = Vec::new();
    for word in words {
        match word.kind {
            Kind::Share => shares.push(word.source.clone()),
            Kind::Line if !shares.is_empty() => bars.push(Bar {
                shares: std::mem::take(&mut shares),
                end: word.source.start,
            }),
            Kind::Line | Kind::Mark => {}
        }
    }
    if !shares.is_empty() {
        let end = length;
        bars.push(Bar { shares, end });
    }
    bars
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::chart;

    const CHARTS: [&str; 6] = [
        "| Dm7 | G7 | Cmaj7 | A7 |\n| Dm7 Db7 | % | N.C. | C6/9 |",
        "Dm7 | G7 ||\n Cmaj7",
        "[A] 3/4 |: Dm7 / G7(b9, b13) | C6 :| [B] | F6 |] ",
        "|: Am7 | D7 |[1 Gmaj7 | E7 :|[2 Gmaj7 | G6 |]",
        "[A'] | C/E | 5/4 F6 / / / Bb7 |\n[B]| A♭7 ||\n[A'] ||",
        "|:C6|F6:|\n| D/C7 | Bb6/9 :||: Eb6 | Ab6 :|",
    ];

    /// The reader of charts is the judge: its bars and its chords stand at the
    /// same places.
    #[test]
    fn words_and_bars_are_those_of_the_reader() {
        for text in CHARTS {
            let chart = chart::parse(text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
            let words = words(text);
            let bars = bars(&words, text.len());
            let ours: Vec<_> = bars.iter().map(Bar::source).collect();
            let theirs: Vec<_> = chart.written.iter().map(|w| w.source.clone()).collect();
            assert_eq!(ours, theirs, "{text}");
            for change in &chart.changes {
                let found = bars.iter().flat_map(|b| &b.shares);
                assert!(found.clone().any(|s| *s == change.source), "{text}");
            }
            for recall in &chart.recalls {
                let mark = Word {
                    source: recall.source.clone(),
                    kind: Kind::Mark,
                };
                assert!(words.contains(&mark), "{text}: {words:?}");
            }
        }
    }

    #[test]
    fn any_text_is_cut_without_end_or_loss() {
        for text in [
            "[", "[12", "::", "|:|:|", "(", "G7(", "♭♭", "[A|", " \n\t", "a:b|", "]",
        ] {
            let mut at = 0;
            for word in words(text) {
                assert!(
                    word.source.start >= at && !word.source.is_empty(),
                    "{text:?}"
                );
                let between = text.get(at..word.source.start).unwrap();
                assert!(between.trim().is_empty(), "{text:?}");
                at = word.source.end;
            }
            assert!(text.get(at..).unwrap().trim().is_empty(), "{text:?}");
        }
    }
}
