//! Words for why notes are read as a chord. Imports `out`.

use super::out::{Out, Words, display_in_ascii};
use crate::read::{Progression, Reason};
use std::fmt::{self, Write};

display_in_ascii!(Reason);

impl Words for Reason {
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.write_str(match *self {
            Reason::NotesAlone => "by its notes alone",
            Reason::AtHome => "at home in the key",
            Reason::StruckAgain => "the chord before, struck again",
            Reason::After(progression) => after(progression),
            Reason::Before(progression) => before(progression),
            Reason::RootInBass => "its root is in the bass",
            Reason::AsCharted => "as charted",
        })
    }
}

/// The relation of the second chord of two to the first.
const fn after(progression: Progression) -> &'static str {
    match progression {
        Progression::TwoFive => "a V after its ii",
        Progression::Goal => "the goal of the dominant before",
        Progression::Chain => "a fifth below the dominant before",
        Progression::Fifth => "a fifth below the chord before",
        Progression::Resolves => "the suspension before resolves",
        Progression::Line => "a line over one minor root",
        Progression::SameRoot => "the same root as before",
        Progression::HalfStep => "a half step below the chord before",
        Progression::Substitute => "a tritone substitute after its ii",
        Progression::PassesUp => "a half step above the diminished chord before",
        Progression::PassesDown => "a half step below the diminished chord before",
        Progression::DiminishedGoal => "the goal of the diminished chord before",
        Progression::ToDiminished => "a diminished chord next to the one before",
        Progression::Tritone => "a tritone from the chord before",
        Progression::Backdoor => "the tonic after its backdoor",
        Progression::Fourth => "a fourth below the chord before",
        Progression::Third => "a third above the chord before",
        Progression::ThirdDown => "a third below the chord before",
        Progression::Step => "a step from the chord before",
        Progression::OfTheTonic => "it follows its tonic",
    }
}

/// The relation of the first chord of two to the second.
const fn before(progression: Progression) -> &'static str {
    match progression {
        Progression::TwoFive => "the ii of the chord after",
        Progression::Goal => "falls a fifth to the chord after",
        Progression::Chain => "falls a fifth to the chord after",
        Progression::Fifth => "a fifth above the chord after",
        Progression::Resolves => "resolves into the chord after",
        Progression::Line => "a line over one minor root",
        Progression::SameRoot => "the same root as after",
        Progression::HalfStep => "falls a half step to the chord after",
        Progression::Substitute => "the ii before a tritone substitute",
        Progression::PassesUp => "passes up to the chord after",
        Progression::PassesDown => "passes down to the chord after",
        Progression::DiminishedGoal => "a diminished chord before its goal",
        Progression::ToDiminished => "a diminished chord follows",
        Progression::Tritone => "a tritone from the chord after",
        Progression::Backdoor => "steps up to the tonic",
        Progression::Fourth => "a fourth above the chord after",
        Progression::Third => "a third below the chord after",
        Progression::ThirdDown => "a third above the chord after",
        Progression::Step => "a step from the chord after",
        Progression::OfTheTonic => "the tonic before its chord",
    }
}
