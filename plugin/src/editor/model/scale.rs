//! The scale that a player chose over a chord that is not of the chart; for those of the chart the
//! document keeps it. The panel's thread; `pages` keeps it, and the region of the scale reads it. It
//! imports the theory.

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree;

/// One of the scales that fit a chord. The choice holds as long as the chord is
/// written and voiced like this.
#[derive(Clone, Debug, PartialEq)]
pub struct ScaleChoice {
    /// The chord, and the degrees of its voicing.
    pub of: (Chord, Vec<Degree>),
    /// The place of the scale among those that fit.
    pub at: usize,
}
