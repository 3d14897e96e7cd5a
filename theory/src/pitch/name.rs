//! Names of notes without their octave. Imports `letter` and `note`.

use super::letter::{Interval, Letter};
use super::note::PitchClass;
use std::fmt;

/// A note's name without its octave: F sharp and G flat differ.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct NoteName {
    /// The letter.
    pub letter: Letter,
    /// Sharps (positive) or flats (negative). Written roots have at most two; tensions over
    /// such roots can need three or four.
    pub accidental: i8,
}

impl NoteName {
    /// A name from its letter and accidental.
    #[must_use]
    pub const fn new(letter: Letter, accidental: i8) -> NoteName {
        NoteName { letter, accidental }
    }

    /// Reads a name at the start of a text, in ASCII or with signs, and gives
    /// the rest of the text.
    #[must_use]
    pub fn read(text: &str) -> Option<(NoteName, &str)> {
        let mut chars = text.chars();
        let letter = Letter::from_char(chars.next()?)?;
        let mut name = NoteName::new(letter, 0);
        let mut rest = chars.as_str();
        loop {
            let mut signs = rest.chars();
            match signs.next() {
                Some('#' | '♯') => name.accidental += 1,
                Some('b' | '♭') => name.accidental -= 1,
                _ => return Some((name, rest)),
            }
            if name.accidental.abs() > 2 {
                return None;
            }
            rest = signs.as_str();
        }
    }

    /// The pitch class that this name sounds.
    #[must_use]
    pub const fn class(self) -> PitchClass {
        PitchClass::wrapping(self.letter.semitones() as i32 + self.accidental as i32)
    }

    /// The name an interval higher, spelled by its letter: an augmented second
    /// over G is A sharp, never B flat.
    #[must_use]
    pub const fn up(self, interval: Interval) -> NoteName {
        let letter = Letter::from_step(self.letter.step() + interval.steps);
        let plain = letter.semitones() - self.letter.semitones();
        let plain = plain.rem_euclid(12);
        let wanted = (interval.semitones + self.accidental).rem_euclid(12);
        let mut accidental = wanted - plain;
        if accidental > 6 {
            accidental -= 12;
        } else if accidental < -6 {
            accidental += 12;
        }
        NoteName { letter, accidental }
    }

    /// The position on the line of fifths: C is 0, G 1, F -1, F sharp 6.
    #[must_use]
    pub const fn fifths(self) -> i8 {
        let natural = match self.letter {
            Letter::F => -1,
            Letter::C => 0,
            Letter::G => 1,
            Letter::D => 2,
            Letter::A => 3,
            Letter::E => 4,
            Letter::B => 5,
        };
        natural + 7 * self.accidental
    }

    /// The name at a position on the line of fifths, see [`NoteName::fifths`].
    #[must_use]
    pub const fn from_fifths(fifths: i8) -> NoteName {
        let letter = match fifths.rem_euclid(7) {
            0 => Letter::C,
            1 => Letter::G,
            2 => Letter::D,
            3 => Letter::A,
            4 => Letter::E,
            5 => Letter::B,
            _ => Letter::F,
        };
        NoteName {
            letter,
            accidental: (fifths + 1).div_euclid(7),
        }
    }

    /// The name `fifths` further along the line of fifths.
    #[must_use]
    pub const fn along_fifths(self, fifths: i8) -> NoteName {
        NoteName::from_fifths(self.fifths() + fifths)
    }

    /// The name, or the other name of the same key if that is easier to read: if the name lies
    /// more than two flats or three sharps beyond the naturals. Names from F flat to A sharp
    /// stay.
    #[must_use]
    pub const fn readable(self) -> NoteName {
        match self.fifths() {
            ..=-9 => self.along_fifths(12),
            11.. => self.along_fifths(-12),
            _ => self,
        }
    }
}

impl fmt::Display for NoteName {
    /// ASCII: `Bb`, `F#`, `Ebb`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.letter.as_char())?;
        let sign = if self.accidental < 0 { 'b' } else { '#' };
        for _ in 0..self.accidental.unsigned_abs() {
            write!(f, "{sign}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intervals_keep_their_letters() {
        let g = NoteName::new(Letter::G, 0);
        let sharp_nine = Interval {
            steps: 1,
            semitones: 3,
        };
        assert_eq!(g.up(sharp_nine).to_string(), "A#");
        let cb = NoteName::new(Letter::C, -1);
        let diminished_seventh = Interval {
            steps: 6,
            semitones: 9,
        };
        assert_eq!(cb.up(diminished_seventh).to_string(), "Bbbb");
        let bs = NoteName::new(Letter::B, 1);
        let third = Interval {
            steps: 2,
            semitones: 4,
        };
        assert_eq!(bs.up(third).to_string(), "D##");
    }

    #[test]
    fn fifths_round_trip() {
        for fifths in -20..=20 {
            assert_eq!(NoteName::from_fifths(fifths).fifths(), fifths);
        }
        assert_eq!(NoteName::from_fifths(-5).to_string(), "Db");
        assert_eq!(NoteName::from_fifths(6).to_string(), "F#");
    }
}
