//! The seven letters, and intervals counted in letters and semitones. Imports nothing; the
//! folder of `pitch` imports it.

/// One of the seven letters that name notes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Letter {
    /// C
    #[default]
    C,
    /// D
    D,
    /// E
    E,
    /// F
    F,
    /// G
    G,
    /// A
    A,
    /// B
    B,
}

impl Letter {
    /// All letters, from C upwards.
    pub const ALL: [Letter; 7] = [
        Letter::C,
        Letter::D,
        Letter::E,
        Letter::F,
        Letter::G,
        Letter::A,
        Letter::B,
    ];

    /// The letter written as `c`, upper case only.
    #[must_use]
    pub const fn from_char(c: char) -> Option<Letter> {
        Some(match c {
            'C' => Letter::C,
            'D' => Letter::D,
            'E' => Letter::E,
            'F' => Letter::F,
            'G' => Letter::G,
            'A' => Letter::A,
            'B' => Letter::B,
            _ => return None,
        })
    }

    /// Semitones of the natural note above C, 0 to 11.
    #[must_use]
    pub const fn semitones(self) -> i8 {
        match self {
            Letter::C => 0,
            Letter::D => 2,
            Letter::E => 4,
            Letter::F => 5,
            Letter::G => 7,
            Letter::A => 9,
            Letter::B => 11,
        }
    }

    pub(super) const fn step(self) -> i8 {
        match self {
            Letter::C => 0,
            Letter::D => 1,
            Letter::E => 2,
            Letter::F => 3,
            Letter::G => 4,
            Letter::A => 5,
            Letter::B => 6,
        }
    }

    pub(super) const fn from_step(step: i8) -> Letter {
        match step.rem_euclid(7) {
            0 => Letter::C,
            1 => Letter::D,
            2 => Letter::E,
            3 => Letter::F,
            4 => Letter::G,
            5 => Letter::A,
            _ => Letter::B,
        }
    }

    pub(super) const fn as_char(self) -> char {
        match self {
            Letter::C => 'C',
            Letter::D => 'D',
            Letter::E => 'E',
            Letter::F => 'F',
            Letter::G => 'G',
            Letter::A => 'A',
            Letter::B => 'B',
        }
    }
}

/// An interval upwards: letters passed and semitones, so that an augmented
/// fourth and a diminished fifth stay apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Interval {
    /// Letters passed, 0 for a unison, 6 for a seventh.
    pub steps: i8,
    /// Semitones, 0 for a unison, 11 for a major seventh.
    pub semitones: i8,
}
