//! Which notes a kind of chord can hold, by what names, and how usual they are.
//! Imports `chord`, `degree` and `quality`.

use crate::chord::Chord;
use crate::degree::Degree::{
    self, DoubleFlat7, Eleven, Five, Flat3, Flat5, Flat7, Flat9, Flat13, Four, Nine, Root, Seven,
    Sharp5, Sharp9, Sharp11, Six, Thirteen, Three, Two,
};
use crate::degree::DegreeSet;
use crate::quality::Quality;

/// A kind of chord with all notes that it can hold.
pub(super) struct Palette {
    pub(super) quality: Quality,
    pub(super) third: Option<Degree>,
    pub(super) seventh: Option<Degree>,
    /// Whether the root belongs to its rootless form too, because it has no natural ninth.
    pub(super) keeps_root: bool,
    /// Points for the kind itself. Rare kinds have fewer.
    bias: i32,
    /// The degrees that it can hold, with the points that each costs.
    holds: &'static [(Degree, i32)],
}

const fn palette(
    quality: Quality,
    third: Degree,
    seventh: Option<Degree>,
    bias: i32,
    holds: &'static [(Degree, i32)],
) -> Palette {
    Palette {
        quality,
        third: Some(third),
        seventh,
        keeps_root: matches!(
            quality,
            Quality::HalfDiminished | Quality::DiminishedSeventh
        ),
        bias,
        holds,
    }
}

/// Every kind that is read.
pub(super) static PALETTES: [Palette; 18] = [
    palette(
        // The cost of its tensions depends on where it goes, see `dress`.
        Quality::Dominant,
        Three,
        Some(Flat7),
        0,
        &[
            (Root, 0),
            (Flat9, 0),
            (Nine, 0),
            (Sharp9, 0),
            (Three, 0),
            (Sharp11, 0),
            (Five, 0),
            (Flat13, 0),
            (Thirteen, 0),
            (Flat7, 0),
        ],
    ),
    palette(
        Quality::MajorSeventh,
        Three,
        Some(Seven),
        0,
        &[
            (Root, 0),
            (Nine, 0),
            (Three, 0),
            (Sharp11, 3),
            (Five, 0),
            (Thirteen, 2),
            (Seven, 0),
        ],
    ),
    // The ear takes a major seventh with a raised fifth for another kind of chord.
    palette(
        Quality::MajorSeventh,
        Three,
        Some(Seven),
        -6,
        &[
            (Root, 0),
            (Nine, 0),
            (Three, 0),
            (Sharp11, 4),
            (Sharp5, 0),
            (Thirteen, 8),
            (Seven, 0),
        ],
    ),
    palette(
        Quality::MinorSeventh,
        Flat3,
        Some(Flat7),
        0,
        &[
            (Root, 0),
            (Nine, 0),
            (Flat3, 0),
            (Eleven, 2),
            (Five, 0),
            (Thirteen, 8),
            (Flat7, 0),
        ],
    ),
    palette(
        Quality::DominantSuspended,
        Four,
        Some(Flat7),
        -4,
        &[
            (Root, 0),
            (Flat9, 8),
            (Nine, 0),
            (Four, 0),
            (Five, 0),
            (Flat13, 5),
            (Thirteen, 0),
            (Flat7, 0),
        ],
    ),
    palette(
        Quality::Sixth,
        Three,
        Some(Six),
        -4,
        &[
            (Root, 0),
            (Nine, 0),
            (Three, 0),
            (Sharp11, 4),
            (Five, 0),
            (Six, 0),
        ],
    ),
    palette(
        Quality::MinorSixth,
        Flat3,
        Some(Six),
        -3,
        &[
            (Root, 0),
            (Nine, 0),
            (Flat3, 0),
            (Eleven, 6),
            (Five, 0),
            (Six, 0),
        ],
    ),
    palette(
        Quality::MinorMajorSeventh,
        Flat3,
        Some(Seven),
        -4,
        &[
            (Root, 0),
            (Nine, 0),
            (Flat3, 0),
            (Eleven, 10),
            (Five, 0),
            (Thirteen, 8),
            (Seven, 0),
        ],
    ),
    palette(
        Quality::HalfDiminished,
        Flat3,
        Some(Flat7),
        -2,
        &[
            (Root, 0),
            (Nine, 3),
            (Flat3, 0),
            (Eleven, 3),
            (Flat5, 0),
            (Flat13, 5),
            (Flat7, 0),
        ],
    ),
    palette(
        Quality::DiminishedSeventh,
        Flat3,
        Some(DoubleFlat7),
        0,
        &[
            (Root, 0),
            (Nine, 9),
            (Flat3, 0),
            (Eleven, 5),
            (Flat5, 0),
            (Flat13, 5),
            (DoubleFlat7, 0),
            (Seven, 5),
        ],
    ),
    palette(
        Quality::Major,
        Three,
        None,
        -6,
        &[(Root, 0), (Three, 0), (Five, 0), (Nine, 4)],
    ),
    palette(
        Quality::Minor,
        Flat3,
        None,
        -6,
        &[(Root, 0), (Flat3, 0), (Five, 0), (Nine, 4)],
    ),
    palette(
        Quality::Diminished,
        Flat3,
        None,
        -9,
        &[(Root, 0), (Flat3, 0), (Flat5, 0)],
    ),
    palette(
        Quality::Augmented,
        Three,
        None,
        -9,
        &[(Root, 0), (Three, 0), (Sharp5, 0), (Nine, 4)],
    ),
    palette(
        Quality::Suspended,
        Four,
        None,
        -9,
        &[(Root, 0), (Four, 0), (Five, 0)],
    ),
    palette(
        Quality::SuspendedSecond,
        Two,
        None,
        -10,
        &[(Root, 0), (Two, 0), (Five, 0)],
    ),
    palette(
        Quality::SuspendedSecond,
        Two,
        Some(Six),
        -14,
        &[(Root, 0), (Two, 0), (Five, 0), (Six, 0)],
    ),
    Palette {
        quality: Quality::Power,
        third: None,
        seventh: None,
        keeps_root: false,
        bias: -12,
        holds: &[(Root, 0), (Five, 0), (Nine, 4)],
    },
];

const GUIDE_TONE_POINTS: i32 = 12;

impl Palette {
    /// The degree for an interval above the root, in semitones, if the chord can hold it.
    pub(super) fn degree(&self, interval: u8) -> Option<Degree> {
        let names = self.holds.iter().map(|(degree, _)| *degree);
        names
            .into_iter()
            .find(|d| u8::try_from(d.interval().semitones) == Ok(interval))
    }

    /// Chooses between two names of one key. A degree that the chart writes stays. Otherwise
    /// eight semitones over a dominant are a b13. They are a #5 if a natural ninth and no fifth
    /// sounds with them, as in the whole-tone scale.
    pub(super) fn named(&self, degrees: DegreeSet, charted: Option<Chord>) -> DegreeSet {
        if self.quality != Quality::Dominant {
            return degrees;
        }
        let mut named = degrees;
        let written = charted.map_or(DegreeSet::EMPTY, |c| c.written);
        let whole_tone = degrees.contains(Nine)
            && !degrees.intersects(DegreeSet::of(&[Five, Thirteen, Flat9, Sharp9]));
        let sharp_five = written.contains(Sharp5)
            || whole_tone && !written.contains(Flat13) && charted.is_none();
        if degrees.contains(Flat13) && sharp_five {
            named = named.without(Flat13).with(Sharp5);
        }
        if degrees.contains(Sharp11) && written.contains(Flat5) {
            named = named.without(Sharp11).with(Flat5);
        }
        named
    }

    /// Whether enough of the chord sounds to name it.
    pub(super) fn is_spoken(&self, degrees: DegreeSet, notes: usize) -> bool {
        let has = |guide: Option<Degree>| guide.is_none_or(|d| degrees.contains(d));
        let fifths = DegreeSet::of(&[Five, Flat5, Sharp5]);
        match self.seventh {
            // Three notes may lack one guide tone, though players seldom do that.
            Some(_) if notes == 3 => {
                (has(self.third) || has(self.seventh)) && self.fifth_is_there(degrees)
            }
            Some(_) => has(self.third) && has(self.seventh) && self.fifth_is_there(degrees),
            None => degrees.contains(Root) && has(self.third) && degrees.intersects(fifths),
        }
    }

    /// Whether the fifth sounds, for chords that are defined by it. They need it unless little
    /// more than their guide tones sounds.
    fn fifth_is_there(&self, degrees: DegreeSet) -> bool {
        const BARE: DegreeSet = DegreeSet::of(&[Root, Flat3, Flat7, DoubleFlat7]);
        let raised = self.holds.iter().any(|(d, _)| *d == Sharp5);
        let lowered = self.holds.iter().any(|(d, _)| *d == Flat5);
        let bare = degrees.minus(BARE).is_empty();
        (!raised || degrees.contains(Sharp5)) && (!lowered || degrees.contains(Flat5) || bare)
    }

    /// Whether a stack of fourths over this kind of chord has this degree as its lowest note.
    pub(super) fn stacks_on(&self, lowest: Option<Degree>) -> bool {
        match self.quality {
            Quality::Dominant => matches!(lowest, Some(Three | Flat7)),
            Quality::MajorSeventh => matches!(lowest, Some(Three | Seven | Sharp11)),
            Quality::Sixth => lowest == Some(Three),
            Quality::MinorSixth => lowest == Some(Flat3),
            Quality::MinorSeventh => matches!(lowest, Some(Eleven | Root)),
            Quality::DominantSuspended => matches!(lowest, Some(Root | Five)),
            _ => false,
        }
    }

    /// Points for what sounds.
    pub(super) fn points(&self, degrees: DegreeSet) -> i32 {
        let cost: i32 = degrees
            .iter()
            .map(|d| {
                let row = self.holds.iter().find(|(held, _)| *held == d);
                row.map_or(4, |(_, cost)| *cost)
            })
            .sum();
        let guides = [self.third, self.seventh].into_iter().flatten();
        let there: i32 = guides.map(|d| i32::from(degrees.contains(d))).sum();
        let both_ninths =
            degrees.contains(Nine) && degrees.intersects(DegreeSet::of(&[Flat9, Sharp9]));
        let both_thirteenths = degrees.contains(Thirteen) && degrees.contains(Flat13);
        self.bias - cost + GUIDE_TONE_POINTS * there
            - 15 * i32::from(both_ninths)
            - 10 * i32::from(both_thirteenths)
    }

    /// Whether players usually play this kind for a charted triad or an altered dominant.
    pub(super) fn dresses(&self, charted: Quality) -> bool {
        matches!(
            (charted, self.quality),
            (Quality::Altered, Quality::Dominant)
                | (Quality::Major, Quality::Sixth | Quality::MajorSeventh)
                | (Quality::Minor, Quality::MinorSixth | Quality::MinorSeventh)
                | (Quality::Diminished, Quality::DiminishedSeventh)
                | (Quality::Suspended, Quality::DominantSuspended)
        )
    }
}
