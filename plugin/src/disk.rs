//! Files are read and written on threads of their own, one for each job, because a slow disk
//! must hold up neither the panel nor the worker that plans charts. So are the dialogs in which a
//! player picks a file. Nobody waits for such a thread: where the system or the player does not
//! answer, it is left behind, and its result is dropped.
//! Imports `bridge` and `guard`; the panel's model and `editor/window/outside` import it.

pub mod dialog;
pub mod file;
#[cfg(all(test, target_os = "linux"))]
pub mod lease;

use crate::guard;
use std::fmt;
use std::io;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// The most threads of this kind in a process. More than one at a time is rare: a panel has one
/// job at a time, and those that it cancelled end unless the system does not answer.
const MOST: usize = 8;

/// The threads of this process.
static THREADS: Threads = Threads::new(MOST);

/// The same for dialogs, which may stay open for hours and must keep no file from being read.
static DIALOGS: Threads = Threads::new(MOST);

/// Work on a thread of its own.
pub type Work = Box<dyn FnOnce() + Send>;

/// Why work was not begun.
#[derive(Debug)]
pub enum NotBegun {
    /// So many others are under way.
    TooMany(usize),
    /// So many other dialogs are open.
    TooManyDialogs(usize),
    /// The system gives no thread.
    NoThread(io::Error),
}

impl fmt::Display for NotBegun {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotBegun::TooMany(others) => write!(
                f,
                "the system has not answered for {others} other files yet; try again when it has"
            ),
            NotBegun::TooManyDialogs(others) => write!(
                f,
                "{others} other file dialogs have not been answered yet; close one of them first"
            ),
            NotBegun::NoThread(error) => write!(f, "the system gives no thread: {error}"),
        }
    }
}

/// Begins work on a thread of its own.
///
/// # Errors
/// Too many such threads are at work, or the system gives none.
pub fn begin(work: Work) -> Result<(), NotBegun> {
    THREADS.begin(work)
}

/// Begins to ask a player on a thread of its own.
///
/// # Errors
/// Too many dialogs are open, or the system gives no thread.
pub fn begin_dialog(work: Work) -> Result<(), NotBegun> {
    DIALOGS.begin(work).map_err(|error| match error {
        NotBegun::TooMany(others) => NotBegun::TooManyDialogs(others),
        other => other,
    })
}

/// Counts threads.
struct Threads {
    running: AtomicUsize,
    most: usize,
}

/// The place of a thread, which it gives back at its end.
struct Place(&'static Threads);

impl Threads {
    const fn new(most: usize) -> Threads {
        Threads {
            running: AtomicUsize::new(0),
            most,
        }
    }

    fn begin(&'static self, work: Work) -> Result<(), NotBegun> {
        let place = self.place()?;
        let thread = thread::Builder::new().name("guidehand-file".to_owned());
        let run = move || {
            let _place = place;
            // Whoever waits for the result hears that there is none.
            let _done = guard::guarded(work);
        };
        thread.spawn(run).map_err(NotBegun::NoThread)?;
        Ok(())
    }

    fn place(&'static self) -> Result<Place, NotBegun> {
        let one_more = |running| (running < self.most).then_some(running + 1);
        self.running
            .fetch_update(Ordering::AcqRel, Ordering::Acquire, one_more)
            .map_err(NotBegun::TooMany)?;
        Ok(Place(self))
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        self.0.running.fetch_sub(1, Ordering::AcqRel);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc;

    /// Work that lasts until its sender is dropped.
    fn stuck() -> (mpsc::Sender<()>, Work) {
        let (release, held) = mpsc::channel::<()>();
        let work = move || {
            let _released = held.recv();
        };
        (release, Box::new(work))
    }

    #[test]
    fn threads_that_are_stuck_are_left_behind_up_to_a_number() {
        static FEW: Threads = Threads::new(2);
        let (one, first) = stuck();
        let (two, second) = stuck();
        FEW.begin(first).unwrap();
        FEW.begin(second).unwrap();
        let refused = FEW.begin(Box::new(|| ())).unwrap_err();
        assert!(refused.to_string().contains("2 other files"), "{refused}");
        drop(one);
        while FEW.running.load(Ordering::Acquire) > 1 {
            thread::yield_now();
        }
        let (told, done) = mpsc::channel();
        FEW.begin(Box::new(move || told.send(()).unwrap())).unwrap();
        done.recv().unwrap();
        drop(two);
    }

    #[test]
    fn work_that_panics_gives_its_place_back() {
        static ONE: Threads = Threads::new(1);
        ONE.begin(Box::new(|| panic!("on purpose"))).unwrap();
        while ONE.running.load(Ordering::Acquire) > 0 {
            thread::yield_now();
        }
        ONE.begin(Box::new(|| ())).unwrap();
    }
}
