//! The melody of the document as the other harmonies see it: one note for a chord, the one at its
//! start, typed or taken from the right hand. Pure; the panel's thread. `state` and `apply` beside it
//! import it.

use guidehand_theory::chart::{Change, Chart};
use guidehand_theory::melody::{MOST_NOTES, Melody, MelodyNote};
use guidehand_theory::pitch::{MidiNote, NoteName, NoteNames};
use guidehand_theory::reharm::Note;
use std::ops::Range;

/// The note that others are near to where no melody comes before them: C5.
const NEAR: MidiNote = MidiNote::clamp(72);

/// The highest key of the right hand over the change in force.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct RightHand {
    highest: Option<(usize, u8)>,
    /// How many notes it has played so far.
    count: u64,
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
        self.count += 1;
        self.highest
    }

    /// Whether it has played one note only.
    #[must_use]
    pub const fn is_first(&self) -> bool {
        self.count == 1
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
pub fn read_line(
    line: &str,
    chords: usize,
    names: NoteNames,
) -> Result<Vec<Option<NoteName>>, String> {
    let words = line.split(|c: char| c.is_whitespace() || matches!(c, ',' | '|'));
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    if words.len() > chords {
        let chords = match chords {
            1 => "1 chord".to_owned(),
            chords => format!("{chords} chords"),
        };
        return Err(format!("{} notes for {chords}.", words.len()));
    }
    let notes = words.into_iter().map(|word| read_note(word, names));
    let mut notes = notes.collect::<Result<Vec<_>, _>>()?;
    notes.resize(chords, None);
    Ok(notes)
}

fn read_note(word: &str, names: NoteNames) -> Result<Option<NoteName>, String> {
    if matches!(word, "-" | "–" | "—") {
        return Ok(None);
    }
    let mut letters = word.chars();
    let upper = letters.next().map(|first| first.to_ascii_uppercase());
    let word_read: String = upper.into_iter().chain(letters).collect();
    let (read, example) = match names {
        NoteNames::English => (NoteName::read(&word_read), "E, Bb or F#"),
        NoteNames::German => (NoteName::read_german(&word_read), "E, B or Fis"),
    };
    match read {
        Some((name, rest)) if rest.chars().all(|c| c.is_ascii_digit()) => Ok(Some(name)),
        _ => Err(format!(
            "{word} is no note: write {example}, or - for none."
        )),
    }
}

/// The notes that matter to the chords, as other harmonies must bear them.
pub fn notes(melody: &Melody, chart: &Chart) -> Vec<Note> {
    let note = |note: &MelodyNote| Note {
        class: note.note.class(),
        start_ticks: note.start_ticks,
        length_ticks: note.length_ticks,
    };
    let matter = melody.without_passing(chart);
    matter.notes().iter().map(note).collect()
}

/// The names of the notes at the starts of these changes.
fn at_starts(melody: &Melody, chart: &Chart, at: &Range<usize>) -> Vec<Option<NoteName>> {
    let changes = chart.changes.get(at.clone()).unwrap_or(&[]).iter();
    let name = |change: &Change| Some(melody.at(change.start_ticks)?.spelled().name);
    changes.map(name).collect()
}

/// The line of note names for these changes; empty if there are none.
pub fn line(melody: &Melody, chart: &Chart, at: &Range<usize>) -> String {
    let notes = at_starts(melody, chart, at);
    if notes.iter().all(Option::is_none) {
        return String::new();
    }
    let words = notes.iter().map(|name| match name {
        Some(name) => name.named(chart.names).to_string(),
        None => "-".to_owned(),
    });
    words.collect::<Vec<_>>().join(" ")
}

/// The melody with a note over each of these changes, in the octave that is nearest to the note
/// before. What is written over a change whose note has this name at its start already stays.
pub fn with_line(
    melody: &Melody,
    chart: &Chart,
    at: &Range<usize>,
    names: &[Option<NoteName>],
) -> Melody {
    let before = at_starts(melody, chart, at);
    let mut melody = melody.clone();
    for (change, (before, name)) in at.clone().zip(before.into_iter().zip(names)) {
        if before != *name {
            let start = chart.changes.get(change).map_or(0, |c| c.start_ticks);
            let note = name.map(|name| (nearest(&melody, start, name), Some(name)));
            melody = with_note(&melody, chart, change, note);
        }
    }
    melody
}

/// The melody with this key over a change, from its start to its end.
pub fn with_key(melody: &Melody, chart: &Chart, change: usize, key: u8) -> Melody {
    let note = MidiNote::new(key).map(|note| (note, None));
    with_note(melody, chart, change, note)
}

/// The melody with one note over a change, or with none.
fn with_note(
    melody: &Melody,
    chart: &Chart,
    change: usize,
    note: Option<(MidiNote, Option<NoteName>)>,
) -> Melody {
    let Some(change) = chart.changes.get(change) else {
        return melody.clone();
    };
    let ticks = change.start_ticks..change.start_ticks + change.length_ticks;
    let new = note.map(|(note, name)| MelodyNote {
        note,
        name,
        start_ticks: ticks.start,
        length_ticks: ticks.end - ticks.start,
    });
    Melody::new(silenced(melody, &ticks).chain(new))
}

/// The notes of a melody without what sounds within a stretch.
fn silenced(melody: &Melody, ticks: &Range<u32>) -> impl Iterator<Item = MelodyNote> {
    let around = |note: &MelodyNote| {
        let before = note.start_ticks..note.end_ticks().min(ticks.start);
        let after = note.start_ticks.max(ticks.end)..note.end_ticks();
        let note = *note;
        let left = |part: Range<u32>| {
            (!part.is_empty()).then(|| MelodyNote {
                start_ticks: part.start,
                length_ticks: part.end - part.start,
                ..note
            })
        };
        [left(before), left(after)]
    };
    let notes: Vec<_> = melody.notes().iter().map(around).collect();
    notes.into_iter().flatten().flatten()
}

/// The key of this name that is nearest to the note before a tick, or to [`NEAR`] without one.
fn nearest(melody: &Melody, ticks: u32, name: NoteName) -> MidiNote {
    let before = melody.within(&(0..ticks)).last();
    let before = before.map_or(NEAR, |note| note.note);
    let keys = (0..=127).map(MidiNote::clamp);
    let named = keys.filter(|key| key.class() == name.class());
    let nearest = named.min_by_key(|key| (key.semitones() - before.semitones()).abs());
    nearest.unwrap_or(before)
}

/// A melody as it was saved before it was a part of the document: for each note its name, its start
/// and its length in ticks. What cannot be read, or lies over what was read before, is left out.
#[must_use]
pub fn of_old(text: &str) -> Melody {
    let words: Vec<&str> = text.split_whitespace().take(3 * MOST_NOTES).collect();
    let mut melody: Vec<MelodyNote> = Vec::new();
    for note in words.chunks_exact(3) {
        let [name, start, length] = note else {
            continue;
        };
        let ticks = start.parse::<u32>().ok().zip(length.parse::<u32>().ok());
        let ticks = ticks.and_then(|(start, length)| Some(start..start.checked_add(length)?));
        let after = |ticks: &Range<u32>| {
            let last = melody.last();
            !ticks.is_empty() && last.is_none_or(|last| last.end_ticks() <= ticks.start)
        };
        let name = read_note(name, NoteNames::English);
        if let (Ok(Some(name)), Some(ticks)) = (name, ticks.filter(after)) {
            let so_far = Melody::new(melody.last().copied());
            melody.push(MelodyNote {
                note: nearest(&so_far, ticks.start, name),
                name: Some(name),
                start_ticks: ticks.start,
                length_ticks: ticks.end - ticks.start,
            });
        }
    }
    Melody::new(melody)
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::{chart, melody};

    const ENGLISH: NoteNames = NoteNames::English;

    fn read(line: &str, chords: usize) -> Vec<Option<NoteName>> {
        read_line(line, chords, ENGLISH).unwrap()
    }

    #[test]
    fn a_line_has_a_note_for_each_chord() {
        let names = |line: &str, chords| {
            read_line(line, chords, ENGLISH).map(|notes| {
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
        let german = read_line("H", 1, NoteNames::German).unwrap();
        assert_eq!(german[0].map(|name| name.to_string()), some("B"));
    }

    #[test]
    fn notes_stay_in_their_place_when_chords_change_under_them() {
        let plain = chart::parse("| Dm7 | G7 | Cmaj7 |").unwrap();
        let melody = with_line(&Melody::default(), &plain, &(0..3), &read("F E G", 3));
        assert_eq!(melody.text(&plain), "| F5/1 | E5 | G5 |");
        assert_eq!(line(&melody, &plain, &(1..3)), "E G");
        let split = chart::parse("| Dm7 | Abm7 Db7 | Cmaj7 |").unwrap();
        assert_eq!(line(&melody, &split, &(0..4)), "F E E G");
        // A note in its middle shortens the long one.
        let melody = with_line(&melody, &split, &(2..3), &read("D", 1));
        assert_eq!(line(&melody, &split, &(0..4)), "F E D G");
        assert_eq!(line(&melody, &plain, &(0..3)), "F E G");
        let none = with_line(&melody, &plain, &(0..3), &[None, None, None]);
        assert_eq!(none, Melody::default());
    }

    /// A phrase over a chord is not flattened by a line that says its first note.
    #[test]
    fn what_the_line_says_already_stays() {
        let chart = chart::parse("| Dm7 | G7 |").unwrap();
        let text = "| F5/8 E5 D5 C5 A4/2 | B4/1 |";
        let melody = melody::parse(text, &chart).unwrap();
        let same = with_line(&melody, &chart, &(0..2), &read("F B", 2));
        assert_eq!(same.text(&chart), text);
        let other = with_line(&melody, &chart, &(0..2), &read("F D", 2));
        assert_eq!(other.text(&chart), "| F5/8 E5 D5 C5 A4/2 | D5/1 |");
        let listened = with_key(&melody, &chart, 1, 83);
        assert_eq!(listened.text(&chart), "| F5/8 E5 D5 C5 A4/2 | B5/1 |");
    }

    #[test]
    fn what_older_versions_saved_comes_back() {
        let chart = chart::parse("| Dm7 | G7 | Cmaj7 |").unwrap();
        let old = of_old("F 0 3840 Gb 7680 3840");
        assert_eq!(old.text(&chart), "| F5/1 | | Gb5 |");
        assert_eq!(of_old(""), Melody::default());
        let odd = of_old("F 0 10 H 20 10 G 5 10 A -1 3 B 4294967295 2 C 30");
        assert_eq!(odd.notes().len(), 1);
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
