//! How homework is judged. Imports the theory.

use guidehand_theory::candidates::Register;
use guidehand_theory::judge::Accepts;
use guidehand_theory::pitch::MidiNote;

/// What the right hand plays.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RightHand {
    /// It is looked for in what is played.
    #[default]
    Found,
    /// It plays this note and every higher one.
    From(MidiNote),
}

/// How homework is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ways {
    /// What counts as right.
    pub accepts: Accepts,
    /// Where voicings lie.
    pub register: Register,
    /// What the right hand plays, which is no part of an answer.
    pub right_hand: RightHand,
    /// The tick of the file at which the chart begins; if none, it is looked for.
    pub start_ticks: Option<u32>,
}
