//! What the panel shows of a session. Imports `session`, `course` and the parts of the engine.

use super::course::Course;
use super::session::{Run, Session};
use crate::engine::parts::Now;
use crate::engine::practising::{Asking, Stage};

impl Session {
    /// What the panel shows.
    pub fn asking(&self, below: u8, now: &Now) -> Asking {
        let first = self.open.first();
        let second = self.open.get(1).map(|open| open.question);
        let coming = self.cursor.peek().filter(|_| self.cursor.is_within());
        let course = self.course();
        let stage = match self.run {
            Run::Idle { by_key: true } if self.taught.is_by_host() && !now.context.clock.ours => {
                Stage::WaitsForHost
            }
            Run::Idle { .. } => Stage::Idle,
            Run::Over => Stage::Over,
            Run::Timed(None) => Stage::WaitsForHost,
            _ => match course.and_then(Course::beats_left) {
                Some(beats) => Stage::CountsIn { beats },
                None if first.is_some() => Stage::Asked,
                None => Stage::Answered,
            },
        };
        let free = self.is_free();
        Asking {
            drill: self.taught.number(),
            stage,
            question: first.map(|open| open.question).or(self.told.judged),
            next: second.or(coming.filter(|_| free)),
            help: first.map_or(self.taught.first_help(), |open| open.help),
            judgement: self.told.judgement,
            judged: self.told.judged,
            when: self.told.when,
            rolled_ms: self.told.rolled_ms,
            motion: self.told.motion,
            answered: self.tally.answered,
            right_first: self.tally.right_first,
            done: self.taught.done(),
            #[expect(clippy::cast_possible_truncation, reason = "a tempo needs few digits")]
            bpm: course
                .and_then(|course| course.time().own_bpm())
                .map(|bpm| bpm as f32),
            minutes: self.tally.minutes(),
            by_key: matches!(self.run, Run::Idle { by_key: true }) && self.taught.is_any(),
            below,
            clicks: course.is_some_and(Course::clicks),
            unrecorded: self.tally.answers.lost(),
        }
    }
}
