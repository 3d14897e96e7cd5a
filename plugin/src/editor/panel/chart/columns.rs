//! Where the words of a chart stand in their line: bars of one width under each
//! other, chords at their place in the bar, as far as there is room. The text
//! keeps its own spaces; only gaps are added. Imports `words`.

use crate::editor::model::words::{self, Kind, Word};
use guidehand_theory::pitch::NoteNames;
use std::collections::BTreeMap;

/// A gap before a word.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Where the word starts in the text, in bytes.
    pub at: usize,
    /// How wide, in points.
    pub width: f32,
}

/// What there is to lay out in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// The width of the line, in points.
    pub width: f32,
    /// The width of every character, in points.
    pub character: f32,
}

/// Bars grow no wider than this, in characters.
const WIDEST_BAR: f32 = 17.0;

/// A line of the text with its words.
struct Line<'a> {
    text: &'a str,
    /// Where it starts, in bytes.
    at: usize,
    words: &'a [Word],
}

/// The gaps, in the order of the text. Lines that are too long for columns have
/// none.
#[must_use]
pub fn gaps((text, names): (&str, NoteNames), words: &[Word], room: Room) -> Vec<Gap> {
    let lines: Vec<Line> = lines(text, words)
        .filter(|line| !line.words.is_empty())
        .collect();
    let fitting = || {
        let fits = |line: &&Line| room.of(line.text) <= room.width;
        lines.iter().filter(fits)
    };
    let most = fitting().map(Line::bars).max().unwrap_or(0);
    if most == 0 {
        return Vec::new();
    }
    let before = fitting().map(|line| room.of(line.before_bars()));
    let before = before.fold(0.0, f32::max);
    #[expect(clippy::cast_precision_loss, reason = "bars of one line")]
    let bars = most as f32;
    let pitch = (room.width - before - 3.0 * room.character) / bars;
    let pitch = pitch.min(WIDEST_BAR * room.character).floor();
    let bars = words::bars(text, names);
    let shares = bars.iter().flat_map(|bar| {
        let places = bar.shares.iter().zip(&bar.at_ticks);
        places.map(|(share, at)| (share.start, fraction(*at, bar.length_ticks)))
    });
    let columns = Columns {
        room,
        before,
        pitch,
        places: shares.collect(),
    };
    lines.iter().flat_map(|line| columns.line(line)).collect()
}

/// The lines of the text with their words.
fn lines<'a>(text: &'a str, words: &'a [Word]) -> impl Iterator<Item = Line<'a>> {
    let (mut at, mut rest) = (0, words);
    text.split('\n').map(move |line| {
        let end = at + line.len();
        let count = rest.partition_point(|word| word.source.start < end);
        let (here, after) = rest.split_at_checked(count).unwrap_or((rest, &[]));
        let start = std::mem::replace(&mut at, end + 1);
        rest = after;
        Line {
            text: line,
            at: start,
            words: here,
        }
    })
}

impl Room {
    fn of(&self, text: &str) -> f32 {
        #[expect(clippy::cast_precision_loss, reason = "characters of one line")]
        let count = text.chars().count() as f32;
        count * self.character
    }
}

impl Line<'_> {
    /// The bars that have something in them.
    fn bars(&self) -> usize {
        let parts = self.words.split(|word| word.kind == Kind::Line);
        parts.filter(|part| shares(part) > 0).count()
    }

    /// What stands before the first bar line, where that is marks alone.
    fn before_bars(&self) -> &str {
        let first = self.words.iter().find(|word| word.kind != Kind::Mark);
        let first = first.filter(|word| word.kind == Kind::Line);
        let end = first.map_or(0, |word| word.source.start - self.at);
        self.text.get(..end).unwrap_or("")
    }
}

/// A part of a bar.
fn fraction(ticks: u32, of: u32) -> f32 {
    #[expect(clippy::cast_precision_loss, reason = "ticks of a bar, below 2^17")]
    {
        ticks as f32 / of.max(1) as f32
    }
}

fn shares(words: &[Word]) -> usize {
    words.iter().filter(|w| w.kind == Kind::Share).count()
}

/// The columns of a chart.
struct Columns {
    room: Room,
    /// What is kept for marks before the first bar line, in points.
    before: f32,
    /// From bar line to bar line, in points.
    pitch: f32,
    /// Where in its bar each share stands, by its place in the text.
    places: BTreeMap<usize, f32>,
}

impl Columns {
    fn line(&self, line: &Line) -> Vec<Gap> {
        let mut gaps = Vec::new();
        // How far the gaps so far have pushed.
        let mut pushed = 0.0;
        let mut bar_start = self.before;
        let mut place = |word: &Word, to: f32| -> f32 {
            let before = line.text.get(..word.source.start - line.at).unwrap_or("");
            let left = self.room.of(before) + pushed;
            let width = (to - left).round().max(0.0);
            if width > 0.0 {
                let at = word.source.start;
                gaps.push(Gap { at, width });
                pushed += width;
            }
            let word = line
                .text
                .get(word.source.start - line.at..word.source.end - line.at);
            left + width + self.room.of(word.unwrap_or(""))
        };
        let mut right = 0.0_f32;
        let mut rest = line.words;
        while let Some((word, after)) = rest.split_first() {
            if word.kind == Kind::Line {
                right = place(word, bar_start);
                rest = after;
                continue;
            }
            let count = rest.iter().take_while(|w| w.kind != Kind::Line).count();
            let (part, after) = rest.split_at_checked(count).unwrap_or((rest, &[]));
            right = self.bar(part, bar_start, right, &mut place);
            if shares(part) > 0 {
                bar_start += self.pitch;
            }
            rest = after;
        }
        if right > self.room.width {
            gaps.clear();
        }
        gaps
    }

    /// What stands between two bar lines; gives its right end.
    fn bar(
        &self,
        words: &[Word],
        start: f32,
        line_right: f32,
        place: &mut impl FnMut(&Word, f32) -> f32,
    ) -> f32 {
        let mut right = line_right;
        let end = start + self.pitch;
        let mut from = right + self.room.character;
        let mut begun = false;
        for word in words {
            if word.kind == Kind::Share {
                let along = self.places.get(&word.source.start);
                right = place(word, from + (end - from) * along.copied().unwrap_or(0.0));
                begun = true;
            } else {
                right = place(word, 0.0);
                if !begun {
                    from = right + self.room.character;
                }
            }
        }
        right
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::editor::model::words::words;

    const ROOM: Room = Room {
        width: 440.0,
        character: 9.0,
    };

    /// Where each word starts, in points.
    fn places(text: &str, room: Room) -> Vec<(String, f32)> {
        let words = words(text, NoteNames::English);
        let gaps = gaps((text, NoteNames::English), &words, room);
        let mut places = Vec::new();
        for word in &words {
            let line = text[..word.source.start].rfind('\n').map_or(0, |at| at + 1);
            let natural = room.of(&text[line..word.source.start]);
            let pushed = gaps
                .iter()
                .filter(|g| (line..=word.source.start).contains(&g.at));
            let place = natural + pushed.map(|g| g.width).sum::<f32>();
            places.push((text[word.source.clone()].to_owned(), place));
        }
        places
    }

    fn of(places: &[(String, f32)], word: &str) -> Vec<f32> {
        let found = places.iter().filter(|(w, _)| w == word);
        found.map(|(_, x)| *x).collect()
    }

    #[test]
    fn bar_lines_stand_under_each_other() {
        let text = "| Dm7 | G7 | Cmaj7 | A7 |\n| Em7b5 | A7b9 | Dm7 G7 | C6/9 |";
        let lines = of(&places(text, ROOM), "|");
        let (first, second) = lines.split_at(5);
        assert_eq!(first, second);
        let pitch = first[1] - first[0];
        assert!(first.windows(2).all(|w| (w[1] - w[0] - pitch).abs() <= 1.0));
        assert!(pitch > 90.0, "{pitch}");
    }

    #[test]
    fn chords_stand_at_their_beats() {
        let places = places("| Dm7 G7 | C6 |", ROOM);
        let at = |word: &str| of(&places, word)[0];
        let lines = of(&places, "|");
        let half = (lines[0] + lines[1]) / 2.0;
        assert!((at("G7") - half).abs() < 10.0, "{} {half}", at("G7"));
        assert!((at("Dm7") - 18.0).abs() < 1.0);
    }

    #[test]
    fn chords_of_different_lengths_stand_apart() {
        let places = places(
            "| Dm7 G7 C6 | F6 |",
            Room {
                width: 600.0,
                ..ROOM
            },
        );
        let at = |word: &str| of(&places, word)[0];
        let (long, short) = (at("G7") - at("Dm7"), at("C6") - at("G7"));
        assert!((long - 2.0 * short).abs() < 3.0, "{long} {short}");
    }

    #[test]
    fn letters_before_the_bars_hang_out() {
        let places = places("[A] | Dm7 | G7 |\n| C6 | F6 |\n[B']| Bb6 | Eb6 |", ROOM);
        let lines = of(&places, "|");
        assert_eq!(lines[0], lines[3]);
        assert_eq!(lines[0], lines[6]);
        assert!(of(&places, "[A]")[0] == 0.0 && of(&places, "[B']")[0] == 0.0);
    }

    #[test]
    fn a_line_that_is_too_long_keeps_its_own_spaces() {
        let long = "| Dm7 | G7 ".repeat(12);
        let text = format!("| C6 | F6 |\n{long}|\n| Bb6 |");
        let english = NoteNames::English;
        let gaps = gaps((&text, english), &words(&text, english), ROOM);
        let inside = 11..11 + long.len() + 1;
        assert!(!gaps.is_empty());
        assert!(gaps.iter().all(|gap| !inside.contains(&gap.at)), "{gaps:?}");
    }

    #[test]
    fn no_line_grows_past_the_room() {
        for text in [
            "| Dm7 Em7 Fmaj7 G7 | Cmaj7#11(add13) | F#m7b5 B7b9 | Em7 A7 |",
            "Dm7 | G7 | C6",
            "| | |",
            "3/4 | [A] [1 C6 |: F6 :|",
        ] {
            for width in [100.0, 300.0, 440.0, 900.0] {
                let room = Room { width, ..ROOM };
                let places = places(text, room);
                let (last, x) = places.last().unwrap();
                let right = x + room.of(last);
                assert!(right <= width.max(room.of(text)), "{text} {width}: {right}");
            }
        }
    }
}
