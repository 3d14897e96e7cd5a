//! The chart's text as the panel lays it out: lines of words, whether or not the text can
//! be read as a chart. The theory's reader of charts cuts them. Each line can be cut by
//! itself, so that an edit costs no more in a long chart. The panel runs it; `panel` imports it. Imports the
//! theory.

use guidehand_theory::chart::{self, Meter, Written};
use guidehand_theory::pitch::NoteNames;
use std::ops::Range;

pub use guidehand_theory::chart::WordKind;

/// A word of a line.
#[derive(Clone, Debug, PartialEq)]
pub struct Word {
    /// Its place in the line, in bytes.
    pub source: Range<usize>,
    /// What it is.
    pub kind: WordKind,
    /// Where in its bar it begins, as a part of the bar. 0 for what is no share.
    pub along: f32,
}

/// A line of the text, without the line break after it.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// As it was typed.
    pub text: Box<str>,
    /// Where it stood when it was cut.
    pub place: LinePlace,
    /// Its words in their order.
    pub words: Vec<Word>,
    /// Its length in characters.
    pub characters: usize,
    /// How many bars have something in them.
    pub bars: usize,
    /// What stands before the first bar line where that is marks alone, in characters.
    pub hanging: usize,
}

impl Line {
    /// Cuts a line into words.
    #[must_use]
    pub fn new(text: &str, names: NoteNames, place: LinePlace) -> Line {
        // What stands before or after a line decides whether it can be a title.
        let (before, after) = match place {
            LinePlace::First => ("", ""),
            LinePlace::FirstBeforeBars => ("", "\n|"),
            LinePlace::Later => ("|\n", ""),
        };
        let around = [before, text, after].concat();
        let here = before.len()..before.len() + text.len();
        let words = chart::cut(&around, names).into_iter();
        let words = words.filter(|(source, _)| here.contains(&source.start));
        let words: Vec<Word> = words
            .map(|(source, kind)| Word {
                source: source.start - here.start..source.end - here.start,
                kind,
                along: 0.0,
            })
            .collect();
        let first = words.iter().find(|word| word.kind != WordKind::Mark);
        let first = first.filter(|word| word.kind == WordKind::Line);
        let hanging = text.get(..first.map_or(0, |word| word.source.start));
        let parts = words.split(|word| word.kind == WordKind::Line);
        Line {
            characters: text.chars().count(),
            bars: parts.filter(|part| shares(part) > 0).count(),
            hanging: hanging.map_or(0, |text| text.chars().count()),
            text: text.into(),
            place,
            words,
        }
    }

    /// Whether there is nothing in it.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }

    /// Where the last bar line in it ends, in bytes.
    #[must_use]
    pub fn last_bar_line(&self) -> Option<usize> {
        let mut words = self.words.iter().rev();
        let line = words.find(|word| word.kind == WordKind::Line)?;
        Some(line.source.end)
    }

    /// Where the first bar line in it ends, in bytes.
    #[must_use]
    pub fn first_bar_line(&self) -> Option<usize> {
        let mut words = self.words.iter();
        let line = words.find(|word| word.kind == WordKind::Line)?;
        Some(line.source.end)
    }
}

/// Where a line stands, as far as that tells whether it can be the title.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinePlace {
    /// It is the first line that is not blank.
    First,
    /// It is that line, and there are bar lines in the lines after it.
    FirstBeforeBars,
    /// It is any other line.
    Later,
}

/// How many of these words share a bar.
#[must_use]
pub fn shares(words: &[Word]) -> usize {
    let shares = words.iter().filter(|word| word.kind == WordKind::Share);
    shares.count()
}

/// How long a bar is, in ticks.
#[must_use]
pub fn length_ticks(bar: &Written) -> u32 {
    if bar.pickup {
        let beats = u32::try_from(bar.shares.len()).unwrap_or(u32::MAX);
        bar.meter.beat_ticks().saturating_mul(beats)
    } else {
        bar.meter.bar_ticks()
    }
}

/// The share at a tick of a bar; none in an empty bar.
#[must_use]
pub fn share_at(bar: &Written, ticks: u32) -> Option<usize> {
    let begun = bar.shares.partition_point(|share| share.at_ticks <= ticks);
    begun.checked_sub(1)
}

/// Where the shares of some bars stand in the text, in bytes, and where in its bar each
/// begins, as a part of the bar.
pub fn along(bars: &[Written]) -> impl Iterator<Item = (usize, f32)> {
    bars.iter().flat_map(|bar| {
        let length_ticks = length_ticks(bar);
        let shares = bar.shares.iter();
        shares.map(move |share| (share.source.start, fraction(share.at_ticks, length_ticks)))
    })
}

/// The bars of a part of a text that begins at the start of the text or behind a bar line,
/// and ends behind one or at the end of the text. The time signature is the one in force
/// before it. Places are those in the whole text.
#[must_use]
pub fn bars_of(text: &str, part: Range<usize>, names: NoteNames, meter: Meter) -> Vec<Written> {
    let here = text.get(part.clone()).unwrap_or("");
    if part.start == 0 {
        return chart::written(here, names);
    }
    // A bar before them tells the time signature.
    let before = format!("{meter} C |");
    let mut bars = chart::written(&format!("{before}{here}"), names);
    bars.drain(..bars.len().min(1));
    let there = |at: usize| (at + part.start).saturating_sub(before.len());
    for bar in &mut bars {
        bar.source = there(bar.source.start)..there(bar.source.end);
        bar.line = there(bar.line);
        for share in &mut bar.shares {
            share.source = there(share.source.start)..there(share.source.end);
        }
    }
    bars
}

/// A part of a bar.
fn fraction(ticks: u32, of: u32) -> f32 {
    #[expect(clippy::cast_precision_loss, reason = "ticks of a bar, below 2^17")]
    {
        ticks as f32 / of.max(1) as f32
    }
}
