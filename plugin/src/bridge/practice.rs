//! Practice between threads: the exercise and the record as they are saved, the drill that is made of
//! them, and what the player asks of a drill that runs. Only `ends` imports its constructor.

pub use crate::engine::practising::PracticeAsk;
use guidehand_practice::{Drill, Exercise, Record};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// What the panel reads of practice.
#[derive(Clone, Debug)]
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

/// The exercise and the record, shared by the host, the panel and the worker. The audio thread does not
/// know its lock.
#[derive(Debug)]
pub struct PracticeCell(Mutex<ReadPractice>);

impl Default for PracticeCell {
    fn default() -> PracticeCell {
        PracticeCell(Mutex::new(ReadPractice {
            edition: 0,
            exercise: Arc::default(),
            record: Arc::default(),
            drill: None,
            told: None,
        }))
    }
}

impl PracticeCell {
    fn lock(&self) -> MutexGuard<'_, ReadPractice> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What there is to read of practice.
    #[must_use]
    pub fn read(&self) -> ReadPractice {
        self.lock().clone()
    }

    /// The player chooses another exercise.
    pub fn set_exercise(&self, exercise: Exercise) {
        let mut practice = self.lock();
        practice.edition += 1;
        practice.exercise = Arc::new(exercise);
    }

    /// Another record takes the place of the one that is kept.
    pub fn set_record(&self, record: Record) {
        let mut practice = self.lock();
        practice.edition += 1;
        practice.record = Arc::new(record);
    }

    /// Puts all that there is to read, for tests of those who read it.
    #[cfg(test)]
    pub fn put(&self, read: ReadPractice) {
        *self.lock() = read;
    }

    /// The player asks something of the drill that runs.
    pub fn ask(&self, _ask: PracticeAsk) {}
}
