//! A chord as its symbol states it: root, quality, extensions, alterations, bass.
//! Imports `pitch`, `degree` and `quality`.

use crate::degree::{Degree, DegreeSet};
use crate::pitch::NoteName;
use crate::quality::{Extent, Quality};

/// What a chord symbol says. Two spellings of one chord (`C7(b9,b13)` and
/// `C7b13b9`) are equal; `C7#5` and `C7b13` are not.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Chord {
    /// The root, as spelled.
    pub root: NoteName,
    /// Triad or seventh.
    pub quality: Quality,
    /// How far the symbol stacks natural thirds.
    pub extent: Extent,
    /// Degrees that the symbol writes beyond quality and extent: alterations
    /// and added notes.
    pub written: DegreeSet,
    /// Degrees that the symbol takes away (`no5`).
    pub omitted: DegreeSet,
    /// The bass under a slash.
    pub bass: Option<NoteName>,
}

impl Chord {
    /// A chord without extensions or alterations.
    #[must_use]
    pub const fn new(root: NoteName, quality: Quality) -> Chord {
        Chord {
            root,
            quality,
            extent: Extent::Plain,
            written: DegreeSet::EMPTY,
            omitted: DegreeSet::EMPTY,
            bass: None,
        }
    }

    /// The same chord with these degrees written too.
    #[must_use]
    pub const fn with(mut self, degrees: &[Degree]) -> Chord {
        self.written = self.written.union(DegreeSet::of(degrees));
        self
    }

    /// The same chord with this extent.
    #[must_use]
    pub const fn extended(mut self, extent: Extent) -> Chord {
        self.extent = extent;
        self
    }

    /// All degrees that the symbol states: chord tones, natural extensions and
    /// written degrees, less what alterations replace and what is omitted.
    ///
    /// A thirteenth over a major third leaves the eleventh out, as players do
    /// (common practice, no published source); [`Chord::stack`] keeps it.
    #[must_use]
    pub fn degrees(&self) -> DegreeSet {
        let stack = self.stack();
        let clashes = self.extent == Extent::Thirteenth
            && self.quality.degrees().has(Degree::Three)
            && !self.written.has(Degree::Eleven);
        if clashes {
            stack.without(Degree::Eleven)
        } else {
            stack
        }
    }

    /// As [`Chord::degrees`], with every third of the stack that the number in
    /// the symbol counts.
    #[must_use]
    pub fn stack(&self) -> DegreeSet {
        let sus = self.quality.is_suspended();
        let mut set = self.quality.degrees();
        if self.extent >= Extent::Ninth {
            set = set.with(Degree::Nine);
        }
        if self.extent >= Extent::Eleventh && !sus {
            set = set.with(Degree::Eleven);
        }
        if self.extent >= Extent::Thirteenth {
            set = set.with(Degree::Thirteen);
        }
        for (altered, natural) in [
            (Degree::Flat9, Degree::Nine),
            (Degree::Sharp9, Degree::Nine),
            (Degree::Sharp11, Degree::Eleven),
            (Degree::Flat5, Degree::Five),
            (Degree::Sharp5, Degree::Five),
            (Degree::Flat13, Degree::Thirteen),
        ] {
            if self.written.has(altered) {
                set = set.without(natural);
            }
        }
        set.union(self.written).minus(self.omitted)
    }

    /// The third of the chord: 3, b3, or 4 or 2 where it is suspended; none in
    /// a bare fifth.
    #[must_use]
    pub fn third(&self) -> Option<Degree> {
        [Degree::Three, Degree::Flat3, Degree::Four, Degree::Two]
            .into_iter()
            .find(|d| self.degrees().has(*d))
    }

    /// The seventh that the symbol states, or the sixth that stands for it.
    #[must_use]
    pub fn seventh(&self) -> Option<Degree> {
        [
            Degree::Seven,
            Degree::Flat7,
            Degree::DoubleFlat7,
            Degree::Six,
        ]
        .into_iter()
        .find(|d| self.degrees().has(*d))
    }

    /// Whether the chord sounds major to the chord that resolves into it: a
    /// major third or a suspension.
    #[must_use]
    pub fn is_major(&self) -> bool {
        !self.quality.is_minor()
    }

    /// The same chord on a root an interval of `fifths` along the line of
    /// fifths away; the bass goes along.
    #[must_use]
    pub fn transposed(mut self, fifths: i8) -> Chord {
        self.root = self.root.along_fifths(fifths);
        self.bass = self.bass.map(|bass| bass.along_fifths(fifths));
        self
    }
}
