//! Names of notes on the page, and which notes need an accidental. Imports `staff`.

use super::staff::Sounding;
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pitch::{Letter, NoteName, SpelledPitch};
use std::collections::BTreeMap;

/// A note by its name. The everyday name is used if the name does not fit the key, or has more than
/// two accidentals.
pub fn spelled(sounding: &Sounding) -> SpelledPitch {
    let own = sounding.name;
    let fits = own.class() == sounding.note.class() && own.accidental.abs() <= 2;
    let name = if fits {
        own
    } else {
        Key::usual(sounding.note.class(), Mode::Major).tonic
    };
    name.at(sounding.note)
}

/// The accidentals in force in a bar.
pub struct Signs {
    signature: i8,
    in_bar: BTreeMap<(Letter, i8), i8>,
}

impl Signs {
    /// A bar under a signature of sharps (positive) or flats, -7 to 7.
    pub fn new(signature: i8) -> Signs {
        Signs {
            signature,
            in_bar: BTreeMap::new(),
        }
    }

    /// The accidental that a note needs here, by the standard's name.
    pub fn sign(&mut self, pitch: SpelledPitch) -> Option<&'static str> {
        let NoteName { letter, accidental } = pitch.name;
        let before = self.in_bar.insert((letter, pitch.octave), accidental);
        let before = before.unwrap_or_else(|| self.of_signature(letter));
        let sign = match accidental {
            2 => "double-sharp",
            1 => "sharp",
            -1 => "flat",
            -2 => "flat-flat",
            _ => "natural",
        };
        (before != accidental).then_some(sign)
    }

    /// Sharps come in the order F C G D A E B, flats in the reverse order.
    fn of_signature(&self, letter: Letter) -> i8 {
        let place = NoteName::new(letter, 0).fifths() + 1;
        if self.signature > place {
            1
        } else if -self.signature > 6 - place {
            -1
        } else {
            0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn accidentals_are_those_that_the_key_lacks() {
        let mut signs = Signs::new(-3);
        let mut sign = |text: &str| signs.sign(SpelledPitch::parse(text).unwrap());
        assert_eq!(sign("Bb3"), None);
        assert_eq!(sign("Ab3"), None);
        assert_eq!(sign("A3"), Some("natural"));
        assert_eq!(sign("A3"), None, "the sign holds for the bar");
        assert_eq!(sign("A4"), Some("natural"), "in its octave");
        assert_eq!(sign("Ab3"), Some("flat"));
        assert_eq!(sign("F#3"), Some("sharp"));
        assert_eq!(sign("Db3"), Some("flat"));
        let mut signs = Signs::new(5);
        let mut sign = |text: &str| signs.sign(SpelledPitch::parse(text).unwrap());
        for inside in ["F#4", "C#4", "G#4", "D#4", "A#4", "E4", "B4"] {
            assert_eq!(sign(inside), None, "{inside}");
        }
    }
}
