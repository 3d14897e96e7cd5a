//! What the panel asks and shows of practice: plain and `Copy`, so that it can cross to the audio thread
//! and back. Imports the theory and the practice crate; `snapshot`, `sources` and the bridge import it.

use guidehand_practice::Help;
use guidehand_theory::judge::{Judgement, Motion};

/// What a player asks of a drill that runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PracticeAsk {
    /// It begins, from its first question.
    Begin,
    /// It ends.
    #[default]
    End,
    /// More help is shown.
    More,
    /// The question is passed over. It counts as a miss.
    Skip,
}

/// How far a question has come.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Stage {
    /// Nothing is asked: practice has not begun, or was ended.
    #[default]
    Idle,
    /// It waits for the host to play.
    WaitsForHost,
    /// The first chord is counted in; so many beats are left.
    CountsIn {
        /// Beats before the first chord.
        beats: u8,
    },
    /// A question waits for its answer.
    Asked,
    /// It has been answered; the judgement stands until the next question.
    Answered,
    /// Everything in the list has been done.
    Over,
}

/// When an answer came, in time.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum When {
    /// In time, or no time was asked for.
    #[default]
    OnTime,
    /// So many beats early.
    Early(f32),
    /// So many beats late.
    Late(f32),
    /// Not at all.
    Never,
}

/// What is asked, and what came of it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asking {
    /// The number of the drill.
    pub drill: u64,
    /// How far the question has come.
    pub stage: Stage,
    /// The question in force, as an index of the drill's questions.
    pub question: Option<u32>,
    /// The next one, where it is known: in time, it is asked some beats ahead.
    pub next: Option<u32>,
    /// How much help is shown now.
    pub help: Help,
    /// What there is to tell of what was played last: over the question in force, or over the one
    /// before if `judged` says so.
    pub judgement: Option<Judgement>,
    /// The question that the judgement is about.
    pub judged: Option<u32>,
    /// When that answer came.
    pub when: When,
    /// Its notes were spread over so many milliseconds, if that is more than one gesture.
    pub rolled_ms: Option<u16>,
    /// How far the hand has moved, where that is judged.
    pub motion: Option<Motion>,
    /// Questions that were answered since the start, and how many of them at first try.
    pub answered: u32,
    /// Of these, right at first try.
    pub right_first: u32,
    /// Items that are done, of all items of the drill.
    pub done: u32,
    /// The tempo of its own, in quarter notes a minute.
    pub bpm: Option<f32>,
    /// Whole minutes of practice since the start. A pause counts for one minute at most.
    pub minutes: u16,
    /// While nothing is asked: a key of the answer begins practice.
    pub by_key: bool,
    /// Keys below this MIDI note are part of an answer: the split, or what lies above the register and
    /// above the chord that is asked for, whichever is higher.
    pub below: u8,
    /// Clicks give the time. They sound on the audition tone alone.
    pub clicks: bool,
    /// Answers that are counted here and have not come into the record: it took them too slowly.
    pub unrecorded: u32,
}
