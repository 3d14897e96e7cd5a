//! Named degrees over a chord's root, and sets of them. A sharp five and a flat thirteen are
//! two degrees on one key, because names and not keys identify a chord. Imports `pitch`.

use crate::pitch::{Interval, NoteName, PitchClass};
use std::fmt;

/// A degree over a chord's root, by name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Degree {
    /// 1
    #[default]
    Root,
    /// b9
    Flat9,
    /// 2, the second of a sus2 chord
    Two,
    /// 9
    Nine,
    /// #9
    Sharp9,
    /// b3
    Flat3,
    /// 3
    Three,
    /// b11, on the key of the major third. No chord has it. It is the fourth note of the
    /// seventh mode of harmonic minor.
    Flat11,
    /// 4, the fourth of a sus chord
    Four,
    /// 11
    Eleven,
    /// #11
    Sharp11,
    /// b5
    Flat5,
    /// 5
    Five,
    /// #5
    Sharp5,
    /// b13
    Flat13,
    /// 6, the sixth of a sixth chord
    Six,
    /// 13
    Thirteen,
    /// bb7, the seventh of a diminished seventh chord
    DoubleFlat7,
    /// b7
    Flat7,
    /// 7
    Seven,
}

/// The family of tensions that a degree belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Family {
    /// b9, 9, #9
    Ninth,
    /// 11, #11
    Eleventh,
    /// b13, 13
    Thirteenth,
}

impl Degree {
    /// Every degree, in the order of the enumeration.
    pub const ALL: [Degree; 20] = [
        Degree::Root,
        Degree::Flat9,
        Degree::Two,
        Degree::Nine,
        Degree::Sharp9,
        Degree::Flat3,
        Degree::Three,
        Degree::Flat11,
        Degree::Four,
        Degree::Eleven,
        Degree::Sharp11,
        Degree::Flat5,
        Degree::Five,
        Degree::Sharp5,
        Degree::Flat13,
        Degree::Six,
        Degree::Thirteen,
        Degree::DoubleFlat7,
        Degree::Flat7,
        Degree::Seven,
    ];

    const fn row(self) -> (&'static str, i8, i8) {
        match self {
            Degree::Root => ("1", 0, 0),
            Degree::Flat9 => ("b9", 1, 1),
            Degree::Two => ("2", 1, 2),
            Degree::Nine => ("9", 1, 2),
            Degree::Sharp9 => ("#9", 1, 3),
            Degree::Flat3 => ("b3", 2, 3),
            Degree::Three => ("3", 2, 4),
            Degree::Flat11 => ("b11", 3, 4),
            Degree::Four => ("4", 3, 5),
            Degree::Eleven => ("11", 3, 5),
            Degree::Sharp11 => ("#11", 3, 6),
            Degree::Flat5 => ("b5", 4, 6),
            Degree::Five => ("5", 4, 7),
            Degree::Sharp5 => ("#5", 4, 8),
            Degree::Flat13 => ("b13", 5, 8),
            Degree::Six => ("6", 5, 9),
            Degree::Thirteen => ("13", 5, 9),
            Degree::DoubleFlat7 => ("bb7", 6, 9),
            Degree::Flat7 => ("b7", 6, 10),
            Degree::Seven => ("7", 6, 11),
        }
    }

    /// The name in ASCII: `b9`, `#11`, `bb7`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        self.row().0
    }

    /// The degree with this ASCII name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Degree> {
        Degree::ALL.into_iter().find(|d| d.name() == name)
    }

    /// The interval above the root, within one octave.
    #[must_use]
    pub const fn interval(self) -> Interval {
        let (_, steps, semitones) = self.row();
        Interval { steps, semitones }
    }

    /// The pitch class over `root`.
    #[must_use]
    pub const fn class(self, root: NoteName) -> PitchClass {
        root.class().up(self.row().2)
    }

    /// The note's name over `root`.
    #[must_use]
    pub const fn over(self, root: NoteName) -> NoteName {
        root.up(self.interval())
    }

    /// The family of tensions, for degrees that are tensions.
    #[must_use]
    pub const fn family(self) -> Option<Family> {
        match self {
            Degree::Flat9 | Degree::Nine | Degree::Sharp9 => Some(Family::Ninth),
            Degree::Eleven | Degree::Sharp11 => Some(Family::Eleventh),
            Degree::Flat13 | Degree::Thirteen => Some(Family::Thirteenth),
            _ => None,
        }
    }

    /// Whether the degree is an altered tension or an altered fifth.
    #[must_use]
    pub const fn is_altered(self) -> bool {
        matches!(
            self,
            Degree::Flat9
                | Degree::Sharp9
                | Degree::Flat11
                | Degree::Sharp11
                | Degree::Flat5
                | Degree::Sharp5
                | Degree::Flat13
        )
    }
}

impl fmt::Display for Degree {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// A set of named degrees.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash)]
pub struct DegreeSet(u32);

impl DegreeSet {
    /// The empty set.
    pub const EMPTY: DegreeSet = DegreeSet(0);

    /// The set of these degrees.
    #[must_use]
    pub const fn of(degrees: &[Degree]) -> DegreeSet {
        let mut set = DegreeSet(0);
        let mut rest = degrees;
        while let [first, tail @ ..] = rest {
            set = set.with(*first);
            rest = tail;
        }
        set
    }

    const fn bit(degree: Degree) -> u32 {
        1 << (degree as u8)
    }

    /// Whether the degree is in the set.
    #[must_use]
    pub const fn contains(self, degree: Degree) -> bool {
        self.0 & Self::bit(degree) != 0
    }

    /// Whether any of the degrees of `other` is in the set.
    #[must_use]
    pub const fn intersects(self, other: DegreeSet) -> bool {
        self.0 & other.0 != 0
    }

    /// The set with the degree added.
    #[must_use]
    pub const fn with(self, degree: Degree) -> DegreeSet {
        DegreeSet(self.0 | Self::bit(degree))
    }

    /// The set without the degree.
    #[must_use]
    pub const fn without(self, degree: Degree) -> DegreeSet {
        DegreeSet(self.0 & !Self::bit(degree))
    }

    /// Both sets together.
    #[must_use]
    pub const fn union(self, other: DegreeSet) -> DegreeSet {
        DegreeSet(self.0 | other.0)
    }

    /// This set without the degrees of `other`.
    #[must_use]
    pub const fn minus(self, other: DegreeSet) -> DegreeSet {
        DegreeSet(self.0 & !other.0)
    }

    /// The degrees in both sets.
    #[must_use]
    pub const fn intersection(self, other: DegreeSet) -> DegreeSet {
        DegreeSet(self.0 & other.0)
    }

    /// Whether nothing is in the set.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// How many degrees are in the set.
    #[must_use]
    pub const fn len(self) -> u32 {
        self.0.count_ones()
    }

    /// The degrees, in the order of [`Degree::ALL`].
    pub fn iter(self) -> impl Iterator<Item = Degree> {
        let mut rest = self.0;
        core::iter::from_fn(move || {
            let lowest = rest.trailing_zeros();
            // Without its lowest bit.
            rest &= rest.wrapping_sub(1);
            Degree::ALL.get(lowest as usize).copied()
        })
    }

    /// The first member of this family, if there is one.
    #[must_use]
    pub fn of_family(self, family: Family) -> Option<Degree> {
        self.iter().find(|d| d.family() == Some(family))
    }
}

impl FromIterator<Degree> for DegreeSet {
    fn from_iter<I: IntoIterator<Item = Degree>>(degrees: I) -> Self {
        degrees.into_iter().fold(DegreeSet::EMPTY, DegreeSet::with)
    }
}

impl fmt::Debug for DegreeSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_set()
            .entries(self.iter().map(Degree::name))
            .finish()
    }
}

impl fmt::Display for DegreeSet {
    /// Names with spaces between them: `b9 13`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, degree) in self.iter().enumerate() {
            if i > 0 {
                f.write_str(" ")?;
            }
            f.write_str(degree.name())?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_unique_and_read_back() {
        for d in Degree::ALL {
            assert_eq!(Degree::from_name(d.name()), Some(d), "{d}");
        }
    }

    #[test]
    fn sets_are_walked_in_the_order_of_the_enumeration() {
        for (place, degree) in Degree::ALL.into_iter().enumerate() {
            assert_eq!(degree as usize, place, "{degree}");
        }
        let all: DegreeSet = Degree::ALL.into_iter().collect();
        assert!(all.iter().eq(Degree::ALL));
        let thirds = DegreeSet::of(&[Degree::Seven, Degree::Root, Degree::Three]);
        assert!(
            thirds
                .iter()
                .eq([Degree::Root, Degree::Three, Degree::Seven])
        );
        assert_eq!(DegreeSet::EMPTY.iter().next(), None);
    }

    #[test]
    fn one_key_two_names() {
        let c = NoteName::from_fifths(0);
        for (a, b) in [
            (Degree::Sharp5, Degree::Flat13),
            (Degree::Sharp9, Degree::Flat3),
            (Degree::Sharp11, Degree::Flat5),
        ] {
            assert_eq!(a.class(c), b.class(c));
            assert_ne!(a.over(c), b.over(c));
            assert!(!DegreeSet::of(&[a]).contains(b));
        }
    }
}
