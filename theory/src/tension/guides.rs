//! What takes the place of a third or a seventh that the melody speaks against. Imports `degree` and
//! `quality`; `agree` imports it.

use crate::degree::Degree::{self, DoubleFlat7, Flat3, Flat7, Four, Root, Seven, Six, Three};
use crate::quality::ChordFamily;

/// What can stand in the place of a third, in the order of preference. Under its fourth a chord is
/// suspended. A fourth or a second that yields has nothing that keeps the chord suspended, so it is
/// left out. Common practice, no published source.
pub(super) const fn instead_of_third(degree: Degree) -> &'static [Degree] {
    match degree {
        Flat3 | Three => &[Four],
        _ => &[],
    }
}

/// What can stand in the place of a seventh or sixth, in the order of preference: first of all the
/// one that the melody plays, if chords of the family have it. Common practice, no published source.
pub(super) const fn instead_of_seventh(degree: Degree, family: ChordFamily) -> &'static [Degree] {
    match (degree, family) {
        (Seven, _) => &[Six],
        (Flat7, ChordFamily::Minor) => &[Seven, Six],
        (Flat7, ChordFamily::HalfDiminished) => &[DoubleFlat7],
        (Flat7, _) => &[Six, Root],
        (Six | DoubleFlat7, _) => &[Flat7],
        _ => &[],
    }
}
