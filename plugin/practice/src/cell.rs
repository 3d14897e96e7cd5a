//! What the record counts apart. Imports the theory.

mod name;

use guidehand_theory::degree::DegreeSet;
use guidehand_theory::dressing::stock_dressings;
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::voicing::{Position, Voicing};
use std::cmp::Ordering;

/// What the record counts apart: one grip over one root.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Cell {
    /// The family of the chord.
    pub family: ShapeFamily,
    /// The tensions of a dominant that is dressed; empty for any other chord.
    pub dressing: DegreeSet,
    /// The chord's root, whatever it is called.
    pub root: PitchClass,
    /// The position: which slot is lowest.
    pub position: Position,
}

impl Cell {
    /// The cell of a voicing. Dominants, suspended ones too, count by what they are dressed in, whether
    /// a player has chosen it or the key gives it. None for a chord of no family.
    #[must_use]
    pub fn of(placed: &ChordInKey, voicing: &Voicing) -> Option<Cell> {
        let chord = &placed.chord;
        let degrees = voicing.degrees();
        let family = ShapeFamily::of(chord, degrees)?;
        let dressing = match family {
            ShapeFamily::Dominant | ShapeFamily::Suspended => dressing(family, degrees),
            _ => DegreeSet::EMPTY,
        };
        Some(Cell {
            family,
            dressing,
            root: chord.root.class(),
            position: voicing.position,
        })
    }
}

impl Ord for Cell {
    /// By family, dressing, root and position.
    fn cmp(&self, other: &Cell) -> Ordering {
        let place = |cell: &Cell| (cell.root.number(), cell.position);
        self.family
            .cmp(&other.family)
            .then_with(|| self.dressing.iter().cmp(other.dressing.iter()))
            .then_with(|| place(self).cmp(&place(other)))
    }
}

impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Cell) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// What these degrees of a dominant are called as a dressing. What the table does not know is called by
/// all its degrees beside the guide tones.
fn dressing(family: ShapeFamily, degrees: DegreeSet) -> DegreeSet {
    let others = degrees.minus(DegreeSet::of(&family.guide_tones()));
    let known = stock_dressings().find(|one| {
        // Four notes hold two of them.
        let two = one.tensions().others.into_iter().take(2).collect();
        one.family() == family && (others == two || others == one.degrees())
    });
    known.map_or(others, |one| one.degrees())
}
