//! Practice: a drill asks for chords, and what is played below passes and is judged against them. Nothing
//! is generated but clicks and, if asked for, the right chord after the answer. Imports `source`,
//! `practice/*` and the parts of the engine.
//!
//! Keys are part of an answer below the split, and as high as the register and the chord that is asked
//! for reach. Keys up to an octave above count where the chord lacks notes.

mod course;
mod due;
mod hand;
mod judging;
mod lesson;
mod model;
mod open;
mod reach;
mod session;
mod shown;
mod tally;
mod tempo;

use super::source::ChordSource;
use crate::engine::block::{Block, Timing};
use crate::engine::hand::HeldKey;
use crate::engine::intent::Intent;
use crate::engine::parts::Now;
use crate::engine::planned::PlannedChart;
use crate::engine::practising::PracticeAsk;
use crate::engine::snapshot::Snapshot;
use guidehand_practice::Lesson;
use session::{Run, Session};
pub use tally::Answers;
use tinyvec::ArrayVec;

/// The most that is asked of a drill between two blocks.
const MOST_ASKED: usize = 8;

/// Practice.
#[derive(Debug, Default)]
pub struct PracticeSource {
    session: Session,
    asks: ArrayVec<[PracticeAsk; MOST_ASKED]>,
    /// Where the next block begins if the source stays in force, in samples since the last reset.
    block_ends: u64,
}

impl PracticeSource {
    /// Another lesson takes the place of the one before, which is returned: it must not be freed here.
    /// It begins at once if the player has asked for that.
    pub const fn teach(&mut self, lesson: Box<Lesson>, begins: bool) -> Option<Box<Lesson>> {
        self.session.taught.take(lesson, begins)
    }

    /// The player asks something of the drill.
    pub fn practise(&mut self, ask: PracticeAsk) {
        // More than that is not asked by hand between two blocks.
        let _full = self.asks.try_push(ask);
    }

    /// Answers on their way to the record.
    pub const fn answers(&mut self) -> &mut Answers {
        &mut self.session.tally.answers
    }

    /// Samples are counted anew, and nothing sounds any longer. The lesson and what is counted stay.
    pub fn reset(&mut self) {
        self.session.reset();
        self.asks.clear();
        self.block_ends = 0;
    }
}

impl ChordSource for PracticeSource {
    fn timing(&self, _block: &Block, _song: Option<&PlannedChart>) -> Timing {
        Timing {
            counts_from_chart: self.session.taught.is_by_chart(),
            ..Timing::default()
        }
    }

    fn leave(&mut self) {
        self.session.forget_keys();
    }

    fn begin_block(&mut self, now: &Now) -> Intent {
        let from = now.block_samples();
        let was_away = from != self.block_ends;
        self.block_ends = from.saturating_add(u64::from(now.context.block.frames));
        let session = &mut self.session;
        if (was_away || now.settings().bypass) && session.is_running() {
            session.stop(Run::default());
        }
        if now.settings().bypass {
            return Intent::Hold;
        }
        if session.taught.has_arrived() || !self.asks.is_empty() {
            session.attend(&std::mem::take(&mut self.asks), now);
        }
        session.follow_host(now);
        session.sound(now)
    }

    fn key_down(&mut self, key: HeldKey, now: &Now) -> Intent {
        if !now.settings().bypass && self.session.takes(key.key, now) {
            self.session.hand.press(key.key);
        }
        Intent::Pass
    }

    fn settle(&mut self, now: &Now) -> Intent {
        if !now.keys_moved() {
            return Intent::Hold;
        }
        let taken = self.session.reach(now).lower() | self.session.hand.taken();
        let down = now.passing_keys() & taken;
        self.session.let_go(down, now);
        if self.session.hand.is_pressed() {
            let intent = self.session.model.silence();
            self.session.strike(down, now);
            return intent;
        }
        self.session.sound(now)
    }

    fn next_due(&self, now: &Now) -> Option<u32> {
        self.session.next_due(now).map(|(time, _)| time)
    }

    fn act(&mut self, now: &Now) -> Intent {
        match self.session.next_due(now) {
            Some((_, due)) => self.session.act(due, now),
            None => Intent::Hold,
        }
    }

    fn take_changed(&mut self) -> bool {
        std::mem::take(&mut self.session.changed)
    }

    fn show(&self, snapshot: &mut Snapshot, now: &Now) {
        snapshot.practice = Some(self.session.asking(self.session.reach(now).below, now));
    }
}

#[cfg(test)]
impl PracticeSource {
    /// How much has been asked since the block before.
    pub fn asks(&self) -> usize {
        self.asks.len()
    }

    /// An answer, as if a question had been answered.
    pub fn put_answer(&mut self, answered: guidehand_practice::Answered) {
        self.session.tally.count(answered);
    }
}
