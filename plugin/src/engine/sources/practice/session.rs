//! A session of practice: what is asked, what becomes of an answer, and what follows. Imports the other
//! files of its folder but for `due`, and the parts of the engine.
//!
//! In free time a question is open until it is answered rightly. In time it is asked some beats before
//! its chord falls and stays open as long as the chord lasts, so several can be open at once.

use super::course::Course;
use super::hand::{Hand, Moment};
use super::judging::{Closed, Ear, Heard, Told};
use super::lesson::{Cursor, Taught};
use super::model::Model;
use super::open::Open;
use super::reach::Reach;
use super::tally::Tally;
use crate::engine::intent::Intent;
use crate::engine::ledger::Keys;
use crate::engine::parts::Now;
use crate::engine::practising::{PracticeAsk, When};
use guidehand_practice::{Answered, Pace};
use guidehand_theory::voicing::Voicing;
use tinyvec::ArrayVec;

/// The most questions that are open at once: those of eight beats, in halves of a beat.
pub const MOST_OPEN: usize = 16;

/// In free time the next question comes at the latest so many seconds after the right answer.
const HOLD_SECONDS: f64 = 1.0;

/// Whether anything is asked.
#[derive(Clone, Copy, Debug)]
pub enum Run {
    /// Nothing is. A key of the answer begins it, unless the player has ended it.
    Idle {
        /// A key begins it.
        by_key: bool,
    },
    /// Questions follow the answers.
    Free,
    /// Questions come in time. There is no course while the host stands still.
    Timed(Option<Course>),
    /// Everything in the list has been done.
    Over,
}

impl Default for Run {
    fn default() -> Run {
        Run::Idle { by_key: true }
    }
}

/// A session of practice.
#[derive(Debug, Default)]
pub struct Session {
    /// The lesson.
    pub taught: Taught,
    /// Whether anything is asked.
    pub run: Run,
    /// The place in the item in hand.
    pub cursor: Cursor,
    /// The keys of the answer.
    pub hand: Hand,
    /// The questions that wait for an answer, in the order in which their chords fall.
    pub open: ArrayVec<[Open; MOST_OPEN]>,
    closed: Option<Closed>,
    /// The question of which only notes are missing so far.
    lacking: Option<u32>,
    /// The question that was answered rightly last, and what was played.
    moved_from: Option<(u32, Voicing)>,
    /// In free time: when the next question comes at the latest, in samples since the last reset.
    pub advances_at: Option<u64>,
    /// The right chord after an answer.
    pub model: Model,
    /// What there is to tell of the last answer.
    pub told: Told,
    /// What is counted.
    pub tally: Tally,
    /// Something has changed that the panel shows.
    pub changed: bool,
}

impl Session {
    /// Samples are counted anew, and nothing sounds any longer. The lesson and what is counted stay.
    pub fn reset(&mut self) {
        let before = std::mem::take(self);
        let mut tally = before.tally;
        tally.reset();
        *self = Session {
            taught: before.taught,
            tally,
            told: before.told,
            changed: true,
            ..Session::default()
        };
    }

    /// Keys have another meaning from now on, and what sounded has been released.
    pub fn forget_keys(&mut self) {
        self.hand = Hand::default();
        self.lacking = None;
        self.model = Model::None;
    }

    /// Which keys are part of an answer.
    pub fn reach(&self, now: &Now) -> Reach {
        Reach::of(&self.taught, &self.open, now)
    }

    /// Whether a key that goes down is part of an answer.
    pub fn takes(&self, key: u8, now: &Now) -> bool {
        let reach = self.reach(now);
        let key = 1 << (key & 127);
        key & reach.lower() != 0 || self.lacking.is_some() && key & reach.upper() != 0
    }

    /// Whether questions follow the answers.
    pub const fn is_free(&self) -> bool {
        matches!(self.run, Run::Free)
    }

    /// Whether questions are asked.
    pub const fn is_running(&self) -> bool {
        matches!(self.run, Run::Free | Run::Timed(_))
    }

    /// The course, while there is one.
    pub const fn course(&self) -> Option<&Course> {
        match &self.run {
            Run::Timed(course) => course.as_ref(),
            _ => None,
        }
    }

    /// Nothing is asked from now on. What was open is not counted.
    pub fn stop(&mut self, run: Run) {
        self.run = run;
        self.open.clear();
        self.closed = None;
        self.lacking = None;
        self.moved_from = None;
        self.advances_at = None;
        self.hand.spend();
        self.changed = true;
    }

    /// Practice begins, or goes on with the item in hand.
    fn start(&mut self, now: &Now) {
        self.stop(Run::Over);
        self.tally.practise(now.samples(), now.samples_of(1.0));
        if !self.enter_item() {
            return;
        }
        match self.taught.pace() {
            Some(Pace::Free) => {
                self.run = Run::Free;
                self.ask(now);
            }
            Some(Pace::InTime { .. }) => self.begin_course(true, now),
            None => {}
        }
    }

    /// The course begins, or waits for the host.
    fn begin_course(&mut self, counts_in: bool, now: &Now) {
        let course = self.taught.pacing().zip(self.taught.times(&self.cursor));
        let course =
            course.and_then(|(pacing, item)| Course::begin(&pacing, &item, counts_in, now));
        self.stop(Run::Timed(course));
        self.cursor.again();
        self.catch_up(now);
    }

    /// The item in hand is the one that the picker gives; false if there is none.
    fn enter_item(&mut self) -> bool {
        match self.taught.current_item() {
            Some(cursor) => {
                self.cursor = cursor;
                true
            }
            None => false,
        }
    }

    /// The next question is asked.
    fn ask(&mut self, now: &Now) {
        let Some((question, before)) = self.cursor.take() else {
            return;
        };
        let rule = self.taught.help(now.samples_of(1.0));
        let mut open = Open::ask(question, before, now.samples(), &rule);
        if let Some((course, asked)) = self.course().zip(self.taught.asked(question)) {
            open.falls = course.falls(asked.start_ticks);
            open.length = f64::from(asked.length_ticks);
        }
        // The caller has seen to it that there is room.
        let _full = self.open.try_push(open);
        self.changed = true;
    }

    /// When the course asks next, in ticks; none while too much is open, or at the end.
    pub fn asks_at(&self, now: &Now) -> Option<f64> {
        let course = self.course().filter(|_| self.open.len() < MOST_OPEN)?;
        if self.cursor.is_last() {
            return None;
        }
        match self.next_falls(course) {
            Some(falls) if !course.is_beyond_loop(falls) => Some(course.asked_at(falls)),
            falls => {
                let item = self.taught.times(&self.cursor)?;
                Some(course.next_item_at(&item, falls.is_some(), now))
            }
        }
    }

    /// When the chord falls that is asked for next; none if the item has no more.
    fn next_falls(&self, course: &Course) -> Option<f64> {
        let asked = self.taught.asked(self.cursor.peek()?)?;
        Some(course.falls(asked.start_ticks))
    }

    /// The course asks for what is next, or chooses the next item.
    pub fn ask_in_time(&mut self, now: &Now) {
        let course = self.course();
        let falls = course.and_then(|course| Some((course, self.next_falls(course)?)));
        match falls {
            None => self.choose_next_item(false, now),
            Some((course, falls)) if course.is_beyond_loop(falls) => {
                self.choose_next_item(true, now);
            }
            Some((course, falls)) if course.is_to_come(falls, now) => self.ask(now),
            Some(_) => {
                // It lies before the place where practice has begun.
                self.cursor.take();
            }
        }
    }

    /// The item in hand is done, as far as it is asked: the next one follows. It may be cut by the end of
    /// the host's loop.
    fn choose_next_item(&mut self, cut: bool, now: &Now) {
        let missed = self.cursor.missed || self.misses(now);
        let before = self.taught.times(&self.cursor);
        let faster = self.taught.count_item(missed);
        if !self.taught.go_on(!missed) || !self.enter_item() {
            self.cursor.end();
            self.changed = true;
            return;
        }
        let item = self.taught.times(&self.cursor);
        if let Run::Timed(Some(course)) = &mut self.run
            && let Some((before, item)) = before.zip(item)
        {
            course.go_on(&before, &item, cut, now);
            if let Some(by_bpm) = faster {
                course.grow_faster(by_bpm, &item);
            }
        }
    }

    /// Whether a question of the item in hand waits for an answer that can no longer be right and in
    /// time.
    fn misses(&self, now: &Now) -> bool {
        let Some(course) = self.course() else {
            return false;
        };
        let here = course.time().here(now).unwrap_or(f64::NEG_INFINITY);
        let mut open = self.open.iter();
        open.any(|open| {
            let late = open.falls + course.on_time_ticks() < here;
            self.cursor.holds(open.question) && (open.missed || late)
        })
    }

    /// The tempo changes, unless the end of the round before was missed.
    pub fn change_tempo(&mut self, now: &Now) {
        let Run::Timed(Some(course)) = &mut self.run else {
            return;
        };
        let until = course.time().changes_at().unwrap_or(f64::INFINITY);
        if self.open.iter().any(|open| open.falls < until) {
            course.time_mut().stay();
        }
        course.time_mut().change(now);
        self.changed = true;
    }

    /// Asks for everything that the course should have asked for by now.
    fn catch_up(&mut self, now: &Now) {
        // Each step takes a question or an item; a few at a time are bounded work.
        for _ in 0..4 * MOST_OPEN {
            let here = self.course().and_then(|course| course.time().here(now));
            match here.zip(self.asks_at(now)) {
                Some((here, at)) if at <= here => self.ask_in_time(now),
                _ => return,
            }
        }
    }

    /// Everything has been asked and answered.
    pub fn end_if_over(&mut self) {
        if self.cursor.is_last() && self.open.is_empty() && self.is_running() {
            self.stop(Run::Over);
        }
    }

    /// In free time: the question after the one that was answered.
    pub fn advance(&mut self, now: &Now) {
        self.advances_at = None;
        self.hand.spend();
        self.ask(now);
    }

    /// Keys of the answer have gone down at this sample, and these are down now.
    pub fn strike(&mut self, down: Keys, now: &Now) {
        self.tally.practise(now.samples(), now.samples_of(1.0));
        if matches!(self.run, Run::Idle { by_key: true }) && self.taught.is_any() {
            self.start(now);
            self.strike_for_nothing(down, now);
            return;
        }
        if self.is_free() && self.open.is_empty() {
            if !self.cursor.is_within() {
                // It cannot be an answer to a question that is not known yet.
                self.strike_for_nothing(down, now);
                return;
            }
            self.advance(now);
        }
        if !self.is_running() {
            self.strike_for_nothing(down, now);
            return;
        }
        self.hand
            .strike(down, self.here(now), now.together_samples());
        if self.hand.is_gone(down) {
            // So short a note is judged while it sounds.
            self.judge(now);
            self.let_go(down, now);
        }
    }

    fn strike_for_nothing(&mut self, down: Keys, now: &Now) {
        self.hand.strike(down, self.here(now), 0);
        self.hand.spend();
    }

    fn here(&self, now: &Now) -> Moment {
        let ticks = self.course().and_then(|course| course.time().here(now));
        Moment {
            samples: now.samples(),
            ticks: ticks.unwrap_or(0.0),
        }
    }

    /// Keys have gone up, and these are down now.
    pub fn let_go(&mut self, down: Keys, now: &Now) {
        if self.hand.is_cut_short(down) {
            self.judge(now);
        }
        let lifted = self.hand.lift(down);
        if lifted.answer_over
            && let Some(lacking) = self.lacking.take()
        {
            let mut open = self.open.iter_mut();
            if let Some(open) = open.find(|open| open.question == lacking) {
                open.missed = true;
            }
        }
        if lifted.all_up && self.is_free() && self.open.is_empty() {
            self.advance(now);
        }
    }

    /// Judges what is held, and closes the questions that have waited for that.
    pub fn judge(&mut self, now: &Now) {
        let keys = self.hand.judge();
        let above = now.passing_keys() & self.reach(now).upper() & !keys;
        if let Some(heard) = self.ear().choose(keys, above, now) {
            self.take_in(&heard, now);
        }
        let here = self.course().and_then(|course| course.time().here(now));
        let over = |open: &Open| here.is_some_and(|here| open.over() <= here);
        while let Some(slot) = self.open.iter().position(over) {
            self.give_up(slot, now);
        }
    }

    /// An answer is told, and counts.
    fn take_in(&mut self, heard: &Heard, now: &Now) {
        self.tell(heard, now);
        let Some(open) = self.open.get_mut(heard.slot) else {
            return;
        };
        open.tried = true;
        if heard.judgement.is_right() {
            let (_, last) = self.hand.moments();
            self.close(heard.slot, Some(heard), last.samples, now);
        } else if heard.judgement.lacks_only() {
            self.lacking = Some(open.question);
        } else {
            self.lacking = None;
            open.missed = true;
        }
    }

    /// A question is over: it was answered rightly, or not at all.
    fn close(&mut self, slot: usize, right: Option<&Heard>, at_samples: u64, now: &Now) {
        if slot >= self.open.len() {
            return;
        }
        let open = self.open.remove(slot);
        let on_time = right.is_some_and(|heard| heard.when == When::OnTime);
        let asked = self.taught.asked(open.question);
        let position = match right {
            Some(heard) => heard.judgement.played().position,
            None => asked.map_or_else(Default::default, |asked| {
                asked.question.voiced.voicing.position
            }),
        };
        let samples = at_samples.saturating_sub(open.asked_samples);
        let answered = Answered {
            drill: self.taught.number(),
            question: open.question,
            before: open.before,
            right: right.is_some(),
            right_first: on_time && !open.missed,
            helped: open.is_helped(&self.taught.help(now.samples_of(1.0))),
            millis: now.millis_of(samples),
            position,
        };
        self.tally.count(answered);
        if self.cursor.holds(open.question) {
            self.cursor.missed |= !answered.right_first;
        } else if let Run::Timed(Some(course)) = &mut self.run
            && !answered.right_first
        {
            course.time_mut().stay();
        }
        self.closed = Some(Closed {
            question: open.question,
            right: right.is_some(),
            until_ticks: open.over(),
        });
        self.moved_from = right.map(|heard| (open.question, *heard.judgement.played()));
        self.lacking = None;
        self.hand.spend();
        if self.taught.sounds() {
            self.model = Model::Waits(open.question);
        }
        self.changed = true;
        if self.is_free() {
            self.follow_in_free_time(now);
        } else {
            self.catch_up(now);
        }
        self.end_if_over();
    }

    /// What follows in free time is known, and is asked in a moment.
    fn follow_in_free_time(&mut self, now: &Now) {
        if self.cursor.peek().is_none() {
            let missed = self.cursor.missed;
            if !self.taught.go_on(!missed) || !self.enter_item() {
                self.cursor.end();
                return;
            }
        }
        self.advances_at = Some(now.after(HOLD_SECONDS));
    }

    /// The question in force is passed over. It counts as a miss.
    fn skip(&mut self, now: &Now) {
        if self.open.is_empty() || !self.is_running() {
            return;
        }
        self.close(0, None, now.samples(), now);
        if self.is_free() {
            self.advance(now);
        }
    }

    /// More help is shown for an open question.
    pub fn show_more(&mut self, slot: usize, now: &Now) {
        let rule = self.taught.help(now.samples_of(1.0));
        if let Some(open) = self.open.get_mut(slot) {
            open.show_more(now.samples(), &rule);
            self.changed = true;
        }
    }

    /// What an answer is judged by.
    fn ear(&self) -> Ear<'_> {
        Ear {
            taught: &self.taught,
            hand: &self.hand,
            open: &self.open,
            closed: self.closed.as_ref(),
            course: self.course(),
        }
    }

    /// An answer is told.
    fn tell(&mut self, heard: &Heard, now: &Now) {
        let before = self.open.get(heard.slot).and_then(|open| open.before);
        let from = self.moved_from.as_ref();
        let from = from.filter(|(question, _)| Some(*question) == before);
        self.told = self
            .ear()
            .tell(heard, from.map(|(_, voicing)| voicing), now);
        self.changed = true;
    }

    /// What is held a moment after a chord has fallen is looked at, if nothing was played for it yet.
    pub fn look(&mut self, slot: usize, now: &Now) {
        let Some(open) = self.open.get_mut(slot) else {
            return;
        };
        open.looked_at = true;
        if open.tried || self.hand.judged_at().is_some() || self.hand.held() == 0 {
            return;
        }
        match self.ear().hear_held(slot, now) {
            Some(heard) if heard.judgement.is_right() => {
                self.tell(&heard, now);
                self.close(slot, Some(&heard), now.samples(), now);
            }
            Some(heard) => self.take_in(&heard, now),
            None => {}
        }
    }

    /// A question is over that was not answered rightly.
    pub fn give_up(&mut self, slot: usize, now: &Now) {
        let untried = self.open.get(slot).is_some_and(|open| !open.tried);
        if untried && let Some(heard) = self.ear().hear(slot, When::Never, 0, now) {
            self.tell(&heard, now);
        }
        self.close(slot, None, now.samples(), now);
    }

    /// A lesson has come, or the player has asked for something.
    #[inline(never)]
    pub fn attend(&mut self, asks: &[PracticeAsk], now: &Now) {
        if let Some(begins) = self.taught.arrive() {
            self.told = Told::default();
            self.model.forget();
            if begins {
                self.tally.begin();
            }
            if begins || self.is_running() {
                self.start(now);
            } else if matches!(self.run, Run::Over) {
                self.run = Run::default();
            }
            self.changed = true;
        }
        for ask in asks {
            match ask {
                // It comes with its lesson.
                PracticeAsk::Begin => {}
                PracticeAsk::End => {
                    self.stop(Run::Idle { by_key: false });
                    self.model.forget();
                }
                PracticeAsk::More => self.show_more(0, now),
                PracticeAsk::Skip => self.skip(now),
            }
        }
    }

    /// The host's time in force: it may have started, stopped or jumped.
    pub fn follow_host(&mut self, now: &Now) {
        let clock = &now.context.clock;
        let begins = self.begins_with_host(now);
        match &mut self.run {
            Run::Timed(None) if clock.position_ticks.is_some() => self.begin_course(true, now),
            Run::Timed(Some(course)) if course.time().is_host() => {
                if clock.position_ticks.is_none() {
                    self.stop(Run::Timed(None));
                } else if !course.follow(now) {
                    self.begin_course(false, now);
                }
            }
            Run::Idle { by_key: true } if begins => self.start(now),
            _ => {}
        }
    }

    /// Whether practice begins because the host plays. A clock of our own always does.
    fn begins_with_host(&self, now: &Now) -> bool {
        let clock = &now.context.clock;
        self.taught.is_by_host() && clock.position_ticks.is_some() && !clock.ours
    }

    /// The right chord sounds, once the hand is off the keys.
    pub fn sound(&mut self, now: &Now) -> Intent {
        self.model.sound(self.hand.held(), &self.taught, now)
    }
}
