//! The lines of the chart's text, cut into words. After an edit only the lines that it
//! touched are cut again, and only their bars are read again, so that a keystroke costs the
//! same in a long chart. The panel runs it; `panel` imports it. Imports `words`, `chart_edit`
//! and the theory.

use super::chart_edit::Edit;
use super::words::{self, Line, LinePlace};
use guidehand_theory::chart::{self, Meter, Written};
use guidehand_theory::pitch::NoteNames;
use std::ops::Range;

/// How many lines on either side of an edit are searched for the end of its bar. What lies
/// further away is found once the whole text has been read.
const MOST_LINES: usize = 64;

/// The lines of a text.
#[derive(Clone, Debug, PartialEq)]
pub struct Lines {
    names: NoteNames,
    lines: Vec<Line>,
}

/// What an edit did to the lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LinesReplaced {
    /// The lines of the text before that were replaced.
    pub before: Range<usize>,
    /// The lines of the text after that took their place.
    pub after: Range<usize>,
    /// Other lines of the text after whose words, or their places in their bars, have
    /// changed.
    pub moved: Vec<usize>,
}

impl Lines {
    /// Cuts and reads a whole text.
    #[must_use]
    pub fn new(text: &str, names: NoteNames) -> Lines {
        let mut lines = Lines {
            names,
            lines: Vec::new(),
        };
        lines.cut(text, 0..0);
        lines.cut_title();
        lines.read(&chart::written(text, names));
        lines
    }

    /// The lines in their order.
    pub fn iter(&self) -> impl Iterator<Item = &Line> {
        self.lines.iter()
    }

    /// Takes over an edit that turned the text before into `text`. `meter` gives the time
    /// signature in force at a place of the text.
    pub fn edit(
        &mut self,
        text: &str,
        edit: &Edit,
        meter: impl Fn(usize) -> Meter,
    ) -> LinesReplaced {
        let taken = edit.taken();
        let mut at = 0;
        let (mut first, mut start) = (0, 0);
        let (mut end, mut last) = (0, 0);
        for (nth, line) in self.lines.iter().enumerate() {
            if at <= taken.start {
                (first, start) = (nth, at);
            }
            if at <= taken.end {
                (last, end) = (nth, at + line.text.len());
            }
            at += line.text.len() + 1;
        }
        let before = first..(last + 1).min(self.lines.len());
        let end = (end - taken.end) + edit.put().end;
        let part = text.get(start..end).unwrap_or("");
        let after = self.cut(part, before.clone());
        let mut moved = self.cut_title();
        let part = self.bars_around(&after, text.len());
        let bars = words::bars_of(text, part.clone(), self.names, meter(part.start));
        moved.extend(self.put_along(&bars, &part));
        moved.retain(|line| !after.contains(line));
        LinesReplaced {
            before,
            after,
            moved,
        }
    }

    /// Takes over the bars of the whole text. Gives the lines whose chords begin at other
    /// places in their bars than before.
    pub fn read(&mut self, bars: &[Written]) -> Vec<usize> {
        self.put_along(bars, &(0..usize::MAX))
    }

    /// Cuts a part of the text into lines, and puts them in the place of others.
    fn cut(&mut self, part: &str, before: Range<usize>) -> Range<usize> {
        let count = self.lines.len();
        let place = LinePlace::Later;
        let names = self.names;
        let new = part.split('\n').map(|line| Line::new(line, names, place));
        drop(self.lines.splice(before.clone(), new));
        before.start..self.lines.len() + before.end - count
    }

    /// Cuts again the lines that have become the title, and those that no longer are.
    fn cut_title(&mut self) -> Vec<usize> {
        let first = self.lines.iter().position(|line| !line.is_blank());
        let mut after = self.lines.iter().skip(first.map_or(0, |first| first + 1));
        let place = if after.any(|line| line.text.contains('|')) {
            LinePlace::FirstBeforeBars
        } else {
            LinePlace::First
        };
        let mut cut = Vec::new();
        for (nth, line) in self.lines.iter_mut().enumerate() {
            let is_first = Some(nth) == first;
            let place = if is_first { place } else { LinePlace::Later };
            if line.place != place {
                *line = Line::new(&line.text, self.names, place);
                cut.push(nth);
            }
        }
        cut
    }

    /// The part of the text, in bytes, in which the bars of some lines lie.
    fn bars_around(&self, lines: &Range<usize>, length: usize) -> Range<usize> {
        let (earlier, rest) = self
            .lines
            .split_at_checked(lines.start)
            .unwrap_or((&[], &[]));
        let start: usize = earlier.iter().map(|line| line.text.len() + 1).sum();
        let mut part = 0..length;
        let mut at = start;
        for (nth, line) in earlier.iter().rev().enumerate() {
            at -= line.text.len() + 1;
            let end = line.last_bar_line();
            if end.is_some() || nth >= MOST_LINES {
                part.start = at + end.unwrap_or(0);
                break;
            }
        }
        let mut at = start;
        for (nth, line) in rest.iter().enumerate() {
            let end = line.first_bar_line().filter(|_| nth >= lines.len());
            if end.is_some() || nth >= lines.len() + MOST_LINES {
                part.end = at + end.unwrap_or(0);
                break;
            }
            at += line.text.len() + 1;
        }
        part
    }

    /// Sets where in their bars the words in a part of the text begin. Gives the lines in
    /// which one begins elsewhere than before.
    fn put_along(&mut self, bars: &[Written], part: &Range<usize>) -> Vec<usize> {
        let mut alongs = words::along(bars).peekable();
        let mut changed = Vec::new();
        let mut at = 0;
        for (nth, line) in self.lines.iter_mut().enumerate() {
            let end = at + line.text.len();
            if end >= part.start && at < part.end {
                let mut other = false;
                for word in &mut line.words {
                    let start = at + word.source.start;
                    if !part.contains(&start) {
                        continue;
                    }
                    while alongs.next_if(|(at, _)| *at < start).is_some() {}
                    let along = alongs.next_if(|(at, _)| *at == start);
                    let along = along.map_or(0.0, |(_, along)| along);
                    other |= std::mem::replace(&mut word.along, along) != along;
                }
                if other {
                    changed.push(nth);
                }
            }
            at = end + 1;
        }
        changed
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::editor::model::words::WordKind;
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
    const TEXTS: [&str; 14] = [
        "",
        "[",
        "[12",
        "::",
        "|:|:|",
        "(",
        "G7(",
        "♭♭",
        "[A|",
        " \n\t",
        "a:b|",
        "]",
        "Title: Tide\nTitle: C6 | F6 |\n",
        "\n\nLow Tide\n\n3/4 C6 F6\nG6 | C6\n\n| F6",
    ];

    fn all() -> impl Iterator<Item = &'static str> {
        CHARTS.into_iter().chain(TEXTS)
    }

    /// The words of all lines with their places in the text.
    fn words_of(lines: &Lines) -> Vec<(Range<usize>, WordKind)> {
        let mut words = Vec::new();
        let mut at = 0;
        for line in lines.iter() {
            let here = line.words.iter();
            words
                .extend(here.map(|word| (at + word.source.start..at + word.source.end, word.kind)));
            at += line.text.len() + 1;
        }
        words
    }

    /// Cut line by line, a text has the words that the reader of charts sees.
    #[test]
    fn the_words_of_lines_are_those_of_the_text() {
        for names in [NoteNames::English, NoteNames::German] {
            for text in all() {
                let lines = Lines::new(text, names);
                assert_eq!(words_of(&lines), chart::cut(text, names), "{text:?}");
                let texts: Vec<&str> = lines.iter().map(|line| &*line.text).collect();
                assert_eq!(texts.join("\n"), text);
            }
        }
    }

    /// Lines that were edited are those of the text after, cut and read as a whole.
    #[test]
    fn edited_lines_are_those_of_the_text_after() {
        let names = NoteNames::English;
        for before in all() {
            let signs = before.char_indices().map(|(at, _)| at);
            for at in signs
                .chain([before.len()])
                .filter(|at| before.is_char_boundary(*at))
            {
                let (head, tail) = before.split_at(at);
                let mut fewer = tail.chars();
                fewer.next();
                let texts = ["G", " ", "|", "\n", "(", "\n\n| F6 Bb7 |\n", "Title: "];
                let texts = texts.map(|put| format!("{head}{put}{tail}"));
                for after in texts
                    .iter()
                    .map(String::as_str)
                    .chain([&*format!("{head}{}", fewer.as_str())])
                {
                    let bars = chart::written(after, names);
                    let edit = Edit::between(before, after);
                    let mut lines = Lines::new(before, names);
                    let old: Vec<Line> = lines.iter().cloned().collect();
                    let meter = |at: usize| {
                        let count = bars.partition_point(|bar| bar.source.start < at);
                        count
                            .checked_sub(1)
                            .map_or(Meter::COMMON, |bar| bars[bar].meter)
                    };
                    let replaced = lines.edit(after, &edit, meter);
                    let whole = Lines::new(after, names);
                    assert_eq!(words_of(&lines), words_of(&whole), "{before:?} {after:?}");
                    // The other lines are as before.
                    for (nth, line) in lines.iter().enumerate() {
                        let told = replaced.after.contains(&nth) || replaced.moved.contains(&nth);
                        let past = nth >= replaced.after.end;
                        let was = if past {
                            nth + replaced.before.end - replaced.after.end
                        } else {
                            nth
                        };
                        assert!(told || old[was] == *line, "{before:?} {after:?} {nth}");
                    }
                    // Reading the whole text finds nothing more.
                    let late = lines.read(&bars);
                    assert_eq!(lines, whole, "{before:?} {after:?}");
                    if !after.contains("3/4") && !after.contains("5/4") && !after.contains("Title")
                    {
                        assert_eq!(late, Vec::<usize>::new(), "{before:?} {after:?}");
                    }
                }
            }
        }
    }

    /// Every chord of the chart is a share of a bar, and every letter a mark.
    #[test]
    fn words_and_bars_are_those_of_the_reader() {
        for text in CHARTS {
            let chart = chart::parse(text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
            let words = words_of(&Lines::new(text, NoteNames::English));
            let bars = chart::written(text, NoteNames::English);
            let ours: Vec<_> = bars.iter().map(|bar| bar.source.clone()).collect();
            let theirs: Vec<_> = chart.written.iter().map(|w| w.source.clone()).collect();
            assert_eq!(ours, theirs, "{text}");
            for change in &chart.changes {
                assert!(
                    words.contains(&(change.source.clone(), WordKind::Share)),
                    "{text}"
                );
            }
            for recall in &chart.recalls {
                assert!(
                    words.contains(&(recall.source.clone(), WordKind::Mark)),
                    "{text}"
                );
            }
        }
    }

    #[test]
    fn any_text_is_cut_without_end_or_loss() {
        for text in TEXTS {
            let mut at = 0;
            for (source, _) in words_of(&Lines::new(text, NoteNames::English)) {
                assert!(source.start >= at && !source.is_empty(), "{text:?}");
                let between = text.get(at..source.start).unwrap();
                assert!(between.trim().is_empty(), "{text:?}");
                at = source.end;
            }
            assert!(text.get(at..).unwrap().trim().is_empty(), "{text:?}");
        }
    }
}
