//! The chart's text as the panel lays it out: words, and the bars that they make,
//! whether or not the text can be read as a chart. The reader of charts cuts them.
//! Imports the theory.

use guidehand_theory::chart::{self, Written};
use guidehand_theory::pitch::NoteNames;
use std::ops::Range;

pub use guidehand_theory::chart::WordKind as Kind;

/// A word of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Word {
    /// Its place in the text, in bytes.
    pub source: Range<usize>,
    /// What it is.
    pub kind: Kind,
}

/// A bar: of `%%` both.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bar {
    /// The places of its shares in the text, in bytes; none in an empty bar.
    pub shares: Vec<Range<usize>>,
    /// Where each share begins, in ticks from the start of the bar.
    pub at_ticks: Vec<u32>,
    /// How long it is, in ticks.
    pub length_ticks: u32,
    /// What is in it, in bytes.
    pub source: Range<usize>,
    /// Where the bar line after it starts, in bytes; the end of the text if there
    /// is none.
    pub end: usize,
    /// Its number; 0 for a pickup.
    pub number: u32,
}

impl Bar {
    fn of(written: Written) -> Bar {
        let shares = written.shares;
        let beats = u32::try_from(shares.len()).unwrap_or(u32::MAX);
        let length_ticks = if written.pickup {
            written.meter.beat_ticks().saturating_mul(beats)
        } else {
            written.meter.bar_ticks()
        };
        Bar {
            length_ticks,
            at_ticks: shares.iter().map(|share| share.at_ticks).collect(),
            shares: shares.into_iter().map(|share| share.source).collect(),
            source: written.source,
            end: written.line,
            number: written.number,
        }
    }

    /// The share at a tick of the bar; none in an empty bar.
    #[must_use]
    pub fn share_at(&self, ticks: u32) -> Option<usize> {
        let begun = self.at_ticks.partition_point(|at| *at <= ticks);
        begun.checked_sub(1)
    }
}

/// Cuts a text into words.
#[must_use]
pub fn words(text: &str, names: NoteNames) -> Vec<Word> {
    let words = chart::cut(text, names).into_iter();
    words.map(|(source, kind)| Word { source, kind }).collect()
}

/// The bars in the order of the text.
#[must_use]
pub fn bars(text: &str, names: NoteNames) -> Vec<Bar> {
    chart::written(text, names)
        .into_iter()
        .map(Bar::of)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::chart;

    const CHARTS: [&str; 10] = [
        "Low Tide\n| Pickup G7 | C7 b9 | | %% |",
        "A: | C6 | Segno F6 To Coda | G7 D.S. al Coda |\nCoda | F6 |]",
        "|: C6 . . F6 | 1. even C6 F6 G7 :| 2. N.C. | No Chord | C7 alt D7 |",
        "|: C6 :| x3 | F6 | D.C. |",
        "| Dm7 | G7 | Cmaj7 | A7 |\n| Dm7 Db7 | % | N.C. | C6/9 |",
        "Dm7 | G7 ||\n Cmaj7",
        "[A] 3/4 |: Dm7 / G7(b9, b13) | C6 :| [B] | F6 |] ",
        "|: Am7 | D7 |[1 Gmaj7 | E7 :|[2 Gmaj7 | G6 |]",
        "[A'] | C/E | 5/4 F6 / / / Bb7 |\n[B]| A♭7 ||\n[A'] ||",
        "|:C6|F6:|\n| D/C7 | Bb6/9 :||: Eb6 | Ab6 :|",
    ];

    /// Every chord of the chart is a share of a bar, and every letter a word.
    #[test]
    fn words_and_bars_are_those_of_the_reader() {
        for text in CHARTS {
            let chart = chart::parse(text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
            let words = words(text, NoteNames::English);
            let bars = bars(text, NoteNames::English);
            let ours: Vec<_> = bars.iter().map(|bar| bar.source.clone()).collect();
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
            for word in words(text, NoteNames::English) {
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
