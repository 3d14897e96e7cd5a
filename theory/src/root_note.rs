//! Played roots: the key in force decides the quality of the chord, and extra keys that
//! are held with the root override it. Imports `chord`, `key` and what is above them.

use crate::chord::Chord;
use crate::degree::Degree;
use crate::key::{Key, Mode};
use crate::pitch::PitchClass;
use crate::quality::Quality;

/// Qualities by semitones above the tonic. Degrees of the key take their diatonic seventh.
/// Other roots are dominants, with these exceptions: the raised fourth is half-diminished in
/// major and diminished in minor and the blues, and the raised sixth and seventh of minor are
/// half-diminished and diminished. In the blues I, IV and V are dominants. So is VI on the way
/// to ii, with its own ii half-diminished before it. Common practice, no published source.
const MAJOR: [Quality; 12] = [
    Quality::MajorSeventh,
    Quality::Dominant,
    Quality::MinorSeventh,
    Quality::Dominant,
    Quality::MinorSeventh,
    Quality::MajorSeventh,
    Quality::HalfDiminished,
    Quality::Dominant,
    Quality::Dominant,
    Quality::MinorSeventh,
    Quality::Dominant,
    Quality::HalfDiminished,
];
const MINOR: [Quality; 12] = [
    Quality::MinorSeventh,
    Quality::Dominant,
    Quality::HalfDiminished,
    Quality::MajorSeventh,
    Quality::Dominant,
    Quality::MinorSeventh,
    Quality::DiminishedSeventh,
    Quality::Dominant,
    Quality::MajorSeventh,
    Quality::HalfDiminished,
    Quality::Dominant,
    Quality::DiminishedSeventh,
];
const BLUES: [Quality; 12] = [
    Quality::Dominant,
    Quality::Dominant,
    Quality::MinorSeventh,
    Quality::Dominant,
    Quality::HalfDiminished,
    Quality::Dominant,
    Quality::DiminishedSeventh,
    Quality::Dominant,
    Quality::Dominant,
    Quality::Dominant,
    Quality::Dominant,
    Quality::DiminishedSeventh,
];

/// Overrides: the intervals of the extra keys above the root, in semitones, and the chord that
/// they make. The first row whose intervals are all held wins.
static OVERRIDES: [(&[u8], Quality, &[Degree]); 17] = [
    (&[3, 6, 9], Quality::DiminishedSeventh, &[]),
    (&[3, 6], Quality::HalfDiminished, &[]),
    (&[6, 9], Quality::DiminishedSeventh, &[]),
    (&[3, 11], Quality::MinorMajorSeventh, &[]),
    (&[3, 9], Quality::MinorSixth, &[]),
    (&[4, 8, 11], Quality::MajorSeventh, &[Degree::Sharp5]),
    (&[8, 10], Quality::Dominant, &[Degree::Sharp5]),
    (&[4, 10], Quality::Dominant, &[]),
    (&[4, 9], Quality::Sixth, &[]),
    (&[3], Quality::MinorSeventh, &[]),
    (&[4], Quality::MajorSeventh, &[]),
    (&[11], Quality::MajorSeventh, &[]),
    (&[5], Quality::DominantSuspended, &[]),
    (&[6], Quality::HalfDiminished, &[]),
    (&[10], Quality::Dominant, &[]),
    (&[9], Quality::Sixth, &[]),
    (&[8], Quality::Dominant, &[Degree::Sharp5]),
];

/// The intervals above a root that extra keys hold, 1 to 11 semitones.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Extras(u16);

impl Extras {
    /// No extra key.
    pub const NONE: Extras = Extras(0);

    /// These keys and one more, `semitones` above the root. Octaves are folded down.
    #[must_use]
    pub const fn with(self, semitones: u8) -> Extras {
        Extras(self.0 | 1 << (semitones % 12))
    }

    const fn holds(self, semitones: u8) -> bool {
        self.0 & 1 << (semitones % 12) != 0
    }
}

/// The chord that a root means in a key, with the extra keys that are held above it. The root
/// is spelled as in the key.
#[must_use]
pub fn chord(key: Key, root: PitchClass, extras: Extras) -> Chord {
    let name = key.name(root);
    let overriding = OVERRIDES
        .iter()
        .find(|(intervals, ..)| intervals.iter().all(|i| extras.holds(*i)));
    if let Some((_, quality, written)) = overriding {
        return Chord::new(name, *quality).with(written);
    }
    let table = match key.mode {
        Mode::Major => &MAJOR,
        Mode::Minor => &MINOR,
        Mode::Blues => &BLUES,
    };
    let above = usize::from(key.above(root));
    let quality = table.get(above).copied().unwrap_or(Quality::Dominant);
    Chord::new(name, quality)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::symbol::{Sign, Symbol};

    fn says(key: &str, root: i32, extras: &[u8]) -> String {
        let held = extras.iter().fold(Extras::NONE, |e, i| e.with(*i));
        let key = Key::parse(key).unwrap();
        let chord = chord(key, PitchClass::wrapping(root), held);
        Symbol(&chord, Sign::Ascii).to_string()
    }

    #[test]
    fn the_key_tells_the_quality() {
        let c: Vec<_> = (0..12).map(|r| says("C", r, &[])).collect();
        assert_eq!(
            c.join(" "),
            "Cmaj7 Db7 Dm7 Eb7 Em7 Fmaj7 F#m7b5 G7 Ab7 Am7 Bb7 Bm7b5"
        );
        let cm: Vec<_> = (0..12).map(|r| says("Cm", r, &[])).collect();
        assert_eq!(
            cm.join(" "),
            "Cm7 Db7 Dm7b5 Ebmaj7 E7 Fm7 F#dim7 G7 Abmaj7 Am7b5 Bb7 Bdim7"
        );
        let blues: Vec<_> = (0..12).map(|r| says("C blues", r, &[])).collect();
        assert_eq!(
            blues.join(" "),
            "C7 Db7 Dm7 Eb7 Em7b5 F7 F#dim7 G7 Ab7 A7 Bb7 Bdim7"
        );
    }

    #[test]
    fn extra_keys_override() {
        for (extras, symbol) in [
            (&[3][..], "Dm7"),
            (&[4], "Dmaj7"),
            (&[11], "Dmaj7"),
            (&[4, 11], "Dmaj7"),
            (&[10], "D7"),
            (&[4, 10], "D7"),
            (&[6], "Dm7b5"),
            (&[3, 6], "Dm7b5"),
            (&[3, 6, 10], "Dm7b5"),
            (&[3, 6, 9], "Ddim7"),
            (&[5], "D7sus4"),
            (&[3, 11], "Dm(maj7)"),
            (&[3, 10], "Dm7"),
            (&[3, 9], "Dm6"),
            (&[9], "D6"),
            (&[8], "D7(#5)"),
            (&[7], "Dm7"),
        ] {
            assert_eq!(says("C", 2, extras), symbol, "{extras:?}");
        }
    }
}
