//! What is told of picks that are dropped. The panel shows it. Imports `pick`; the folder of
//! `document` imports it.

use super::pick::Pass;
use std::fmt;

/// What was picked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Picked {
    /// A voicing was pinned.
    Voicing,
    /// A scale was chosen.
    Scale,
}

/// Why a pick is dropped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Why {
    /// Its chord has changed to this one, which it does not fit.
    Misfit(String),
    /// Its chord is gone.
    Gone,
    /// Its chord is not played so often any more.
    NotPlayed(Pass),
    /// Its chord is this one in the new key, and MIDI has no place for its notes there.
    NoPlace(String),
}

/// A pick that is dropped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dropped {
    /// What was picked.
    pub what: Picked,
    /// The symbol of the chord that it was picked for.
    pub chord: String,
    /// Why it is dropped.
    pub why: Why,
}

impl fmt::Display for Dropped {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Dropped { what, chord, why } = self;
        let what = match what {
            Picked::Voicing => "pinned voicing of",
            Picked::Scale => "scale chosen for",
        };
        match why {
            Why::Misfit(now) => {
                write!(f, "The {what} {chord} is dropped: it does not fit {now}.")
            }
            Why::Gone => write!(f, "The {what} {chord} is gone with it."),
            Why::NotPlayed(pass) => write!(
                f,
                "The {what} {chord} for the {pass} is dropped: there is no {pass} any more."
            ),
            Why::NoPlace(now) => write!(
                f,
                "The {what} {chord} is dropped: MIDI has no place for its notes over {now}."
            ),
        }
    }
}
