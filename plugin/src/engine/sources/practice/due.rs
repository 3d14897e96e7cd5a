//! What comes next by itself in a session: what is judged, asked, given up, shown, clicked. Imports
//! `session`, `judging` and the parts of the engine.

use super::session::{Model, Run, Session};
use crate::engine::intent::Intent;
use crate::engine::parts::Now;

/// What comes next by itself.
#[derive(Clone, Copy, Debug)]
pub enum Due {
    /// What is held is judged.
    Judge,
    /// Another tempo comes into force.
    Tempo,
    /// A question is over that was not answered, by its place among the open ones.
    Close(usize),
    /// What is held is looked at, a moment after a chord has fallen.
    Look(usize),
    /// More help is shown.
    More(usize),
    /// What is next is asked, or the next item is chosen.
    Ask,
    /// It clicks.
    Click,
    /// The first chord falls.
    First,
    /// The next question comes, for the answer before has been held for long.
    Advance,
    /// The right chord ends.
    Quiet,
}

impl Session {
    /// What comes next by itself, and at which sample of the block.
    pub fn next_due(&self, now: &Now) -> Option<(u32, Due)> {
        let frames = now.context.block.frames;
        let within = |at: u64| {
            let time = u32::try_from(at.saturating_sub(now.block_samples())).ok()?;
            Some(time).filter(|time| *time < frames)
        };
        let mut next: Option<(u32, Due)> = None;
        let mut offer = |time: Option<u32>, due: Due| {
            if let Some(time) = time
                && next.is_none_or(|(other, _)| time < other)
            {
                next = Some((time, due));
            }
        };
        let judged = self.hand.judged_at();
        offer(judged.and_then(within), Due::Judge);
        if let Some(course) = self.course() {
            let time = course.time();
            let due = |ticks: f64| time.due(ticks, now);
            offer(time.changes_at().and_then(due), Due::Tempo);
            for (slot, open) in self.open.iter().enumerate() {
                let over = open.over();
                // What was struck before is judged first.
                let waits = judged.filter(|_| self.hand.moments().0.ticks < over);
                let over = match waits {
                    Some(judged) => due(over).zip(within(judged)).map(|(a, b)| a.max(b)),
                    None => due(over),
                };
                offer(over, Due::Close(slot));
                if !open.looked_at {
                    offer(due(open.falls + course.on_time_ticks()), Due::Look(slot));
                }
            }
            offer(self.asks_at(now).and_then(due), Due::Ask);
            offer(course.click_at().and_then(due), Due::Click);
            offer(course.first_at().and_then(due), Due::First);
        }
        for (slot, open) in self.open.iter().enumerate() {
            offer(open.more_at.and_then(within), Due::More(slot));
        }
        offer(self.advances_at.and_then(within), Due::Advance);
        if let Model::Sounds(until) = self.model {
            offer(within(until), Due::Quiet);
        }
        next
    }

    /// What was due happens.
    pub fn act(&mut self, due: Due, now: &Now) -> Intent {
        match due {
            Due::Judge => self.judge(now),
            Due::Tempo => {
                if let Run::Timed(Some(course)) = &mut self.run {
                    course.time_mut().change(now);
                    self.changed = true;
                }
            }
            Due::Close(slot) => self.give_up(slot, now),
            Due::Look(slot) => self.look(slot, now),
            Due::More(slot) => self.show_more(slot, now),
            Due::Ask => {
                self.ask_in_time(now);
                self.end_if_over();
            }
            Due::Click => {
                if let Run::Timed(Some(course)) = &mut self.run
                    && let Some(click) = course.click()
                {
                    self.changed = true;
                    return Intent::Click {
                        accented: click.accented,
                    };
                }
            }
            Due::First => {
                if let Run::Timed(Some(course)) = &mut self.run {
                    course.first_has_fallen();
                    self.changed = true;
                }
            }
            Due::Advance => self.advance(now),
            Due::Quiet => return self.silence(),
        }
        self.sound(now)
    }
}
