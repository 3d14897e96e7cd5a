//! Names of notes with their octave. Imports `name` and `note`.

use super::name::NoteName;
use super::note::MidiNote;
use std::fmt;

/// A spelled note in its octave: `Eb4`. Middle C is C4.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct SpelledPitch {
    /// The name.
    pub name: NoteName,
    /// The octave of the natural letter; octave 4 starts at middle C.
    pub octave: i8,
}

impl SpelledPitch {
    /// The MIDI note, if it is one (0 to 127).
    #[must_use]
    pub fn midi(self) -> Option<MidiNote> {
        let semitones = (i32::from(self.octave) + 1) * 12
            + i32::from(self.name.letter.semitones())
            + i32::from(self.name.accidental);
        u8::try_from(semitones).ok().and_then(MidiNote::new)
    }

    /// Reads `F3`, `Bb3`, `C#4`, `Cb-1`.
    #[must_use]
    pub fn parse(text: &str) -> Option<SpelledPitch> {
        let (name, rest) = NoteName::read(text)?;
        let octave = rest.parse().ok()?;
        let pitch = SpelledPitch { name, octave };
        pitch.midi().map(|_| pitch)
    }
}

impl fmt::Display for SpelledPitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.name, self.octave)
    }
}

impl NoteName {
    /// This name for a sounding MIDI note, with the octave that fits: MIDI 59
    /// named C flat is C flat 4.
    #[must_use]
    pub const fn at(self, note: MidiNote) -> SpelledPitch {
        let natural = note.semitones() - self.accidental as i32;
        SpelledPitch {
            name: self,
            // Between -3 and 11 for MIDI notes and four accidentals.
            octave: (natural.div_euclid(12) - 1).to_le_bytes()[0].cast_signed(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::letter::Letter;

    #[test]
    fn names_keep_their_octave_across_the_c_line() {
        let name = |l, a| NoteName::new(l, a);
        let at = |n: NoteName, m| n.at(MidiNote::clamp(m)).to_string();
        assert_eq!(at(name(Letter::C, 0), 60), "C4");
        assert_eq!(at(name(Letter::C, -1), 59), "Cb4");
        assert_eq!(at(name(Letter::B, 1), 60), "B#3");
        for midi in 0..=127 {
            let note = MidiNote::clamp(midi);
            for fifths in -12..=16 {
                let n = NoteName::from_fifths(fifths);
                if n.class() == note.class() {
                    assert_eq!(n.at(note).midi(), Some(note), "{n} at {midi}");
                }
            }
        }
    }

    #[test]
    fn pitches_read_back() {
        for text in ["C4", "Bb3", "F##2", "Cb-1", "G9"] {
            let read = SpelledPitch::parse(text).map(|p| p.to_string());
            let expected = (text != "Cb-1").then(|| text.to_owned());
            assert_eq!(read, expected, "below MIDI note 0 there is nothing");
        }
        for text in ["", "H3", "C", "C###4", "G#9", "3"] {
            assert_eq!(SpelledPitch::parse(text), None, "{text}");
        }
    }
}
