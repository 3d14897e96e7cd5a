//! Inner lines over a dominant that holds: what sounds first, and what it moves to. Imports
//! `tones`.

use super::tones::Tones;
use crate::degree::Degree::{
    self, Five, Flat7, Flat9, Flat13, Four, Nine, Sharp5, Sharp9, Thirteen, Three,
};
use crate::degree::DegreeSet;
use crate::line::LINES;

/// The stock lines, as the degrees that move. The suspension that resolves is the last.
pub(super) fn all() -> impl Iterator<Item = (Degree, Degree)> {
    LINES.into_iter().chain([(Four, Three)])
}

/// The tones before and after one degree moves to another. The other degrees are those that
/// sound now, if they go with the line.
pub(super) fn inner(now: DegreeSet, from: Degree, to: Degree) -> [Tones; 2] {
    let first = |degrees: &[Degree]| degrees.iter().copied().find(|d| now.contains(*d));
    let ninth = || first(&[Nine, Flat9]);
    let fifth = || first(&[Thirteen, Flat13, Sharp5, Five]).unwrap_or(Thirteen);
    // A #9 gives way to b9 under a suspension, because it would be its third.
    let dark = if now.contains(Sharp9) { Flat9 } else { Nine };
    let with = |moving| {
        let (third, others) = match from {
            Sharp9 => (Three, [moving, Flat13]),
            Nine => (Three, [moving, fifth()]),
            Thirteen => (Three, [ninth().unwrap_or(Nine), moving]),
            _ => (moving, [ninth().unwrap_or(dark), fifth()]),
        };
        Tones {
            third,
            seventh: Flat7,
            others,
            also: None,
        }
    };
    [with(from), with(to)]
}
