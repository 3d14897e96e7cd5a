//! A melody over the chart, one note for a chord: typed, or taken from the right hand.
//! It is kept by time, so that it stays where it is when chords change under it. Pure;
//! the panel's thread. `state` and `apply` beside it import it.

use guidehand_theory::chart::{Change, Chart};
use guidehand_theory::pitch::NoteName;
use guidehand_theory::reharm::Note;
use std::fmt::Write;
use std::ops::Range;

/// The most notes that are kept.
const MOST_NOTES: usize = 20_000;

/// Notes in their places.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Melody {
    /// Ascending, one after the other.
    notes: Vec<Named>,
}

/// A note by its name, with its ticks.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Named {
    name: NoteName,
    ticks: Range<u32>,
}

/// The highest key of the right hand over the change in force.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct RightHand {
    highest: Option<(usize, u8)>,
}

impl RightHand {
    /// Follows the hand: which change is in force, and which key is the highest one
    /// that is held. Returns the change and its key when that is the highest since the
    /// change began.
    pub fn follow(&mut self, change: usize, highest: Option<u8>) -> Option<(usize, u8)> {
        if self.highest.is_some_and(|(at, _)| at != change) {
            self.highest = None;
        }
        let key = highest?;
        if self.highest.is_some_and(|(_, before)| before >= key) {
            return None;
        }
        self.highest = Some((change, key));
        self.highest
    }
}

/// The highest key at or above the split among those held, one bit for each.
#[must_use]
pub const fn highest(held: u128, split: u8) -> Option<u8> {
    let above = held >> (split & 127) << (split & 127);
    #[expect(clippy::cast_possible_truncation, reason = "a bit's place, 0 to 127")]
    let key = (127 - (above.leading_zeros() & 127)) as u8;
    if above == 0 { None } else { Some(key) }
}

/// Reads a line of note names for so many chords; `-` is none, and so is what is
/// missing at the end. A number after a name is an octave, which does not matter.
///
/// # Errors
/// What is wrong, in a sentence.
pub fn read_line(line: &str, chords: usize) -> Result<Vec<Option<NoteName>>, String> {
    let words = line.split(|c: char| c.is_whitespace() || matches!(c, ',' | '|'));
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    if words.len() > chords {
        let chords = match chords {
            1 => "1 chord".to_owned(),
            chords => format!("{chords} chords"),
        };
        return Err(format!("{} notes for {chords}.", words.len()));
    }
    let mut notes = words
        .into_iter()
        .map(read_note)
        .collect::<Result<Vec<_>, _>>()?;
    notes.resize(chords, None);
    Ok(notes)
}

fn read_note(word: &str) -> Result<Option<NoteName>, String> {
    if matches!(word, "-" | "–" | "—") {
        return Ok(None);
    }
    let mut letters = word.chars();
    let upper = letters.next().map(|first| first.to_ascii_uppercase());
    let word_read: String = upper.into_iter().chain(letters).collect();
    match NoteName::read(&word_read) {
        Some((name, rest)) if rest.chars().all(|c| c.is_ascii_digit()) => Ok(Some(name)),
        _ => Err(format!(
            "{word} is no note: write E, Bb or F#, or - for none."
        )),
    }
}

impl Melody {
    /// The notes as the theory takes them.
    #[must_use]
    pub fn notes(&self) -> Vec<Note> {
        let note = |named: &Named| Note {
            class: named.name.class(),
            start_ticks: named.ticks.start,
            length_ticks: named.ticks.end - named.ticks.start,
        };
        self.notes.iter().map(note).collect()
    }

    /// The line of note names for these changes; empty if there are none.
    #[must_use]
    pub fn line(&self, chart: &Chart, at: &Range<usize>) -> String {
        let changes = chart.changes.get(at.clone()).unwrap_or(&[]);
        let at_start = |change: &Change| {
            let mut notes = self.notes.iter();
            notes.find(|note| note.ticks.contains(&change.start_ticks))
        };
        let notes: Vec<Option<&Named>> = changes.iter().map(at_start).collect();
        if notes.iter().all(Option::is_none) {
            return String::new();
        }
        let words = notes.iter().map(|note| match note {
            Some(note) => note.name.to_string(),
            None => "-".to_owned(),
        });
        words.collect::<Vec<_>>().join(" ")
    }

    /// Puts notes over changes, one for each, in the place of those there.
    pub fn put(&mut self, chart: &Chart, at: &Range<usize>, names: &[Option<NoteName>]) {
        let changes = chart.changes.get(at.clone()).unwrap_or(&[]);
        for (change, name) in changes.iter().zip(names) {
            let ticks = change.start_ticks..change.start_ticks + change.length_ticks;
            self.clear(&ticks);
            if let Some(name) = *name
                && self.notes.len() < MOST_NOTES
            {
                self.notes.push(Named { name, ticks });
            }
        }
        self.notes.sort_by_key(|note| note.ticks.start);
    }

    /// Silences a stretch.
    fn clear(&mut self, ticks: &Range<u32>) {
        let mut kept = Vec::with_capacity(self.notes.len());
        for note in self.notes.drain(..) {
            let before = note.ticks.start..note.ticks.end.min(ticks.start);
            let after = note.ticks.start.max(ticks.end)..note.ticks.end;
            for left in [before, after] {
                if !left.is_empty() {
                    kept.push(Named {
                        name: note.name,
                        ticks: left,
                    });
                }
            }
        }
        self.notes = kept;
    }

    /// The melody as it is saved: for each note its name, its start and its length
    /// in ticks.
    #[must_use]
    pub fn to_text(&self) -> String {
        let mut text = String::new();
        for Named { name, ticks } in &self.notes {
            let space = if text.is_empty() { "" } else { " " };
            // Writing to a text does not fail.
            let _written = write!(
                text,
                "{space}{name} {} {}",
                ticks.start,
                ticks.end - ticks.start
            );
        }
        text
    }

    /// Reads what was saved; what cannot be read, or lies over what was read
    /// before, is left out.
    #[must_use]
    pub fn from_text(text: &str) -> Melody {
        let words: Vec<&str> = text.split_whitespace().take(3 * MOST_NOTES).collect();
        let mut melody = Melody::default();
        for note in words.chunks_exact(3) {
            let [name, start, length] = note else {
                continue;
            };
            let ticks = start.parse::<u32>().ok().zip(length.parse::<u32>().ok());
            let ticks = ticks.and_then(|(start, length)| Some(start..start.checked_add(length)?));
            let after = |ticks: &Range<u32>| {
                let last = melody.notes.last();
                !ticks.is_empty() && last.is_none_or(|last| last.ticks.end <= ticks.start)
            };
            if let (Ok(Some(name)), Some(ticks)) = (read_note(name), ticks.filter(after)) {
                melody.notes.push(Named { name, ticks });
            }
        }
        melody
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::chart;

    #[test]
    fn a_line_has_a_note_for_each_chord() {
        let names = |line: &str, chords| {
            read_line(line, chords).map(|notes| {
                let name = |note: &Option<NoteName>| note.map(|name| name.to_string());
                notes.iter().map(name).collect::<Vec<_>>()
            })
        };
        let some = |name: &str| Some(name.to_owned());
        assert_eq!(names("E D C", 3), Ok(vec![some("E"), some("D"), some("C")]));
        assert_eq!(
            names("eb - F♯5", 4),
            Ok(vec![some("Eb"), None, some("F#"), None])
        );
        assert_eq!(names("", 2), Ok(vec![None, None]));
        assert!(names("E D", 1).is_err());
        assert!(names("H", 1).is_err_and(|words| words.starts_with("H is no note")));
    }

    #[test]
    fn notes_stay_in_their_place_when_chords_change_under_them() {
        let plain = chart::parse("| Dm7 | G7 | Cmaj7 |").unwrap();
        let mut melody = Melody::default();
        melody.put(&plain, &(0..3), &read_line("F E G", 3).unwrap());
        assert_eq!(melody.line(&plain, &(1..3)), "E G");
        let split = chart::parse("| Dm7 | Abm7 Db7 | Cmaj7 |").unwrap();
        assert_eq!(melody.line(&split, &(0..4)), "F E E G");
        // A note in its middle shortens the long one.
        melody.put(&split, &(2..3), &read_line("D", 1).unwrap());
        assert_eq!(melody.line(&split, &(0..4)), "F E D G");
        assert_eq!(melody.line(&plain, &(0..3)), "F E G");
        melody.put(&plain, &(0..3), &[None, None, None]);
        assert_eq!(melody, Melody::default());
    }

    #[test]
    fn what_is_saved_comes_back() {
        let chart = chart::parse("| Dm7 | G7 | Cmaj7 |").unwrap();
        let mut melody = Melody::default();
        melody.put(&chart, &(0..3), &read_line("F - Gb", 3).unwrap());
        assert_eq!(Melody::from_text(&melody.to_text()), melody);
        assert_eq!(Melody::from_text(""), Melody::default());
        let odd = "F 0 10 H 20 10 G 5 10 A -1 3 B 4294967295 2 C 30";
        assert_eq!(Melody::from_text(odd).to_text(), "F 0 10");
    }

    #[test]
    fn the_highest_key_since_the_change_counts() {
        let mut hand = RightHand::default();
        assert_eq!(hand.follow(0, None), None);
        assert_eq!(hand.follow(0, Some(72)), Some((0, 72)));
        assert_eq!(hand.follow(0, Some(67)), None);
        assert_eq!(hand.follow(0, Some(76)), Some((0, 76)));
        assert_eq!(hand.follow(1, Some(67)), Some((1, 67)));
        assert_eq!(hand.follow(0, Some(60)), Some((0, 60)), "once more around");
    }

    #[test]
    fn keys_below_the_split_are_not_the_melody() {
        let held = 1 << 48 | 1 << 64 | 1 << 67;
        assert_eq!(highest(held, 60), Some(67));
        assert_eq!(highest(held, 67), Some(67));
        assert_eq!(highest(held, 68), None);
        assert_eq!(highest(1 << 127, 127), Some(127));
        assert_eq!(highest(0, 0), None);
    }
}
