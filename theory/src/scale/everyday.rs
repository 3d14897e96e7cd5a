//! Everyday names for notes that a degree spells in an unusual way. Imports
//! nothing of its folder.

use crate::pitch::NoteName;

/// The names on the line of fifths that are easy to read, Gb to A#.
const USUAL_FIFTHS: std::ops::RangeInclusive<i8> = -6..=10;

/// The everyday name of a note whose own name is unusual: C for B#, F for E#, B for Cb, E for
/// Fb, and a simple name for a double sign. Sharps stay sharps and flats stay flats: C# for
/// B##, Eb for Fbb. None if the note's own name is usual.
#[must_use]
pub fn everyday(note: NoteName) -> Option<NoteName> {
    let mut fifths = note.fifths();
    if USUAL_FIFTHS.contains(&fifths) {
        return None;
    }
    // The same key has another name twelve fifths away.
    while fifths > *USUAL_FIFTHS.end() {
        fifths -= 12;
    }
    while fifths < *USUAL_FIFTHS.start() {
        fifths += 12;
    }
    Some(NoteName::from_fifths(fifths))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn name(text: &str) -> NoteName {
        let (note, rest) = NoteName::read(text).unwrap();
        assert_eq!(rest, "", "{text}");
        note
    }

    /// Every name with up to two signs, by hand: common practice, no published
    /// source.
    #[test]
    fn everyday_names() {
        for (written, expected) in [
            ("B#", "C"),
            ("E#", "F"),
            ("Cb", "B"),
            ("Fb", "E"),
            ("C##", "D"),
            ("D##", "E"),
            ("E##", "F#"),
            ("F##", "G"),
            ("G##", "A"),
            ("A##", "B"),
            ("B##", "C#"),
            ("Cbb", "Bb"),
            ("Dbb", "C"),
            ("Ebb", "D"),
            ("Fbb", "Eb"),
            ("Gbb", "F"),
            ("Abb", "G"),
            ("Bbb", "A"),
        ] {
            let (letter, signs) = written.split_at(1);
            let sign = if signs.starts_with('#') { 1 } else { -1 };
            let by = sign * i8::try_from(signs.len()).unwrap();
            let note = NoteName::new(name(letter).letter, by);
            let everyday = everyday(note).unwrap_or_else(|| panic!("{written} has none"));
            assert_eq!(everyday, name(expected), "{written}");
            assert_eq!(everyday.class(), note.class(), "{written}");
        }
        for usual in [
            "C", "D", "E", "F", "G", "A", "B", "C#", "D#", "F#", "G#", "A#", "Db", "Eb", "Gb",
            "Ab", "Bb",
        ] {
            assert_eq!(everyday(name(usual)), None, "{usual}");
        }
    }
}
