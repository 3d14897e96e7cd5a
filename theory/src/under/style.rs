//! The styles, and what a player sets. Imports `weights`; the folder of `under` imports it.

use super::weights::Weights;
use crate::tension::TensionRequests;

/// How the voices lie under the melody.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Style {
    /// The other notes of the chord directly below the melody, within an octave. The right hand
    /// plays all of it.
    #[default]
    FourWayClose,
    /// Four-way close with the second voice from the top an octave lower. The left hand plays that
    /// voice.
    DropTwo,
    /// Four-way close, and the melody again an octave lower. The left hand plays that voice. Also
    /// known as locked hands.
    DoubleLead,
}

impl Style {
    /// Every style.
    pub const ALL: [Style; 3] = [Style::FourWayClose, Style::DropTwo, Style::DoubleLead];
}

/// What a player sets.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Taste {
    /// The style.
    pub style: Style,
    /// What is asked of the chords' tensions.
    pub requests: TensionRequests,
    /// The prices.
    pub weights: Weights,
}
