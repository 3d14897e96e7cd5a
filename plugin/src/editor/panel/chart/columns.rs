//! Where the words of a chart stand in their line: bars of one width under each
//! other, chords at their place in the bar, as far as there is room. The text
//! keeps its own spaces; only gaps are added. The panel runs it; `layout` imports it.
//! Imports `words`.

use crate::editor::model::words::{self, Line, Word, WordKind};

/// A gap before a word.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Where the word starts in its line, in bytes.
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
const WIDEST_BAR: f32 = 24.0;

impl Room {
    fn of(&self, characters: usize) -> f32 {
        #[expect(clippy::cast_precision_loss, reason = "characters of one line")]
        let count = characters as f32;
        count * self.character
    }
}

/// The columns of a chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Columns {
    room: Room,
    /// What is kept for marks before the first bar line, in points.
    before: f32,
    /// From bar line to bar line, in points. None where no line fits.
    pitch: Option<f32>,
}

impl Columns {
    /// The columns that the lines of a chart need. Lines that are too long for columns do
    /// not count.
    pub fn new<'a>(room: Room, lines: impl Iterator<Item = &'a Line>) -> Columns {
        let fitting = lines.filter(|line| !line.words.is_empty());
        let fitting = fitting.filter(|line| room.of(line.characters) <= room.width);
        let (most, hanging) = fitting.fold((0, 0), |(most, hanging), line| {
            (most.max(line.bars), hanging.max(line.hanging))
        });
        let before = room.of(hanging);
        let pitch = (most > 0).then(|| {
            #[expect(clippy::cast_precision_loss, reason = "bars of one line")]
            let bars = most as f32;
            let pitch = (room.width - before - 3.0 * room.character) / bars;
            pitch.min(WIDEST_BAR * room.character).floor()
        });
        Columns {
            room,
            before,
            pitch,
        }
    }

    /// The gaps of a line, in its order. One that is too long for columns has none.
    pub fn gaps(&self, line: &Line) -> Vec<Gap> {
        let mut gaps = Vec::new();
        let Some(pitch) = self.pitch else {
            return gaps;
        };
        let characters = |part: std::ops::Range<usize>| {
            let part = line.text.get(part);
            self.room.of(part.map_or(0, |part| part.chars().count()))
        };
        // How far the gaps so far have pushed.
        let mut pushed = 0.0;
        let mut bar_start = self.before;
        let mut place = |word: &Word, to: f32| -> f32 {
            let left = characters(0..word.source.start) + pushed;
            let width = (to - left).round().max(0.0);
            if width > 0.0 {
                let at = word.source.start;
                gaps.push(Gap { at, width });
                pushed += width;
            }
            left + width + characters(word.source.clone())
        };
        let mut right = 0.0_f32;
        let mut rest = line.words.as_slice();
        while let Some((word, after)) = rest.split_first() {
            if word.kind == WordKind::Line {
                right = place(word, bar_start);
                rest = after;
                continue;
            }
            let count = rest
                .iter()
                .take_while(|word| word.kind != WordKind::Line)
                .count();
            let (part, after) = rest.split_at_checked(count).unwrap_or((rest, &[]));
            right = self.bar(part, (bar_start + pitch, right), &mut place);
            if words::shares(part) > 0 {
                bar_start += pitch;
            }
            rest = after;
        }
        if right > self.room.width {
            gaps.clear();
        }
        gaps
    }

    /// What stands between two bar lines, which ends at a place and comes after another
    /// one; gives its right end.
    fn bar(
        &self,
        words: &[Word],
        (end, mut right): (f32, f32),
        place: &mut impl FnMut(&Word, f32) -> f32,
    ) -> f32 {
        let mut from = right + self.room.character;
        let mut begun = false;
        for word in words {
            if word.kind == WordKind::Share {
                right = place(word, from + (end - from) * word.along);
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
    use crate::editor::model::chart_lines::Lines;
    use guidehand_theory::pitch::NoteNames;

    const ROOM: Room = Room {
        width: 440.0,
        character: 9.0,
    };

    /// Where each word starts, in points.
    fn places(text: &str, room: Room) -> Vec<(String, f32)> {
        let lines = Lines::new(text, NoteNames::English);
        let columns = Columns::new(room, lines.iter());
        let mut places = Vec::new();
        for line in lines.iter() {
            let gaps = columns.gaps(line);
            for word in &line.words {
                let natural = room.of(line.text[..word.source.start].chars().count());
                let pushed = gaps.iter().filter(|gap| gap.at <= word.source.start);
                let place = natural + pushed.map(|gap| gap.width).sum::<f32>();
                places.push((line.text[word.source.clone()].to_owned(), place));
            }
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
        let lines = Lines::new(&text, NoteNames::English);
        let columns = Columns::new(ROOM, lines.iter());
        let gaps: Vec<_> = lines.iter().map(|line| columns.gaps(line)).collect();
        assert!(!gaps[0].is_empty());
        assert_eq!(gaps[1], [], "{gaps:?}");
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
                let right = x + room.of(last.chars().count());
                assert!(
                    right <= width.max(room.of(text.chars().count())),
                    "{text} {width}: {right}"
                );
            }
        }
    }
}
