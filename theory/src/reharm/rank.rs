//! What players reach for first: the three parts of a list, and the order by hand within them.
//! Imports `name` and `interval`; `proposal` and `run` import this.
//!
//! Common practice, no published source.

use super::interval::{instead_of, numeral, step};
use super::name::{Name, Turnaround};
use crate::key::Case;

/// The parts of a list of harmonies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Part {
    /// What nearly every player uses there.
    Usual,
    /// What gives the place another colour.
    Colourful,
    /// What changes the place so much that a band must agree on it.
    Bold,
}

impl Part {
    /// Every part, in order.
    pub const ALL: [Part; 3] = [Part::Usual, Part::Colourful, Part::Bold];
}

/// Where a proposal stands in the list: its part, then its place in the order by hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Rank {
    /// The part of the list.
    pub part: Part,
    order: u8,
}

/// What counts in the place of a proposal besides its name.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Place {
    /// The chord that is replaced is the iv of the key.
    pub(super) on_minor_four: bool,
    /// The chord that is replaced is a minor tonic.
    pub(super) on_minor_tonic: bool,
    /// The chord that is replaced is the iiø of a minor key.
    pub(super) on_half_diminished_two: bool,
    /// The key is that of a blues.
    pub(super) in_blues: bool,
    /// The run ends on a dominant that falls a fifth or a half step.
    pub(super) falls: bool,
    /// The next chord stands on the sixth degree.
    pub(super) before_six: bool,
    /// New chords are shorter than half a bar.
    pub(super) busy: bool,
}

const fn small(new: i8, old: i8) -> Name {
    instead_of((new, Case::Lower), (old, Case::Upper))
}

const USUAL: &[Name] = &[
    Name::QuickChange,
    Name::RaisedFourForFour,
    Name::Turnaround(Turnaround::Plain),
    Name::Turnaround(Turnaround::WithSecondary),
    Name::Turnaround(Turnaround::PlainInMinor),
    Name::ClicheInMinor,
    Name::TwoFiveForFiveFour,
    Name::SixSeven,
    Name::TwoFiveOfTwo,
    Name::TwoBeforeFive,
    Name::Substitute,
    Name::HalfDiminishedTwo,
    Name::FourTurnsMinor,
    Name::MinorPlagal,
    small(step::II, step::IV),
    Name::PassingUp,
    Name::OnTheSameRoot,
    Name::BeforeNext,
    Name::PassingDown,
    Name::TwoFiveBeforeNext,
    Name::Altered,
    Name::Flat9AndFlat13,
    Name::Flat9And13,
    Name::SusBeforeFive,
    Name::SusForTwoFive,
    Name::RaisedFour,
    Name::AboveTwo,
    Name::Turnaround(Turnaround::FromThree),
    Name::Turnaround(Turnaround::RaisedOne),
    Name::Turnaround(Turnaround::FlatSixInMinor),
    Name::Deceptive(numeral(step::VI, Case::Lower)),
    Name::Deceptive(numeral(step::VI, Case::HalfDiminished)),
    small(step::VI, step::I),
    small(step::III, step::I),
    Name::BeforeTonic,
];

const COLOURFUL: &[Name] = &[
    Name::SubstituteTwoFive,
    Name::BackdoorDominant,
    Name::BackdoorTwoFive,
    Name::SubstituteBeforeNext,
    Name::SubstituteForChord,
    Name::ThenSubstitute,
    Name::SusForFive,
    Name::SusThenFive,
    Name::TwoOverFive,
    Name::Sharp9AndFlat13,
    Name::Sharp11,
    Name::ForSubstitute,
    Name::LeadingTone,
    Name::ClicheInBass,
    Name::ClicheInMajor,
    Name::Turnaround(Turnaround::DiminishedThree),
    Name::Turnaround(Turnaround::FromThreeDiminished),
    Name::Turnaround(Turnaround::Dominants),
    Name::Turnaround(Turnaround::DominantsFromThree),
    Name::Turnaround(Turnaround::Substitute),
    Name::Turnaround(Turnaround::DominantsInMinor),
    Name::Turnaround(Turnaround::Substitutes),
    Name::FlatSixFiveForFiveFour,
    Name::FiveFourForTwoFive,
    Name::TwoFivesDown,
    Name::DownToSix,
    Name::WalkUp,
    Name::WalkDown,
    Name::ApproachFromAbove,
    instead_of((step::II, Case::HalfDiminished), (step::II, Case::Lower)),
    instead_of((step::IV, Case::Upper), (step::II, Case::Lower)),
    instead_of((step::IV, Case::Lower), (step::IV, Case::Upper)),
    instead_of((step::I, Case::Upper), (step::III, Case::Lower)),
    instead_of((step::I, Case::Upper), (step::VI, Case::Lower)),
    instead_of((step::IV, Case::Upper), (step::VI, Case::Lower)),
    small(step::VI, step::IV),
    instead_of((step::FLAT_III, Case::Upper), (step::I, Case::Lower)),
    instead_of((step::FLAT_VI, Case::Upper), (step::I, Case::Lower)),
    instead_of((step::IV, Case::Lower), (step::II, Case::HalfDiminished)),
    instead_of((step::I, Case::Lower), (step::FLAT_III, Case::Upper)),
    instead_of((step::II, Case::HalfDiminished), (step::IV, Case::Lower)),
    instead_of(
        (step::II, Case::HalfDiminished),
        (step::FLAT_VI, Case::Upper),
    ),
    instead_of((step::FLAT_VI, Case::Upper), (step::IV, Case::Lower)),
    instead_of((step::IV, Case::Lower), (step::FLAT_VI, Case::Upper)),
    instead_of((step::VII, Case::HalfDiminished), (step::V, Case::Upper)),
    Name::Deceptive(numeral(step::FLAT_VI, Case::Upper)),
    Name::Deceptive(numeral(step::SHARP_IV, Case::HalfDiminished)),
    Name::DelayedBy(numeral(step::FLAT_II, Case::Upper)),
    Name::FourSeven,
    Name::TwoByFifths,
    Name::ByFifths,
    Name::ByHalfSteps,
    Name::CommonToneDelay,
    Name::CommonToneOutAndBack,
    Name::DominantPedal,
    Name::TonicPedal,
];

/// The place of a name in the order by hand. What no list names is bold.
pub(super) fn rank(name: Name, place: Place) -> Rank {
    // A quarter of a list further down.
    const BUSY: usize = 8;
    let at = |list: &[Name], name: Name| list.iter().position(|n| *n == name);
    // A place can make a name as usual, or as unusual, as another.
    let like = match name {
        Name::BackdoorTwoFive | Name::BackdoorDominant if place.on_minor_four => Name::QuickChange,
        Name::ClicheInMinor if !place.on_minor_tonic => Name::SubstituteTwoFive,
        name if name == small(step::III, step::I) && place.before_six => Name::TwoBeforeFive,
        Name::SubstituteForChord if place.on_half_diminished_two => Name::TwoBeforeFive,
        // I7 and IV7 of a blues rest and need no ii.
        Name::TwoBeforeFive if place.in_blues && !place.falls => Name::SubstituteTwoFive,
        Name::Deceptive(_) | Name::DelayedBy(_) if place.in_blues => Name::MajorEnding,
        name => name,
    };
    let (part, order) = match (at(USUAL, like), at(COLOURFUL, like)) {
        (Some(order), _) if like == name => {
            (Part::Usual, order + if place.busy { BUSY } else { 0 })
        }
        (Some(order), _) => (Part::Usual, order),
        (None, Some(order)) => (Part::Colourful, order),
        (None, None) => (Part::Bold, 0),
    };
    let order = u8::try_from(order).unwrap_or(u8::MAX);
    Rank { part, order }
}
