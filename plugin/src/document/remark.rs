//! What is told of picks that are dropped. The panel shows it. Imports `pick`; the folder of
//! `document` imports it.

use super::pick::Pass;
use std::fmt;

/// What was picked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Picked {
    /// A voicing was pinned.
    Voicing,
    /// A voicing was pinned for a time that its chord is not played any more.
    VoicingFor(Pass),
    /// A scale was chosen.
    Scale,
}

/// A pick that is dropped, because its chord has changed to one that it does not fit, is gone, or is
/// not played so often any more.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dropped {
    /// What was picked.
    pub what: Picked,
    /// The symbol of the chord that it was picked for.
    pub chord: String,
    /// The symbol of the chord in its place; none if the chord is gone.
    pub became: Option<String>,
}

impl fmt::Display for Dropped {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Dropped {
            what,
            chord,
            became,
        } = self;
        match (what, became) {
            (Picked::Voicing, Some(now)) => {
                write!(
                    f,
                    "The pinned voicing of {chord} is dropped: it does not fit {now}."
                )
            }
            (Picked::VoicingFor(pass), _) => {
                write!(
                    f,
                    "The voicing of {chord} pinned for the {pass} is dropped: there is no {pass} any \
                     more."
                )
            }
            (Picked::Voicing, None) => write!(f, "The pinned voicing of {chord} is gone with it."),
            (Picked::Scale, Some(now)) => {
                write!(
                    f,
                    "The scale chosen for {chord} is dropped: it does not fit {now}."
                )
            }
            (Picked::Scale, None) => write!(f, "The scale chosen for {chord} is gone with it."),
        }
    }
}
