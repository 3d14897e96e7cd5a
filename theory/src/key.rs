//! Keys, and the function of every chord of a chart. Both are found together, as the best path
//! over 36 keys with a price for each modulation. Imports `chord`, `chart` and what is above
//! them.

mod analyse;
mod hear;
mod path;
mod price;
mod roles;
mod rooted;
mod settle;
mod spelling;
mod step;
mod strangeness;
mod tonality;

pub use analyse::{analyse, analyse_in_time, between, live};
pub use roles::{Case, Numeral, Resolution, Role};
pub use strangeness::strangeness;

use crate::chord::Chord;
use crate::pcset::PcSet;
use crate::pitch::{Letter, NoteName, PitchClass};
use crate::quality::ChordFamily;

/// Major, minor, or the blues.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mode {
    /// Major
    Major,
    /// Minor, natural with the raised seventh of its dominant
    Minor,
    /// The blues in major. A dominant seventh on its tonic or its fourth degree is at home. A
    /// blues in minor is [`Mode::Minor`].
    Blues,
}

impl Mode {
    /// The families of chords that can be a tonic.
    pub(crate) const fn tonic_families(self) -> &'static [ChordFamily] {
        match self {
            Mode::Major => &[ChordFamily::Major],
            Mode::Minor => &[ChordFamily::Minor],
            Mode::Blues => &[ChordFamily::Dominant, ChordFamily::Major],
        }
    }
}

/// A key: a tonic and a mode.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Key {
    /// The tonic, as spelled.
    pub tonic: NoteName,
    /// The mode.
    pub mode: Mode,
}

impl Key {
    /// C major.
    pub const C_MAJOR: Key = Key {
        tonic: NoteName::new(Letter::C, 0),
        mode: Mode::Major,
    };

    /// The key on this tonic with its everyday spelling. Flats come before sharps if both are
    /// usual (D flat major, but C sharp minor).
    #[must_use]
    pub const fn usual(tonic: PitchClass, mode: Mode) -> Key {
        let major_tonic = match mode {
            Mode::Major | Mode::Blues => tonic.number(),
            // A minor key has the signature of the major key three semitones up.
            Mode::Minor => (tonic.number() + 3) % 12,
        };
        let major_fifths = match major_tonic {
            // It is G flat major, not F sharp major.
            6 => -6,
            n => usual_fifths(n),
        };
        let fifths = match mode {
            Mode::Major | Mode::Blues => major_fifths,
            Mode::Minor => major_fifths + 3,
        };
        Key {
            tonic: NoteName::from_fifths(fifths),
            mode,
        }
    }

    /// Reads a key: `C`, `Bb major`, `F# minor`, `Ebm`, `C blues`. Tonics are upper case:
    /// `c minor` is not a key.
    #[must_use]
    pub fn parse(text: &str) -> Option<Key> {
        let text = text.trim();
        let mut chars = text.chars();
        let letter = Letter::from_char(chars.next()?)?;
        let mut rest = chars.as_str();
        let mut accidental = 0;
        for (sign, by) in [("#", 1), ("♯", 1), ("b", -1), ("♭", -1)] {
            if let Some(after) = rest.strip_prefix(sign) {
                (rest, accidental) = (after, by);
                break;
            }
        }
        let mode = match rest.trim() {
            "" | "major" | "maj" => Mode::Major,
            "m" | "minor" | "min" | "-" => Mode::Minor,
            "blues" => Mode::Blues,
            _ => return None,
        };
        Some(Key {
            tonic: NoteName::new(letter, accidental),
            mode,
        })
    }

    /// Sharps (positive) or flats (negative) of the signature.
    #[must_use]
    pub const fn signature(self) -> i8 {
        match self.mode {
            Mode::Major | Mode::Blues => self.tonic.fifths(),
            Mode::Minor => self.tonic.fifths() - 3,
        }
    }

    /// The notes of the key's scale: major, natural minor, or in the blues the Mixolydian of
    /// its I7.
    #[must_use]
    pub fn notes(self) -> PcSet {
        let from = match self.mode {
            Mode::Major | Mode::Minor => self.signature() - 1,
            Mode::Blues => self.signature() - 2,
        };
        (from..from + 7)
            .map(|f| NoteName::from_fifths(f).class())
            .collect()
    }

    /// Semitones of a class above the tonic, 0 to 11.
    #[must_use]
    pub const fn above(self, class: PitchClass) -> u8 {
        class.above(self.tonic.class())
    }

    /// Whether the chord is a tonic of this key, whichever way it is spelled.
    #[must_use]
    pub fn is_home(self, chord: &Chord) -> bool {
        let families = self.mode.tonic_families();
        chord.root.class() == self.tonic.class() && families.contains(&chord.quality.family())
    }

    /// The everyday name for a class in this key: flats for borrowed and
    /// substituted roots, a sharp for the raised fourth.
    #[must_use]
    pub const fn name(self, class: PitchClass) -> NoteName {
        let fifths = usual_fifths(self.above(class));
        self.tonic.along_fifths(fifths).readable()
    }
}

/// The usual name of a degree, in fifths from the tonic. Only the raised fourth has a sharp.
const fn usual_fifths(semitones: u8) -> i8 {
    match semitones {
        0 => 0,
        1 => -5,
        2 => 2,
        3 => -3,
        4 => 4,
        5 => -1,
        6 => 6,
        7 => 1,
        8 => -4,
        9 => 3,
        10 => -2,
        _ => 5,
    }
}

/// What a chord does in its key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Function {
    /// The key in force.
    pub key: Key,
    /// Semitones of the chord's root above the tonic, 0 to 11. A suspended dominant
    /// that is written as a chord over its bass (F/G) counts from that bass.
    pub above: u8,
    /// How the numeral of the chord is written.
    pub case: Case,
    /// The chord's part in the key.
    pub role: Role,
    /// Where the chord goes. This decides a dominant's tensions.
    pub resolution: Resolution,
    /// Whether the chord is the ii of a ii-V in any key: a minor seventh or half-diminished
    /// chord that goes to its dominant, or to the tritone substitute of that dominant. This
    /// decides the scale of a minor seventh.
    pub is_two: bool,
}

impl Function {
    /// The chord's degree in the key: `ii`, `V`, `viiø`.
    #[must_use]
    pub const fn numeral(self) -> Numeral {
        Numeral {
            above: self.above,
            case: self.case,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signatures() {
        let read = |t: &str| Key::parse(t).unwrap();
        assert_eq!(read("Eb").signature(), -3);
        assert_eq!(read("C minor").signature(), -3);
        assert_eq!(read("F#m").signature(), 3);
        assert_eq!(Key::parse("H"), None);
        for class in (0..12).map(PitchClass::wrapping) {
            for mode in [Mode::Major, Mode::Minor] {
                let key = Key::usual(class, mode);
                assert_eq!(key.tonic.class(), class);
                assert!(key.signature().abs() <= 6, "{key}");
                assert_eq!(key.notes().len(), 7);
            }
        }
    }

    #[test]
    fn roots_take_the_name_of_the_key() {
        let c = Key::C_MAJOR;
        assert_eq!(c.name(PitchClass::wrapping(1)).to_string(), "Db");
        assert_eq!(c.name(PitchClass::wrapping(6)).to_string(), "F#");
        let eb = Key::parse("Eb").unwrap();
        assert_eq!(eb.name(PitchClass::wrapping(4)).to_string(), "Fb");
        assert_eq!(eb.name(PitchClass::wrapping(10)).to_string(), "Bb");
    }
}
