//! A job on a thread of its own, from the panel that asks for it, and its result back: one value
//! behind a lock that is held for moments only. A pair of ends is made for each job, not by
//! `ends`. `disk` and the panel's model import it.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// The end of the panel. Whoever drops it no longer waits for the job.
#[derive(Debug)]
pub struct Asked<T>(Arc<Mutex<Stage<T>>>);

/// The end of the thread. A job that is dropped before its end has failed.
#[derive(Debug)]
pub struct Doing<T>(Arc<Mutex<Stage<T>>>);

/// How far a job is.
#[derive(Debug)]
enum Stage<T> {
    /// It can be cancelled.
    UnderWay,
    /// It does what cannot be taken back.
    LastStep,
    /// It must not do anything more.
    Cancelled,
    /// What came of it. None if it failed, or if the result was taken.
    Ended(Option<T>),
}

/// Both ends of a job.
#[must_use]
pub fn channel<T>() -> (Asked<T>, Doing<T>) {
    let stage = Arc::new(Mutex::new(Stage::UnderWay));
    (Asked(stage.clone()), Doing(stage))
}

fn lock<T>(stage: &Mutex<Stage<T>>) -> MutexGuard<'_, Stage<T>> {
    stage.lock().unwrap_or_else(PoisonError::into_inner)
}

impl<T> Asked<T> {
    /// Whether the job is over.
    #[must_use]
    pub fn has_ended(&self) -> bool {
        matches!(*lock(&self.0), Stage::Ended(_))
    }

    /// Takes the result of a job that is over; none if it failed.
    pub fn take(self) -> Option<T> {
        match &mut *lock(&self.0) {
            Stage::Ended(result) => result.take(),
            Stage::UnderWay | Stage::LastStep | Stage::Cancelled => None,
        }
    }

    /// Cancels the job. Returns false if it was too late: then the job does, or has done, what
    /// cannot be taken back.
    #[must_use]
    pub fn cancel(self) -> bool {
        let mut stage = lock(&self.0);
        let in_time = matches!(*stage, Stage::UnderWay);
        if in_time {
            *stage = Stage::Cancelled;
        }
        in_time
    }
}

impl<T> Doing<T> {
    /// Whether someone cancelled the job.
    #[must_use]
    pub fn is_cancelled(&self) -> bool {
        matches!(*lock(&self.0), Stage::Cancelled)
    }

    /// Whether someone still waits for the result.
    #[must_use]
    pub fn is_awaited(&self) -> bool {
        Arc::strong_count(&self.0) > 1 && !self.is_cancelled()
    }

    /// Tells that what follows cannot be taken back. Returns false if the job has been cancelled.
    #[must_use]
    pub fn begin_last_step(&self) -> bool {
        let mut stage = lock(&self.0);
        let goes_on = !matches!(*stage, Stage::Cancelled);
        if goes_on {
            *stage = Stage::LastStep;
        }
        goes_on
    }

    /// The job is over, with this result.
    pub fn end(self, result: T) {
        let mut stage = lock(&self.0);
        if !matches!(*stage, Stage::Cancelled) {
            *stage = Stage::Ended(Some(result));
        }
    }
}

impl<T> Drop for Doing<T> {
    fn drop(&mut self) {
        let mut stage = lock(&self.0);
        if matches!(*stage, Stage::UnderWay | Stage::LastStep) {
            *stage = Stage::Ended(None);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_result_is_taken_once_the_job_is_over() {
        let (asked, doing) = channel();
        assert!(!asked.has_ended());
        assert!(doing.is_awaited());
        doing.end(7);
        assert!(asked.has_ended());
        assert_eq!(asked.take(), Some(7));
    }

    #[test]
    fn a_job_that_is_dropped_has_failed() {
        let (asked, doing) = channel::<u8>();
        drop(doing);
        assert!(asked.has_ended());
        assert_eq!(asked.take(), None);
    }

    #[test]
    fn a_job_is_cancelled_before_its_last_step_only() {
        let (asked, doing) = channel::<u8>();
        assert!(asked.cancel());
        assert!(doing.is_cancelled());
        assert!(!doing.is_awaited());
        assert!(!doing.begin_last_step());
        doing.end(1);

        let (asked, doing) = channel::<u8>();
        assert!(doing.begin_last_step());
        assert!(!asked.cancel());
        assert!(!doing.is_cancelled());
        assert!(!doing.is_awaited(), "nobody waits any more");

        let (asked, doing) = channel();
        doing.end(1);
        assert!(!asked.cancel(), "it is over");
    }

    #[test]
    fn a_job_hears_that_nobody_waits() {
        let (asked, doing) = channel::<u8>();
        drop(asked);
        assert!(!doing.is_awaited());
        assert!(!doing.is_cancelled());
        assert!(doing.begin_last_step(), "it may still be finished");
    }
}
