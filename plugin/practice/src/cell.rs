//! What the record counts apart. Imports the theory.

use guidehand_theory::degree::DegreeSet;
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::voicing::Position;

/// What the record counts apart: one grip over one root.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
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
