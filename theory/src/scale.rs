//! Scales: the table, and which of them to play on a chord as it sounds.
//! Imports `key`, `pcset` and what is above them.

use crate::chord::Chord;
use crate::degree::Degree::{
    self, DoubleFlat7, Eleven, Five, Flat3, Flat5, Flat7, Flat9, Flat13, Nine, Root, Seven, Sharp5,
    Sharp9, Sharp11, Thirteen, Three,
};
use crate::degree::DegreeSet;
use crate::key::Function;
use crate::pcset::PcSet;
use crate::pitch::NoteName;
use crate::quality::Quality;
use tinyvec::ArrayVec;

/// A row of the table: a scale over a chord's root, by degrees.
#[derive(Debug, PartialEq, Eq)]
pub struct Scale {
    /// The trade's name.
    pub name: &'static str,
    /// Where it comes from, for those that are modes of another scale.
    pub parent: &'static str,
    /// Its degrees, ascending.
    pub degrees: &'static [Degree],
}

const fn scale(name: &'static str, parent: &'static str, degrees: &'static [Degree]) -> Scale {
    Scale {
        name,
        parent,
        degrees,
    }
}

// Common practice, no published source, unless a test names one.
static IONIAN: Scale = scale(
    "Ionian",
    "major",
    &[Root, Nine, Three, Eleven, Five, Thirteen, Seven],
);
static DORIAN: Scale = scale(
    "Dorian",
    "major, 2nd mode",
    &[Root, Nine, Flat3, Eleven, Five, Thirteen, Flat7],
);
static PHRYGIAN: Scale = scale(
    "Phrygian",
    "major, 3rd mode",
    &[Root, Flat9, Flat3, Eleven, Five, Flat13, Flat7],
);
static PHRYGIAN_SUS: Scale = scale(
    "Phrygian",
    "major, 3rd mode",
    &[Root, Flat9, Sharp9, Eleven, Five, Flat13, Flat7],
);
static LYDIAN: Scale = scale(
    "Lydian",
    "major, 4th mode",
    &[Root, Nine, Three, Sharp11, Five, Thirteen, Seven],
);
static MIXOLYDIAN: Scale = scale(
    "Mixolydian",
    "major, 5th mode",
    &[Root, Nine, Three, Eleven, Five, Thirteen, Flat7],
);
static AEOLIAN: Scale = scale(
    "Aeolian",
    "major, 6th mode",
    &[Root, Nine, Flat3, Eleven, Five, Flat13, Flat7],
);
static LOCRIAN: Scale = scale(
    "Locrian",
    "major, 7th mode",
    &[Root, Flat9, Flat3, Eleven, Flat5, Flat13, Flat7],
);
static MELODIC_MINOR: Scale = scale(
    "melodic minor",
    "",
    &[Root, Nine, Flat3, Eleven, Five, Thirteen, Seven],
);
static DORIAN_FLAT9: Scale = scale(
    "Dorian b9",
    "melodic minor, 2nd mode",
    &[Root, Flat9, Sharp9, Eleven, Five, Thirteen, Flat7],
);
static LYDIAN_AUGMENTED: Scale = scale(
    "Lydian augmented",
    "melodic minor, 3rd mode",
    &[Root, Nine, Three, Sharp11, Sharp5, Thirteen, Seven],
);
static LYDIAN_DOMINANT: Scale = scale(
    "Lydian dominant",
    "melodic minor, 4th mode",
    &[Root, Nine, Three, Sharp11, Five, Thirteen, Flat7],
);
static MIXOLYDIAN_FLAT13: Scale = scale(
    "Mixolydian b13",
    "melodic minor, 5th mode",
    &[Root, Nine, Three, Eleven, Five, Flat13, Flat7],
);
static LOCRIAN_NATURAL9: Scale = scale(
    "Locrian natural 9",
    "melodic minor, 6th mode",
    &[Root, Nine, Flat3, Eleven, Flat5, Flat13, Flat7],
);
static ALTERED: Scale = scale(
    "altered",
    "melodic minor, 7th mode",
    &[Root, Flat9, Sharp9, Three, Sharp11, Flat13, Flat7],
);
static HARMONIC_MINOR: Scale = scale(
    "harmonic minor",
    "",
    &[Root, Nine, Flat3, Eleven, Five, Flat13, Seven],
);
static LOCRIAN_NATURAL6: Scale = scale(
    "Locrian natural 13",
    "harmonic minor, 2nd mode",
    &[Root, Flat9, Flat3, Eleven, Flat5, Thirteen, Flat7],
);
static IONIAN_AUGMENTED: Scale = scale(
    "Ionian augmented",
    "harmonic minor, 3rd mode",
    &[Root, Nine, Three, Eleven, Sharp5, Thirteen, Seven],
);
static PHRYGIAN_DOMINANT: Scale = scale(
    "Phrygian dominant",
    "harmonic minor, 5th mode",
    &[Root, Flat9, Three, Eleven, Five, Flat13, Flat7],
);
static HARMONIC_MAJOR: Scale = scale(
    "harmonic major",
    "",
    &[Root, Nine, Three, Eleven, Five, Flat13, Seven],
);
static HALF_WHOLE: Scale = scale(
    "half-whole diminished",
    "diminished",
    &[Root, Flat9, Sharp9, Three, Sharp11, Five, Thirteen, Flat7],
);
static WHOLE_HALF: Scale = scale(
    "whole-half diminished",
    "diminished",
    &[Root, Nine, Flat3, Eleven, Flat5, Flat13, DoubleFlat7, Seven],
);
static WHOLE_TONE: Scale = scale(
    "whole tone",
    "",
    &[Root, Nine, Three, Sharp11, Sharp5, Flat7],
);
static PHRYGIAN_DOMINANT_8: Scale = scale(
    "Phrygian dominant with #9",
    "harmonic minor, 5th mode, with #9",
    &[Root, Flat9, Sharp9, Three, Eleven, Five, Flat13, Flat7],
);
static BEBOP_DOMINANT: Scale = scale(
    "bebop dominant",
    "Mixolydian with 7",
    &[Root, Nine, Three, Eleven, Five, Thirteen, Flat7, Seven],
);
static DORIAN_SHARP11: Scale = scale(
    "Dorian #11",
    "harmonic minor, 4th mode",
    &[Root, Nine, Flat3, Sharp11, Five, Thirteen, Flat7],
);
static LYDIAN_SHARP9: Scale = scale(
    "Lydian #9",
    "harmonic minor, 6th mode",
    &[Root, Sharp9, Three, Sharp11, Five, Thirteen, Seven],
);
static DORIAN_FLAT5: Scale = scale(
    "Dorian b5",
    "harmonic major, 2nd mode",
    &[Root, Nine, Flat3, Eleven, Flat5, Thirteen, Flat7],
);
static LYDIAN_FLAT3: Scale = scale(
    "Lydian b3",
    "harmonic major, 4th mode",
    &[Root, Nine, Flat3, Sharp11, Five, Thirteen, Seven],
);
static MIXOLYDIAN_FLAT9: Scale = scale(
    "Mixolydian b9",
    "harmonic major, 5th mode",
    &[Root, Flat9, Three, Eleven, Five, Thirteen, Flat7],
);
static BEBOP_MAJOR: Scale = scale(
    "bebop major",
    "major with #5",
    &[Root, Nine, Three, Eleven, Five, Sharp5, Thirteen, Seven],
);
static BEBOP_DORIAN: Scale = scale(
    "bebop Dorian",
    "Dorian with 3",
    &[Root, Nine, Flat3, Three, Eleven, Five, Thirteen, Flat7],
);
static MAJOR_PENTATONIC: Scale =
    scale("major pentatonic", "", &[Root, Nine, Three, Five, Thirteen]);
static MINOR_PENTATONIC: Scale = scale("minor pentatonic", "", &[Root, Flat3, Eleven, Five, Flat7]);
static CHROMATIC: Scale = scale(
    "chromatic",
    "",
    &[
        Root, Flat9, Nine, Flat3, Three, Eleven, Sharp11, Five, Flat13, Thirteen, Flat7, Seven,
    ],
);

/// Which scales to try on which chords, in the order of preference: the first
/// that holds the chord wins, unless the row says that the key decides.
struct Family {
    qualities: &'static [Quality],
    by_key: bool,
    scales: &'static [&'static Scale],
    /// Colours beyond the mode: passing notes more, or notes fewer.
    further: &'static [&'static Scale],
}

static FAMILIES: [Family; 9] = [
    Family {
        qualities: &[Quality::Dominant, Quality::Altered],
        by_key: false,
        scales: &[
            &MIXOLYDIAN,
            &LYDIAN_DOMINANT,
            &HALF_WHOLE,
            &ALTERED,
            &PHRYGIAN_DOMINANT,
            &MIXOLYDIAN_FLAT13,
            &WHOLE_TONE,
            &PHRYGIAN_DOMINANT_8,
            &MIXOLYDIAN_FLAT9,
        ],
        further: &[&BEBOP_DOMINANT],
    },
    Family {
        qualities: &[Quality::DominantSuspended, Quality::Suspended],
        by_key: false,
        scales: &[
            &MIXOLYDIAN,
            &DORIAN_FLAT9,
            &PHRYGIAN_SUS,
            &MIXOLYDIAN_FLAT13,
            &PHRYGIAN_DOMINANT,
        ],
        further: &[&BEBOP_DOMINANT],
    },
    Family {
        qualities: &[
            Quality::Major,
            Quality::Sixth,
            Quality::MajorSeventh,
            Quality::SuspendedSecond,
            Quality::Power,
        ],
        by_key: true,
        scales: &[
            &IONIAN,
            &LYDIAN,
            &LYDIAN_AUGMENTED,
            &IONIAN_AUGMENTED,
            &HARMONIC_MAJOR,
            &LYDIAN_SHARP9,
            &MIXOLYDIAN,
        ],
        further: &[&BEBOP_MAJOR, &MAJOR_PENTATONIC],
    },
    Family {
        qualities: &[Quality::Augmented],
        by_key: false,
        scales: &[&LYDIAN_AUGMENTED, &WHOLE_TONE, &IONIAN_AUGMENTED],
        further: &[],
    },
    Family {
        qualities: &[Quality::Minor, Quality::MinorSeventh],
        by_key: true,
        scales: &[
            &DORIAN,
            &AEOLIAN,
            &PHRYGIAN,
            &MELODIC_MINOR,
            &HARMONIC_MINOR,
            &DORIAN_SHARP11,
        ],
        further: &[&BEBOP_DORIAN, &MINOR_PENTATONIC],
    },
    Family {
        qualities: &[Quality::MinorSixth],
        by_key: false,
        scales: &[&MELODIC_MINOR, &DORIAN, &DORIAN_SHARP11],
        further: &[],
    },
    Family {
        qualities: &[Quality::MinorMajorSeventh],
        by_key: false,
        scales: &[&MELODIC_MINOR, &HARMONIC_MINOR, &LYDIAN_FLAT3],
        further: &[],
    },
    Family {
        qualities: &[Quality::HalfDiminished],
        by_key: true,
        scales: &[
            &LOCRIAN,
            &LOCRIAN_NATURAL9,
            &LOCRIAN_NATURAL6,
            &DORIAN_FLAT5,
        ],
        further: &[],
    },
    Family {
        qualities: &[Quality::Diminished, Quality::DiminishedSeventh],
        by_key: false,
        scales: &[&WHOLE_HALF, &LOCRIAN],
        further: &[],
    },
];

/// A scale to play on a chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Suggestion {
    /// The scale, over the chord's root.
    pub scale: &'static Scale,
    /// The root.
    pub root: NoteName,
    /// Degrees of the scale to pass over rather than to rest on.
    pub avoid: DegreeSet,
    /// Why it is suggested.
    pub reason: &'static str,
}

impl Default for Suggestion {
    fn default() -> Self {
        Suggestion {
            scale: &CHROMATIC,
            root: NoteName::from_fifths(0),
            avoid: DegreeSet::EMPTY,
            reason: "",
        }
    }
}

impl Suggestion {
    /// The notes, spelled by degree.
    pub fn notes(&self) -> impl Iterator<Item = NoteName> + '_ {
        self.scale.degrees.iter().map(|d| d.over(self.root))
    }

    /// The avoid notes, spelled by degree.
    pub fn avoid_notes(&self) -> impl Iterator<Item = NoteName> + '_ {
        self.avoid.iter().map(|d| d.over(self.root))
    }
}

/// The scales that hold a chord and everything that sounds over it; the first
/// one is the suggestion. There is always at least one: a chord that no scale of
/// the table holds gets the chromatic scale, and the reason says so.
#[must_use]
pub fn suggest(
    chord: &Chord,
    sounding: DegreeSet,
    function: &Function,
) -> ArrayVec<[Suggestion; 8]> {
    let needed = needed(chord, sounding);
    let needed_keys = PcSet::of_degrees(chord.root.class(), needed);
    let holds = |scale: &&&'static Scale| scale.keys(chord.root).holds(needed_keys);
    let suggestion = |scale: &'static Scale, reason| Suggestion {
        scale,
        root: chord.root,
        avoid: avoid(chord, scale.set(), needed),
        reason,
    };
    let family = FAMILIES
        .iter()
        .find(|f| f.qualities.contains(&chord.quality));
    let (scales, further) = family.map_or((&[][..], &[][..]), |f| (f.scales, f.further));
    // Where the symbol alters the fifth, scales with a natural five come last.
    let altered_five = chord.written.meets(DegreeSet::of(&[Flat5, Sharp5]));
    let mut found = ArrayVec::<[Suggestion; 8]>::default();
    for late in [false, true] {
        let now = |scale: &&&'static Scale| (altered_five && scale.set().has(Five)) == late;
        for scale in scales.iter().filter(holds).filter(now) {
            let _full = found.try_push(suggestion(scale, ""));
        }
    }
    let stranger = |s: &Suggestion| s.scale.keys(s.root).minus(function.key.notes()).len();
    if family.is_some_and(|f| f.by_key) && !altered_five {
        sort_stably(&mut found, stranger);
    }
    for (i, suggestion) in found.iter_mut().enumerate() {
        suggestion.reason = match (i, stranger(suggestion)) {
            (0, 0) => "holds the chord and its tensions; all its notes are in the key",
            (0, _) => "holds the chord and its tensions",
            (_, 0) => "fits too; all its notes are in the key",
            _ => "fits too",
        };
    }
    for scale in further.iter().filter(holds) {
        let _full = found.try_push(suggestion(scale, "a further colour"));
    }
    if found.is_empty() {
        found.push(suggestion(
            &CHROMATIC,
            "no scale of the table holds all that sounds",
        ));
    }
    found
}

/// Sorts a few items by insertion: stable, and without allocation.
fn sort_stably(items: &mut [Suggestion], key: impl Fn(&Suggestion) -> u32) {
    for end in 1..items.len() {
        let mut at = end;
        while let [.., a, b] = items.get(..=at).unwrap_or(&[])
            && at > 0
            && key(b) < key(a)
        {
            items.swap(at - 1, at);
            at -= 1;
        }
    }
}

impl Scale {
    /// The degrees as a set.
    #[must_use]
    pub fn set(&self) -> DegreeSet {
        self.degrees.iter().copied().collect()
    }

    fn keys(&self, root: NoteName) -> PcSet {
        PcSet::of_degrees(root.class(), self.set())
    }
}

/// What a scale must hold: what sounds, and the chord tones of the symbol. An
/// altered fifth or b13 stands in the place of the natural five, unless that
/// sounds too.
fn needed(chord: &Chord, sounding: DegreeSet) -> DegreeSet {
    const FOR_FIVE: DegreeSet = DegreeSet::of(&[Flat13, Sharp5, Flat5]);
    let stated = chord.degrees();
    let all = stated.union(sounding);
    if all.meets(FOR_FIVE) && !sounding.has(Five) {
        all.without(Five)
    } else {
        all
    }
}

/// Degrees a half step above a chord tone, unless they sound or are written. On
/// dominants altered tensions are no avoid notes; the eleventh over the third is.
fn avoid(chord: &Chord, scale: DegreeSet, needed: DegreeSet) -> DegreeSet {
    let tones = chord.quality.degrees();
    let class = |d: Degree| d.class(chord.root);
    let above_a_tone = |d: Degree| tones.iter().any(|t| class(t).up(1) == class(d));
    let needed_keys = PcSet::of_degrees(chord.root.class(), needed);
    scale
        .iter()
        .filter(|d| above_a_tone(*d) && !needed_keys.has(class(*d)))
        .filter(|d| !(chord.quality.is_dominant() && (d.is_altered() || *d == Seven)))
        .collect()
}

/// Every scale of the table.
pub fn all() -> impl Iterator<Item = &'static Scale> {
    FAMILIES
        .iter()
        .flat_map(|f| f.scales.iter().chain(f.further).copied())
        .chain([&CHROMATIC])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::key::{self, Key};
    use crate::symbol;

    fn first(symbol: &str, key: &str, sounding: &[Degree]) -> String {
        let chord = symbol::parse(symbol).unwrap();
        let function = key::live(&chord, Key::parse(key).unwrap());
        let all = suggest(&chord, sounding.iter().copied().collect(), &function);
        let best = all[0];
        let notes: Vec<_> = best.notes().map(|n| n.to_string()).collect();
        format!("{}: {}", best.scale.name, notes.join(" "))
    }

    /// Common practice, no published source.
    #[test]
    fn first_scales() {
        for (symbol, key, sounding, scale) in [
            (
                "G7",
                "C",
                &[Nine, Thirteen][..],
                "Mixolydian: G A B C D E F",
            ),
            (
                "Db7",
                "C",
                &[Nine, Sharp11],
                "Lydian dominant: Db Eb F G Ab Bb Cb",
            ),
            (
                "G7",
                "C",
                &[Flat9, Thirteen],
                "half-whole diminished: G Ab A# B C# D E F",
            ),
            ("G7", "Cm", &[Flat9, Flat13], "altered: G Ab A# B C# Eb F"),
            (
                "G7",
                "Cm",
                &[Flat9, Flat13, Five],
                "Phrygian dominant: G Ab B C D Eb F",
            ),
            (
                "G7alt",
                "Cm",
                &[Sharp9, Flat13],
                "altered: G Ab A# B C# Eb F",
            ),
            (
                "G9b13",
                "Cm",
                &[Nine, Flat13, Five],
                "Mixolydian b13: G A B C D Eb F",
            ),
            ("G7#5", "C", &[Nine, Sharp5], "whole tone: G A B C# D# F"),
            (
                "G7sus4",
                "C",
                &[Nine, Thirteen],
                "Mixolydian: G A B C D E F",
            ),
            (
                "G7sus(b9)",
                "C",
                &[Flat9, Five],
                "Dorian b9: G Ab A# C D E F",
            ),
            ("Cmaj7", "C", &[Nine], "Ionian: C D E F G A B"),
            ("Cmaj7", "G", &[Nine], "Lydian: C D E F# G A B"),
            ("Cmaj7#5", "C", &[Nine], "Lydian augmented: C D E F# G# A B"),
            ("Dm7", "C", &[Nine], "Dorian: D E F G A B C"),
            ("Em7", "C", &[Root], "Phrygian: E F G A B C D"),
            ("Am7", "C", &[Nine], "Aeolian: A B C D E F G"),
            ("Cm6", "Cm", &[Nine], "melodic minor: C D Eb F G A B"),
            ("Dm7b5", "Cm", &[Root], "Locrian: D Eb F G Ab Bb C"),
            ("Dm7b5", "Cm", &[Nine], "Locrian natural 9: D E F G Ab Bb C"),
            (
                "Bdim7",
                "Cm",
                &[Root],
                "whole-half diminished: B C# D E F G Ab A#",
            ),
        ] {
            assert_eq!(first(symbol, key, sounding), scale, "{symbol} in {key}");
        }
    }

    #[test]
    fn the_eleventh_over_a_major_third_is_an_avoid_note() {
        let chord = symbol::parse("Cmaj7").unwrap();
        let function = key::live(&chord, Key::C_MAJOR);
        let all = suggest(&chord, DegreeSet::of(&[Nine]), &function);
        assert_eq!(all[0].avoid, DegreeSet::of(&[Eleven]));
        assert_eq!(all[1].scale.name, "Lydian");
        assert!(all[1].avoid.is_empty());
    }

    #[test]
    fn scales_ascend() {
        for scale in all() {
            let semitones = scale.degrees.iter().map(|d| d.interval().semitones);
            assert!(semitones.is_sorted_by(|a, b| a < b), "{}", scale.name);
        }
    }
}
