//! The table of scales: degrees, parents, other names, steps. Imports `degree` and `pcset`; the
//! folder of `scale` imports it.

use crate::degree::Degree::{
    self, DoubleFlat7, Eleven, Five, Flat3, Flat5, Flat7, Flat9, Flat11, Flat13, Nine, Root, Seven,
    Sharp5, Sharp9, Sharp11, Thirteen, Three,
};
use crate::degree::DegreeSet;
use crate::pcset::PcSet;
use crate::pitch::{Letter, NoteName};

/// A row of the table: a scale over a root, by degrees.
#[derive(Debug, PartialEq, Eq)]
pub struct Scale {
    /// The trade's name.
    pub name: &'static str,
    /// Other names by which players know it.
    pub also: &'static [&'static str],
    /// The scale of which it is a mode, for those that are modes.
    pub parent: &'static str,
    /// Its degrees, ascending.
    pub degrees: &'static [Degree],
    /// The degrees as a set.
    set: DegreeSet,
    /// Their classes over C.
    over_c: PcSet,
}

impl Scale {
    /// The degrees as a set.
    #[must_use]
    pub const fn set(&self) -> DegreeSet {
        self.set
    }

    /// The classes over a root.
    pub(super) const fn keys(&self, root: NoteName) -> PcSet {
        self.over_c.up(root.class().number())
    }

    /// The steps from each note to the next and from the last one to the octave: H for a half
    /// step, W for a whole step, W+H for three half steps.
    pub fn steps(&self) -> impl Iterator<Item = &'static str> {
        let semitones = |d: &Degree| d.interval().semitones;
        let ends = self.degrees.iter().skip(1).map(semitones).chain([12]);
        let starts = self.degrees.iter().map(semitones);
        starts.zip(ends).map(|(start, end)| match end - start {
            1 => "H",
            2 => "W",
            3 => "W+H",
            // No scale of the table has a larger step, as a test shows.
            _ => "2W",
        })
    }
}

const fn scale(
    name: &'static str,
    also: &'static [&'static str],
    parent: &'static str,
    degrees: &'static [Degree],
) -> Scale {
    let mut over_c = PcSet::EMPTY;
    let mut rest = degrees;
    while let [first, tail @ ..] = rest {
        over_c = over_c.with(first.class(NoteName::new(Letter::C, 0)));
        rest = tail;
    }
    Scale {
        name,
        also,
        parent,
        degrees,
        set: DegreeSet::of(degrees),
        over_c,
    }
}

// Common practice, no published source, unless a test names one.
pub(super) static IONIAN: Scale = scale(
    "Ionian",
    &["major"],
    "major",
    &[Root, Nine, Three, Eleven, Five, Thirteen, Seven],
);
pub(super) static DORIAN: Scale = scale(
    "Dorian",
    &[],
    "major, 2nd mode",
    &[Root, Nine, Flat3, Eleven, Five, Thirteen, Flat7],
);
pub(super) static PHRYGIAN: Scale = scale(
    "Phrygian",
    &[],
    "major, 3rd mode",
    &[Root, Flat9, Flat3, Eleven, Five, Flat13, Flat7],
);
/// Phrygian as suspended dominants spell it: the third is a #9.
pub(super) static PHRYGIAN_SUS: Scale = scale(
    "Phrygian",
    &[],
    "major, 3rd mode",
    &[Root, Flat9, Sharp9, Eleven, Five, Flat13, Flat7],
);
pub(super) static LYDIAN: Scale = scale(
    "Lydian",
    &[],
    "major, 4th mode",
    &[Root, Nine, Three, Sharp11, Five, Thirteen, Seven],
);
pub(super) static MIXOLYDIAN: Scale = scale(
    "Mixolydian",
    &["dominant scale"],
    "major, 5th mode",
    &[Root, Nine, Three, Eleven, Five, Thirteen, Flat7],
);
pub(super) static AEOLIAN: Scale = scale(
    "Aeolian",
    &["natural minor"],
    "major, 6th mode",
    &[Root, Nine, Flat3, Eleven, Five, Flat13, Flat7],
);
pub(super) static LOCRIAN: Scale = scale(
    "Locrian",
    &[],
    "major, 7th mode",
    &[Root, Flat9, Flat3, Eleven, Flat5, Flat13, Flat7],
);
pub(super) static MELODIC_MINOR: Scale = scale(
    "melodic minor",
    &["jazz minor"],
    "",
    &[Root, Nine, Flat3, Eleven, Five, Thirteen, Seven],
);
pub(super) static DORIAN_FLAT9: Scale = scale(
    "Dorian b9",
    &["Dorian b2", "Phrygian natural 13"],
    "melodic minor, 2nd mode",
    &[Root, Flat9, Sharp9, Eleven, Five, Thirteen, Flat7],
);
pub(super) static LYDIAN_AUGMENTED: Scale = scale(
    "Lydian augmented",
    &["Lydian #5"],
    "melodic minor, 3rd mode",
    &[Root, Nine, Three, Sharp11, Sharp5, Thirteen, Seven],
);
pub(super) static LYDIAN_DOMINANT: Scale = scale(
    "Lydian dominant",
    &["Lydian b7", "Mixolydian #11", "overtone scale"],
    "melodic minor, 4th mode",
    &[Root, Nine, Three, Sharp11, Five, Thirteen, Flat7],
);
pub(super) static MIXOLYDIAN_FLAT13: Scale = scale(
    "Mixolydian b13",
    &["Mixolydian b6"],
    "melodic minor, 5th mode",
    &[Root, Nine, Three, Eleven, Five, Flat13, Flat7],
);
pub(super) static LOCRIAN_NATURAL9: Scale = scale(
    "Locrian natural 9",
    &["Locrian #2", "half-diminished scale", "Aeolian b5"],
    "melodic minor, 6th mode",
    &[Root, Nine, Flat3, Eleven, Flat5, Flat13, Flat7],
);
pub(super) static ALTERED: Scale = scale(
    "altered",
    &["super-Locrian", "diminished whole tone"],
    "melodic minor, 7th mode",
    &[Root, Flat9, Sharp9, Three, Sharp11, Flat13, Flat7],
);
pub(super) static HARMONIC_MINOR: Scale = scale(
    "harmonic minor",
    &[],
    "",
    &[Root, Nine, Flat3, Eleven, Five, Flat13, Seven],
);
pub(super) static LOCRIAN_NATURAL13: Scale = scale(
    "Locrian natural 13",
    &["Locrian natural 6"],
    "harmonic minor, 2nd mode",
    &[Root, Flat9, Flat3, Eleven, Flat5, Thirteen, Flat7],
);
pub(super) static IONIAN_AUGMENTED: Scale = scale(
    "Ionian augmented",
    &["Ionian #5", "major #5"],
    "harmonic minor, 3rd mode",
    &[Root, Nine, Three, Eleven, Sharp5, Thirteen, Seven],
);
pub(super) static DORIAN_SHARP11: Scale = scale(
    "Dorian #11",
    &["Dorian #4", "Ukrainian Dorian"],
    "harmonic minor, 4th mode",
    &[Root, Nine, Flat3, Sharp11, Five, Thirteen, Flat7],
);
pub(super) static PHRYGIAN_DOMINANT: Scale = scale(
    "Phrygian dominant",
    &["Phrygian major", "Mixolydian b9 b13"],
    "harmonic minor, 5th mode",
    &[Root, Flat9, Three, Eleven, Five, Flat13, Flat7],
);
pub(super) static LYDIAN_SHARP9: Scale = scale(
    "Lydian #9",
    &["Lydian #2"],
    "harmonic minor, 6th mode",
    &[Root, Sharp9, Three, Sharp11, Five, Thirteen, Seven],
);
pub(super) static SUPER_LOCRIAN_DOUBLE_FLAT7: Scale = scale(
    "super-Locrian bb7",
    &["ultra-Locrian", "altered bb7"],
    "harmonic minor, 7th mode",
    &[Root, Flat9, Flat3, Flat11, Flat5, Flat13, DoubleFlat7],
);
pub(super) static HARMONIC_MAJOR: Scale = scale(
    "harmonic major",
    &[],
    "",
    &[Root, Nine, Three, Eleven, Five, Flat13, Seven],
);
pub(super) static DORIAN_FLAT5: Scale = scale(
    "Dorian b5",
    &[],
    "harmonic major, 2nd mode",
    &[Root, Nine, Flat3, Eleven, Flat5, Thirteen, Flat7],
);
pub(super) static LYDIAN_FLAT3: Scale = scale(
    "Lydian b3",
    &["Lydian diminished", "melodic minor #11"],
    "harmonic major, 4th mode",
    &[Root, Nine, Flat3, Sharp11, Five, Thirteen, Seven],
);
pub(super) static MIXOLYDIAN_FLAT9: Scale = scale(
    "Mixolydian b9",
    &["Mixolydian b2"],
    "harmonic major, 5th mode",
    &[Root, Flat9, Three, Eleven, Five, Thirteen, Flat7],
);
pub(super) static HALF_WHOLE: Scale = scale(
    "half-whole diminished",
    &["dominant diminished"],
    "diminished",
    &[Root, Flat9, Sharp9, Three, Sharp11, Five, Thirteen, Flat7],
);
pub(super) static WHOLE_HALF: Scale = scale(
    "whole-half diminished",
    &["diminished scale"],
    "diminished",
    &[Root, Nine, Flat3, Eleven, Flat5, Flat13, DoubleFlat7, Seven],
);
pub(super) static WHOLE_TONE: Scale = scale(
    "whole tone",
    &[],
    "",
    &[Root, Nine, Three, Sharp11, Sharp5, Flat7],
);
pub(super) static PHRYGIAN_DOMINANT_SHARP9: Scale = scale(
    "Phrygian dominant with #9",
    &[],
    "harmonic minor, 5th mode, with #9",
    &[Root, Flat9, Sharp9, Three, Eleven, Five, Flat13, Flat7],
);
pub(super) static BEBOP_DOMINANT: Scale = scale(
    "bebop dominant",
    &["bebop scale"],
    "Mixolydian with 7",
    &[Root, Nine, Three, Eleven, Five, Thirteen, Flat7, Seven],
);
pub(super) static BEBOP_MAJOR: Scale = scale(
    "bebop major",
    &[],
    "major with #5",
    &[Root, Nine, Three, Eleven, Five, Sharp5, Thirteen, Seven],
);
pub(super) static BEBOP_DORIAN: Scale = scale(
    "bebop Dorian",
    &["bebop minor"],
    "Dorian with 3",
    &[Root, Nine, Flat3, Three, Eleven, Five, Thirteen, Flat7],
);
pub(super) static MAJOR_PENTATONIC: Scale = scale(
    "major pentatonic",
    &["pentatonic"],
    "",
    &[Root, Nine, Three, Five, Thirteen],
);
pub(super) static MINOR_PENTATONIC: Scale = scale(
    "minor pentatonic",
    &[],
    "major pentatonic, 5th mode",
    &[Root, Flat3, Eleven, Five, Flat7],
);
pub(super) static BLUES: Scale = scale(
    "blues",
    &["minor blues"],
    "minor pentatonic with #11",
    &[Root, Flat3, Eleven, Sharp11, Five, Flat7],
);
pub(super) static CHROMATIC: Scale = scale(
    "chromatic",
    &[],
    "",
    &[
        Root, Flat9, Nine, Flat3, Three, Eleven, Sharp11, Five, Flat13, Thirteen, Flat7, Seven,
    ],
);
