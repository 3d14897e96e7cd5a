//! What came of one question, on its way to the record. Plain and `Copy`: the audio thread makes it.
//! Imports the theory.

use guidehand_theory::voicing::Position;

/// What came of one question.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Answered {
    /// The number of the drill.
    pub drill: u64,
    /// The index of the question in it.
    pub question: u32,
    /// The question before it in the same item, from which the hand has moved.
    pub before: Option<u32>,
    /// It was right in the end. If not, it was passed over, or its time went by.
    pub right: bool,
    /// It was right at the first try, and in time.
    pub right_first: bool,
    /// More help was shown than at first.
    pub helped: bool,
    /// Milliseconds from the question to the right answer, or to the end of trying.
    pub millis: u32,
    /// The position of the answer, where either one counts.
    pub position: Position,
}
