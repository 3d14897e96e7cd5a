//! The cell of practice: the exercise and the record, shared by the host, the panel and the worker. The
//! audio thread does not know its lock, and no lesson is made under it. `params`, `worker`, `editor` and
//! `ends` import it.

use super::line::{self, LessonReceiver, Line, Sent};
use super::making::{self, MadeFrom, Surroundings};
use super::saved::SavedPractice;
use crate::bridge::wake::Wake;
use crate::engine::practising::PracticeAsk;
use guidehand_practice::{Drill, Exercise, Record, Time};
use std::fmt;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::SystemTime;

/// So many drills are remembered, so that late answers find theirs.
const DRILLS: usize = 4;

/// What the panel reads of practice.
#[derive(Clone, Debug, Default)]
pub struct ReadPractice {
    /// Counts what has changed in it.
    pub edition: u64,
    /// What the player has chosen.
    pub exercise: Arc<Exercise>,
    /// What has been asked and answered.
    pub record: Arc<Record>,
    /// The drill that is made of them, once it is made.
    pub drill: Option<Arc<Drill>>,
    /// Why there is no drill, or what of the exercise cannot be asked, in a sentence.
    pub told: Option<String>,
}

/// Tells what a drill depends on; none while practice is not in force, unless one is wanted all the same.
type LookUp = dyn Fn(bool) -> Option<Surroundings> + Send + Sync;
/// Wakes the worker; false if there is none.
type Ring = dyn Fn() -> bool + Send + Sync;
/// Tells the time of day.
type Calendar = dyn Fn() -> Time + Send + Sync;

/// What the lock of a cell guards.
struct Inner {
    read: ReadPractice,
    saved: SavedPractice,
    made_from: Option<MadeFrom>,
    /// How many drills have been made.
    number: u64,
    /// The drills that were made last, the newest last.
    drills: Vec<Arc<Drill>>,
    /// A drill is wanted although practice is not in force: its page is open.
    wanted: bool,
    /// The next drill begins at once.
    begins: bool,
    /// A drill is being made.
    making: bool,
    line: Line,
}

/// One instance's practice, as its threads share it.
struct Shared {
    inner: Mutex<Inner>,
    look_up: OnceLock<Box<LookUp>>,
    ring: OnceLock<Box<Ring>>,
    calendar: OnceLock<Box<Calendar>>,
    wake: OnceLock<Wake>,
    /// Told when a drill is no longer being made.
    made: Condvar,
    gone: AtomicBool,
}

/// A drill is being made, until this goes.
struct Making<'a>(&'a Shared);

impl Drop for Making<'_> {
    fn drop(&mut self) {
        self.0.lock().making = false;
        self.0.made.notify_all();
    }
}

/// The exercise and the record of one instance, and the way to the audio thread.
pub struct PracticeCell {
    shared: Arc<Shared>,
}

/// The worker's end of a cell.
#[derive(Clone)]
pub struct PracticeWork {
    shared: Arc<Shared>,
}

impl fmt::Debug for PracticeCell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("PracticeCell").finish_non_exhaustive()
    }
}

impl Default for PracticeCell {
    /// A cell whose lessons nobody takes.
    fn default() -> PracticeCell {
        PracticeCell::new().0
    }
}

impl Inner {
    /// Answers come into the record.
    fn take_answers(&mut self, now: impl Fn() -> Time) {
        while let Some(answered) = self.line.answer() {
            let drills = &self.drills;
            let drill = drills.iter().find(|drill| drill.number == answered.drill);
            let Some((cell, from)) = drill.and_then(|drill| drill.cells(&answered)) else {
                continue;
            };
            let record = Arc::make_mut(&mut self.read.record);
            if let Err(full) = record.add(&answered, cell, from, now()) {
                self.read.told = Some(full.to_string());
            }
            self.read.edition += 1;
        }
    }
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn now(&self) -> Time {
        match self.calendar.get() {
            Some(calendar) => calendar(),
            None => SystemTime::now().into(),
        }
    }

    /// Answers come into the record, and lessons that have come back are freed.
    fn receive(&self) -> MutexGuard<'_, Inner> {
        let mut inner = self.lock();
        inner.take_answers(|| self.now());
        inner.line.flush();
        inner
    }

    /// Makes the drill anew if it is wanted and no longer what the exercise says; false if there was
    /// nothing to do.
    fn step(&self) -> bool {
        let wanted = self.receive().wanted;
        let here = self.look_up.get().and_then(|look_up| look_up(wanted));
        let Some(here) = here else {
            return false;
        };
        let mut inner = self.lock();
        let Some(from) = MadeFrom::new(&inner.read.exercise, &here) else {
            return false;
        };
        if inner.making || !inner.begins && inner.made_from.as_ref() == Some(&from) {
            return false;
        }
        inner.making = true;
        let making = Making(self);
        inner.number += 1;
        let begins = std::mem::take(&mut inner.begins);
        let number = inner.number;
        let (exercise, record) = (inner.read.exercise.clone(), inner.read.record.clone());
        drop(inner);
        let made = making::make(number, &exercise, &here, &record, self.now());
        let mut inner = self.lock();
        inner.made_from = Some(from);
        inner.read.edition += 1;
        inner.read.told = made.told.clone();
        inner.read.drill = made.drill();
        if let (Some(drill), Some(lesson)) = (made.drill(), made.lesson) {
            inner.drills.push(drill);
            if inner.drills.len() > DRILLS {
                inner.drills.remove(0);
            }
            inner.line.send(Sent { lesson, begins });
        }
        drop(inner);
        drop(making);
        if let Some(wake) = self.wake.get().filter(|_| begins) {
            wake.ask();
        }
        true
    }

    /// Makes the drill, if it is wanted and is no longer what the exercise says. One that another thread
    /// is making may be of an older exercise, so it is waited for first.
    fn settle(&self) {
        while !self.step() {
            let inner = self.lock();
            if !inner.making {
                return;
            }
            let waited = self.made.wait_while(inner, |inner| inner.making);
            drop(waited);
        }
    }
}

impl PracticeCell {
    /// A cell with an exercise that is chosen at first, and the receiver for lessons.
    #[must_use]
    pub fn new() -> (PracticeCell, LessonReceiver) {
        let (line, receiver) = line::line();
        let inner = Inner {
            read: ReadPractice {
                edition: 0,
                exercise: Arc::default(),
                record: Arc::default(),
                drill: None,
                told: None,
            },
            saved: SavedPractice::default(),
            made_from: None,
            number: 0,
            drills: Vec::new(),
            wanted: false,
            begins: false,
            making: false,
            line,
        };
        let shared = Arc::new(Shared {
            inner: Mutex::new(inner),
            look_up: OnceLock::new(),
            ring: OnceLock::new(),
            calendar: OnceLock::new(),
            wake: OnceLock::new(),
            made: Condvar::new(),
            gone: AtomicBool::new(false),
        });
        (PracticeCell { shared }, receiver)
    }

    /// Tells the cell where to look up what a drill depends on. `now` is told whether a drill is wanted
    /// although practice is not in force, and returns none if it is not needed.
    pub fn look_up(&self, now: impl Fn(bool) -> Option<Surroundings> + Send + Sync + 'static) {
        // Set once, right after the parameters are made.
        let _set_before = self.shared.look_up.set(Box::new(now));
    }

    /// Tells the cell how to wake the worker; `ring` returns false if there is none. Without a worker a
    /// drill is made before the call returns that wants it.
    pub fn on_edit(&self, ring: impl Fn() -> bool + Send + Sync + 'static) {
        let _set_before = self.shared.ring.set(Box::new(ring));
    }

    /// The host is asked by this to process when practice is to begin.
    pub fn set_wake(&self, wake: Wake) {
        let _set_before = self.shared.wake.set(wake);
    }

    /// The worker's end.
    #[must_use]
    pub fn work(&self) -> PracticeWork {
        PracticeWork {
            shared: self.shared.clone(),
        }
    }

    /// What there is to read of practice. Who reads it wants a drill, so one is made from now on.
    #[must_use]
    pub fn read(&self) -> ReadPractice {
        let mut inner = self.shared.receive();
        let wanted = std::mem::replace(&mut inner.wanted, true);
        let read = inner.read.clone();
        drop(inner);
        if !wanted {
            self.edited();
        }
        read
    }

    /// The player chooses another exercise.
    pub fn set_exercise(&self, exercise: Exercise) {
        let mut inner = self.shared.lock();
        if *inner.read.exercise == exercise {
            return;
        }
        inner.read.edition += 1;
        inner.read.exercise = Arc::new(exercise);
        drop(inner);
        self.edited();
    }

    /// Puts what is made of the record in its place, with every answer that was given before. Nothing
    /// happens if nothing is made of it. Returns the record before and the one after.
    pub fn change_record(
        &self,
        change: impl FnOnce(&Arc<Record>) -> Option<Record>,
    ) -> Option<(Arc<Record>, Arc<Record>)> {
        let mut inner = self.shared.receive();
        let after = Arc::new(change(&inner.read.record)?);
        inner.read.edition += 1;
        let before = std::mem::replace(&mut inner.read.record, after.clone());
        Some((before, after))
    }

    /// The player asks something of the drill that runs. Practice begins with a drill that is made anew,
    /// from the record as it then is.
    pub fn ask(&self, ask: PracticeAsk) {
        let mut inner = self.shared.receive();
        if ask == PracticeAsk::Begin {
            (inner.begins, inner.wanted) = (true, true);
            drop(inner);
            self.edited();
        } else {
            if ask == PracticeAsk::End {
                inner.begins = false;
            }
            // Nobody listens where the host processes nothing, and nothing runs there.
            let _heard = inner.line.ask(ask);
        }
    }

    /// Takes over what was saved. A drill is made before this returns if practice is in force: hosts
    /// render right after.
    pub fn load(&self, saved: SavedPractice) {
        let mut inner = self.shared.receive();
        inner.read.edition += 1;
        inner.read.exercise = Arc::new(saved.exercise.clone());
        inner.read.record = Arc::new(saved.record.clone());
        inner.saved = saved;
        drop(inner);
        self.settle();
    }

    /// Practice as it is saved, with every answer that was given before.
    #[must_use]
    pub fn saved(&self) -> SavedPractice {
        let inner = self.shared.receive();
        SavedPractice {
            exercise: (*inner.read.exercise).clone(),
            record: (*inner.read.record).clone(),
            ..inner.saved.clone()
        }
    }

    /// Makes the drill before this returns, if it is wanted and is no longer what the exercise says.
    pub fn settle(&self) {
        self.shared.settle();
    }

    /// Wakes the worker, or does its work where there is none.
    fn edited(&self) {
        if !self.shared.ring.get().is_some_and(|ring| ring()) {
            self.settle();
        }
    }
}

impl Drop for PracticeCell {
    fn drop(&mut self) {
        self.shared.gone.store(true, Ordering::Release);
    }
}

impl PracticeWork {
    /// Whether the instance is gone.
    #[must_use]
    pub fn is_gone(&self) -> bool {
        self.shared.gone.load(Ordering::Acquire)
    }

    /// Whether both are ends of the same cell.
    #[must_use]
    pub fn is_of(&self, other: &PracticeWork) -> bool {
        Arc::ptr_eq(&self.shared, &other.shared)
    }

    /// Takes in answers, and makes a drill if one is wanted; false if none was made.
    pub fn step(&self) -> bool {
        !self.is_gone() && self.shared.step()
    }
}

#[cfg(test)]
impl PracticeCell {
    /// Puts another record in the place of the one that is kept.
    pub fn set_record(&self, record: Record) {
        self.change_record(|_| Some(record));
    }

    /// Puts all that there is to read, for tests of those who read it.
    pub fn put(&self, read: ReadPractice) {
        self.shared.lock().read = read;
    }

    /// The drill, for a test that wants none.
    pub fn shared_drill(&self) -> Option<Arc<Drill>> {
        self.shared.lock().read.drill.clone()
    }

    /// How many answers have been recorded, for a test that takes none in.
    pub fn recorded(&self) -> u32 {
        self.shared.lock().read.record.total().asked
    }

    /// Lets it be another time.
    pub fn set_calendar(&self, now: impl Fn() -> Time + Send + Sync + 'static) {
        let _set_before = self.shared.calendar.set(Box::new(now));
    }
}
