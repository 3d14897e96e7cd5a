//! What a player asks for at the other harmonies. The panel's thread; `action`, the
//! region and `apply` import it.

use super::offers::Offer;
use guidehand_theory::reharm::Dress;

/// What a player asks for at the other harmonies.
#[derive(Clone, Debug, PartialEq)]
pub enum HarmoniesAction {
    /// Tries an offer, or flips between it and the chart as written.
    Press(Offer),
    /// What is tried sounds, or the chart as written, from the next bar line.
    Flip(bool),
    /// What is tried becomes the chart.
    Keep,
    /// What is tried is forgotten.
    Drop,
    /// The line of the melody is edited.
    Melody(String),
    /// The melody is taken from the right hand, or no longer.
    Listen(bool),
    /// All bars are dressed at once, or those that are asked about.
    AllBars(bool),
    /// Bars are dressed.
    Dress(Dress),
}
