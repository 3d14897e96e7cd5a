//! A chord as its symbol states it: root, quality, extensions, alterations, bass, and the triad
//! that a polychord writes over it. Imports `pitch`, `degree` and `quality`.

use crate::degree::{Degree, DegreeSet};
use crate::pitch::NoteName;
use crate::quality::{Extent, Quality};

/// The degrees that a symbol can write in addition to quality and extent.
const WRITABLE: DegreeSet = DegreeSet::of(&[
    Degree::Flat9,
    Degree::Nine,
    Degree::Sharp9,
    Degree::Eleven,
    Degree::Sharp11,
    Degree::Flat5,
    Degree::Sharp5,
    Degree::Flat13,
    Degree::Six,
    Degree::Thirteen,
    Degree::Flat7,
    Degree::Seven,
]);

/// Altered degrees, and the natural ones that they replace.
const REPLACED: [(Degree, Degree); 6] = [
    (Degree::Flat9, Degree::Nine),
    (Degree::Sharp9, Degree::Nine),
    (Degree::Sharp11, Degree::Eleven),
    (Degree::Flat5, Degree::Five),
    (Degree::Sharp5, Degree::Five),
    (Degree::Flat13, Degree::Thirteen),
];

/// The natural extensions.
const NATURALS: [Degree; 3] = [Degree::Nine, Degree::Eleven, Degree::Thirteen];

/// A triad, such as the one above the slash of a polychord.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Triad {
    root: NoteName,
    quality: Quality,
}

impl Triad {
    /// The triad of this quality. None if the quality is not major, minor, augmented or
    /// diminished.
    #[must_use]
    pub const fn new(root: NoteName, quality: Quality) -> Option<Triad> {
        match quality {
            Quality::Major | Quality::Minor | Quality::Augmented | Quality::Diminished => {
                Some(Triad { root, quality })
            }
            _ => None,
        }
    }

    /// The triad that this chord is, if it is nothing more.
    #[must_use]
    pub fn of(chord: &Chord) -> Option<Triad> {
        let triad = Triad::new(chord.root, chord.quality)?;
        (*chord == Chord::new(triad.root, triad.quality)).then_some(triad)
    }

    /// The root, as spelled.
    #[must_use]
    pub const fn root(self) -> NoteName {
        self.root
    }

    /// Major, minor, augmented or diminished.
    #[must_use]
    pub const fn quality(self) -> Quality {
        self.quality
    }

    /// The three notes, the root first.
    pub fn notes(self) -> impl Iterator<Item = NoteName> {
        self.quality
            .degrees()
            .iter()
            .map(move |d| d.over(self.root))
    }
}

/// What a chord symbol says. Two spellings of one chord (`C7(b9,b13)` and `C7b13b9`) are equal,
/// but `C7#5` and `C7b13` are not.
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
    /// The triad that a polychord (`D/C7`) writes over this chord. Its notes stand in `written`
    /// too, so that `D/C7` holds the degrees of `C13(#11)`. If there is a bass, this chord is
    /// the meaning of a slash chord, and `upper` is the triad of that slash chord.
    pub upper: Option<Triad>,
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
            upper: None,
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
            && self.quality.degrees().contains(Degree::Three)
            && !self.written.contains(Degree::Eleven);
        if clashes {
            stack.without(Degree::Eleven)
        } else {
            stack
        }
    }

    /// As [`Chord::degrees`], with every third that the number in the symbol stacks.
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
        for (altered, natural) in REPLACED {
            if self.written.contains(altered) {
                set = set.without(natural);
            }
        }
        set.union(self.written).minus(self.omitted)
    }

    /// The third of the chord: 3, b3, or 4 or 2 if it is suspended. None in a bare fifth.
    #[must_use]
    pub fn third(&self) -> Option<Degree> {
        let stated = self.degrees();
        [Degree::Three, Degree::Flat3, Degree::Four, Degree::Two]
            .into_iter()
            .find(|d| stated.contains(*d))
    }

    /// The seventh that the symbol states, or the sixth that stands for it.
    #[must_use]
    pub fn seventh(&self) -> Option<Degree> {
        let stated = self.degrees();
        [
            Degree::Seven,
            Degree::Flat7,
            Degree::DoubleFlat7,
            Degree::Six,
        ]
        .into_iter()
        .find(|d| stated.contains(*d))
    }

    /// Whether the chord sounds major to the chord that resolves into it: a
    /// major third or a suspension.
    #[must_use]
    pub fn is_major(&self) -> bool {
        !self.quality.is_minor()
    }

    /// The same chord on another root, `fifths` along the line of fifths. The bass is
    /// transposed too.
    #[must_use]
    pub fn transposed(mut self, fifths: i8) -> Chord {
        self.root = self.root.along_fifths(fifths);
        self.bass = self.bass.map(|bass| bass.along_fifths(fifths));
        self.upper = self.upper.map(|triad| Triad {
            root: triad.root.along_fifths(fifths),
            ..triad
        });
        self
    }

    /// The chord in the one form that all its spellings share. `Cm7` with a b5 becomes
    /// half-diminished, and `C` with a 7 a major seventh. Degrees that the extent counts are
    /// not written again. Degrees that no symbol can write are dropped.
    #[must_use]
    pub fn normal(self) -> Chord {
        if let Some(upper) = self.upper {
            let lower = self.lower();
            return lower.with_upper(upper).unwrap_or(lower);
        }
        let mut chord = self;
        chord.written = chord.written.intersection(WRITABLE);
        chord.written = chord.written.minus(chord.omitted);
        while chord.fold() {}
        if chord.quality == Quality::HalfDiminished && chord.omitted.contains(Degree::Flat5) {
            // Without its fifth it is any minor seventh.
            chord.quality = Quality::MinorSeventh;
            chord.omitted = chord.omitted.with(Degree::Five);
        }
        chord.written = chord.written.minus(chord.quality.degrees());
        if chord.quality.row().extended.is_none() {
            let stated = chord.stack();
            let counted = NATURALS.into_iter().filter(|d| stated.contains(*d));
            chord.written = chord.written.union(counted.collect());
            chord.extent = Extent::Plain;
        }
        for natural in NATURALS {
            let mut plainer = chord;
            plainer.written = plainer.written.without(natural);
            if plainer.degrees() == chord.degrees() {
                chord = plainer;
            }
        }
        let mut whole = chord;
        whole.omitted = DegreeSet::EMPTY;
        chord.omitted = chord.omitted.intersection(whole.stack());
        chord
    }

    /// Merges written sevenths, sixths and fifths into the quality, if there is a name for the
    /// result. Returns whether it did. Each step leads to a fuller quality.
    fn fold(&mut self) -> bool {
        use Degree::{Flat5, Flat7, Seven, Sharp5, Six};
        let before = self.quality;
        let (quality, also) = match self.quality {
            Quality::Major if self.written.contains(Seven) => (Quality::MajorSeventh, None),
            Quality::Major if self.written.contains(Flat7) => (Quality::Dominant, None),
            Quality::Major if self.written.contains(Six) => (Quality::Sixth, None),
            Quality::Sixth if self.written.contains(Seven) => (Quality::MajorSeventh, Some(Six)),
            Quality::Sixth if self.written.contains(Flat7) => (Quality::Dominant, Some(Six)),
            Quality::Augmented if self.written.contains(Seven) => {
                (Quality::MajorSeventh, Some(Sharp5))
            }
            Quality::Augmented if self.written.contains(Flat7) => (Quality::Dominant, Some(Sharp5)),
            Quality::Augmented if self.written.contains(Six) => (Quality::Sixth, Some(Sharp5)),
            Quality::Minor if self.written.contains(Seven) => (Quality::MinorMajorSeventh, None),
            Quality::Minor if self.written.contains(Flat7) => (Quality::MinorSeventh, None),
            Quality::Minor if self.written.contains(Six) => (Quality::MinorSixth, None),
            Quality::MinorSixth if self.written.contains(Seven) => {
                (Quality::MinorMajorSeventh, Some(Six))
            }
            Quality::MinorSixth if self.written.contains(Flat7) => {
                (Quality::MinorSeventh, Some(Six))
            }
            Quality::Diminished if self.written.contains(Flat7) => (Quality::HalfDiminished, None),
            Quality::Diminished if self.written.contains(Six) => (Quality::MinorSixth, Some(Flat5)),
            Quality::Suspended if self.written.contains(Flat7) => {
                (Quality::DominantSuspended, None)
            }
            quality => (quality, None),
        };
        let also = also.into_iter().filter(|d| !self.omitted.contains(*d));
        self.written = self.written.union(also.collect());
        self.quality = match quality {
            Quality::Major if self.written.contains(Sharp5) => Quality::Augmented,
            Quality::Minor if self.written.contains(Flat5) => Quality::Diminished,
            Quality::MinorSeventh if self.written.contains(Flat5) => Quality::HalfDiminished,
            quality => quality,
        };
        self.written = self.written.minus(self.quality.degrees());
        self.quality != before
    }

    /// This chord with a triad over it. The triad's notes become written degrees.
    ///
    /// # Errors
    /// The first note of the triad that has no name as a degree over this chord, such as B over
    /// C7, which has another seventh, or G over C7alt, which has no fifth.
    pub fn with_upper(self, upper: Triad) -> Result<Chord, NoteName> {
        let mut chord = self.lower().normal();
        let own = chord.stack();
        let mut above = DegreeSet::EMPTY;
        for note in upper.notes() {
            above = above.with(chord.name(note).ok_or(note)?);
        }
        // The natural extensions of the chord stay beside the triad's alterations.
        let kept = REPLACED
            .into_iter()
            .filter(|(altered, natural)| above.contains(*altered) && own.contains(*natural));
        let kept: DegreeSet = kept.map(|(_, natural)| natural).collect();
        chord.written = chord.written.union(above).union(kept);
        chord.written = chord.written.minus(chord.quality.degrees());
        chord.upper = Some(upper);
        Ok(chord)
    }

    /// The chord under the slash of a polychord. Any other chord is returned as it is.
    #[must_use]
    pub fn lower(self) -> Chord {
        let Some(upper) = self.upper else {
            return self;
        };
        let above = upper.notes().filter_map(|note| self.name(note));
        let above: DegreeSet = above.collect();
        let mut chord = self;
        chord.upper = None;
        chord.written = DegreeSet::EMPTY;
        let counted = chord.stack();
        for degree in self.written.iter() {
            // The lower chord names a fifth or a sixth, and an alteration in place of a degree
            // that it would count by itself.
            let own = matches!(degree, Degree::Flat5 | Degree::Sharp5 | Degree::Six)
                || REPLACED.into_iter().any(|(altered, natural)| {
                    altered == degree
                        && counted.contains(natural)
                        && !self.written.contains(natural)
                });
            if own || !above.contains(degree) {
                chord.written = chord.written.with(degree);
            }
        }
        chord.normal()
    }

    /// The note as a degree over this chord, if it can stand above it.
    pub(crate) fn name(&self, note: NoteName) -> Option<Degree> {
        use Degree::{
            DoubleFlat7, Eleven, Five, Flat3, Flat5, Flat7, Flat9, Flat13, Four, Nine, Root, Seven,
            Sharp5, Sharp9, Sharp11, Six, Thirteen, Three,
        };
        let own = self.quality.degrees().union(self.written);
        let first = |names: &[Degree]| names.iter().copied().find(|d| own.contains(*d));
        let clash = |degrees: &[Degree]| first(degrees).is_some();
        let name = match note.class().above(self.root.class()) {
            0 => Root,
            1 => Flat9,
            2 => Nine,
            3 => first(&[Flat3]).unwrap_or(Sharp9),
            4 => first(&[Three])?,
            5 => first(&[Four]).unwrap_or(Eleven),
            6 => first(&[Flat5]).unwrap_or(Sharp11),
            7 if clash(&[Flat5, Sharp5]) => return None,
            7 => first(&[Five])?,
            8 => first(&[Sharp5]).unwrap_or(Flat13),
            9 => first(&[Six, DoubleFlat7]).unwrap_or(Thirteen),
            10 if clash(&[Seven, DoubleFlat7]) => return None,
            10 => Flat7,
            _ if clash(&[Flat7]) => return None,
            _ => Seven,
        };
        (!self.omitted.contains(name)).then_some(name)
    }
}
