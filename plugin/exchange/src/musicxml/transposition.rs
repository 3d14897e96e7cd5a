//! How far the notes of a part sound from where they are written: `transpose` elements, and chords
//! moved by them. Imports `tree` and the theory.

use super::tree::{Element, number};
use guidehand_theory::chord::Chord;
use guidehand_theory::pitch::{MidiNote, NoteName};

/// No instrument sounds further from what it reads than this many half steps.
const FURTHEST: i64 = 60;

/// The steps along the line of fifths for each number of half steps up, if an interval has its
/// everyday name: a minor second is five flats, a major second two sharps.
const EVERYDAY: [i8; 12] = [0, -5, 2, -3, 4, -1, 6, 1, -4, 3, -2, 5];

/// The most sharps or flats of a signature that is easy to read.
const MOST_SIGNS: i8 = 6;

/// From what is written to what sounds. The default is none.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Transposition {
    /// Half steps up, with whole octaves.
    pub half_steps: i8,
    /// Steps along the line of fifths, for the names.
    fifths: i8,
}

impl Transposition {
    /// The transposition of a `transpose` element. None if it is no number, or too large.
    pub fn of(transpose: &Element) -> Option<Transposition> {
        let chromatic = number(transpose.child("chromatic")?.text())?;
        let octaves = transpose.number("octave-change").unwrap_or(0);
        let half_steps = octaves.checked_mul(12)?.checked_add(chromatic)?;
        if half_steps.abs() > FURTHEST || chromatic.abs() > FURTHEST {
            return None;
        }
        let named = transpose.number("diatonic").and_then(|diatonic| {
            let fifths = chromatic * 7 - diatonic.checked_mul(12)?;
            // An interval with more than two accidentals has no name.
            i8::try_from(fifths).ok().filter(|f| f.abs() <= 13)
        });
        let class = usize::try_from(chromatic.rem_euclid(12)).ok()?;
        let fifths = named.or_else(|| EVERYDAY.get(class).copied())?;
        Some(Transposition {
            half_steps: i8::try_from(half_steps).ok()?,
            fifths,
        })
    }

    /// Whether what is written is what sounds, but for octaves.
    pub const fn is_concert(self) -> bool {
        self.half_steps % 12 == 0
    }

    /// A chord as it sounds. `signature` is that of the written key. If what sounds would be in a
    /// key with more than six signs, it has the other name.
    pub fn sounding(self, chord: Chord, signature: i8) -> Chord {
        if self.is_concert() {
            return chord;
        }
        let chord = chord.transposed(self.in_key(signature));
        let other = chord.root.readable().fifths() - chord.root.fifths();
        chord.transposed(other)
    }

    /// A written note as it sounds: its key and its name. `signature` is that of the written key.
    /// None if no key plays it.
    pub fn sounding_note(
        self,
        name: NoteName,
        half_steps: i32,
        signature: i8,
    ) -> Option<(MidiNote, NoteName)> {
        let sounding = half_steps + i32::from(self.half_steps);
        let note = MidiNote::new(u8::try_from(sounding).ok()?)?;
        let name = if self.is_concert() {
            name
        } else {
            name.along_fifths(self.in_key(signature))
        };
        let is_far = name.accidental.abs() > 2;
        Some((note, if is_far { name.readable() } else { name }))
    }

    /// The steps along the line of fifths into a key with at most six signs.
    const fn in_key(self, signature: i8) -> i8 {
        match signature.saturating_add(self.fifths) {
            sharps if sharps > MOST_SIGNS => self.fifths - 12,
            flats if flats < -MOST_SIGNS => self.fifths + 12,
            _ => self.fifths,
        }
    }

    /// How it sounds, in words: `a whole step lower`. None if it sounds as written.
    pub fn words(self) -> Option<String> {
        const NAMES: [&str; 12] = [
            "",
            "a half step",
            "a whole step",
            "a minor third",
            "a major third",
            "a fourth",
            "a tritone",
            "a fifth",
            "a minor sixth",
            "a major sixth",
            "a minor seventh",
            "a major seventh",
        ];
        let size = self.half_steps.unsigned_abs();
        let name = NAMES.get(usize::from(size % 12)).copied().unwrap_or("");
        let octaves = match size / 12 {
            0 => String::new(),
            1 => "an octave".to_owned(),
            count => format!("{count} octaves"),
        };
        let joint = if octaves.is_empty() || name.is_empty() {
            ""
        } else {
            " and "
        };
        let way = if self.half_steps < 0 {
            "lower"
        } else {
            "higher"
        };
        (size > 0).then(|| format!("{octaves}{joint}{name} {way}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_have_their_names() {
        let said = |half_steps| {
            let fifths = 0;
            Transposition { half_steps, fifths }.words()
        };
        assert_eq!(said(0), None);
        assert_eq!(said(-2).as_deref(), Some("a whole step lower"));
        assert_eq!(said(3).as_deref(), Some("a minor third higher"));
        assert_eq!(said(-12).as_deref(), Some("an octave lower"));
        assert_eq!(
            said(-21).as_deref(),
            Some("an octave and a major sixth lower")
        );
        assert_eq!(said(24).as_deref(), Some("2 octaves higher"));
    }
}
