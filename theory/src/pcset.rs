//! Twelve-bit sets of pitch classes, derived from named degrees for one purpose: to ask whether
//! a scale contains a chord. They never identify a chord. Imports `pitch` and `degree`.

use crate::degree::{Degree, DegreeSet};
use crate::pitch::PitchClass;

/// A set of pitch classes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct PcSet(u16);

impl PcSet {
    /// The empty set.
    pub const EMPTY: PcSet = PcSet(0);

    /// The set with one more class.
    #[must_use]
    pub const fn with(self, class: PitchClass) -> PcSet {
        PcSet(self.0 | 1 << class.number())
    }

    /// Whether the class is in the set.
    #[must_use]
    pub const fn contains(self, class: PitchClass) -> bool {
        self.0 & 1 << class.number() != 0
    }

    /// Whether every class of `other` is in the set.
    #[must_use]
    pub const fn holds(self, other: PcSet) -> bool {
        self.0 & other.0 == other.0
    }

    /// The classes of this set that are not in `other`.
    #[must_use]
    pub const fn minus(self, other: PcSet) -> PcSet {
        PcSet(self.0 & !other.0)
    }

    /// Both sets together.
    #[must_use]
    pub const fn union(self, other: PcSet) -> PcSet {
        PcSet(self.0 | other.0)
    }

    /// Every class some semitones higher, 0 to 11.
    #[must_use]
    pub const fn up(self, semitones: u8) -> PcSet {
        let semitones = semitones % 12;
        PcSet((self.0 << semitones | self.0 >> (12 - semitones)) & 0xfff)
    }

    /// How many classes are in the set, 0 to 12.
    #[must_use]
    pub const fn len(self) -> u32 {
        self.0.count_ones()
    }

    /// Whether the set is empty.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The classes, upwards from C.
    pub fn iter(self) -> impl Iterator<Item = PitchClass> {
        (0..12)
            .map(PitchClass::wrapping)
            .filter(move |class| self.contains(*class))
    }

    /// The classes of named degrees over a root.
    #[must_use]
    pub fn of_degrees(root: PitchClass, degrees: DegreeSet) -> PcSet {
        degrees
            .iter()
            .map(|d: Degree| root.up(d.interval().semitones))
            .collect()
    }
}

impl FromIterator<PitchClass> for PcSet {
    fn from_iter<I: IntoIterator<Item = PitchClass>>(classes: I) -> Self {
        classes.into_iter().fold(PcSet::default(), PcSet::with)
    }
}
