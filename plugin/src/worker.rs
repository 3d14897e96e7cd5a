//! The worker reads and plans charts and makes drills on a thread of its own, one for all instances in a
//! process. An edit wakes it at once. Ten times a second it also looks for a changed register, pinned key
//! or texture, for a text that comes into force since typing has rested, and for answers that are to be
//! recorded. The audio thread never wakes it, since that would be a system call. The thread ends with the
//! last instance. Imports `bridge` and `guard`; `editor` and `host` import it.
//!
//! The textures in use come first, in all instances. The others are planned only after a pause
//! in editing, because the next edit would make them worthless and would have to wait for them.

use crate::bridge::chart::{ChartCell, ChartWork, Depth};
use crate::bridge::practice::{PracticeCell, PracticeWork};
use crate::guard;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

/// How often the worker looks at the parameters and at the clock. Until it finds new parameters the
/// nearest voicings serve.
const INTERVAL: Duration = Duration::from_millis(100);

/// The pause after an edit before textures are planned that are not in use.
const PAUSE: Duration = Duration::from_millis(200);

/// The worker of this process.
static WORKER: Worker = Worker::new();

/// Reads and plans the chart of an instance and makes its drills from now on, as long as the instance
/// lives. A second call for the same instance changes nothing.
pub fn watch(chart: &ChartCell, practice: &PracticeCell) {
    WORKER.watch(chart);
    WORKER.watch_practice(practice);
}

struct Worker {
    watched: Mutex<Watched>,
    woken: Condvar,
}

struct Watched {
    charts: Vec<ChartWork>,
    practices: Vec<PracticeWork>,
    /// The thread runs.
    runs: bool,
    /// Something has been edited since the thread last looked.
    edited: bool,
    /// When something was last edited.
    edited_at: Option<Instant>,
}

impl Worker {
    const fn new() -> Worker {
        Worker {
            watched: Mutex::new(Watched {
                charts: Vec::new(),
                practices: Vec::new(),
                runs: false,
                edited: false,
                edited_at: None,
            }),
            woken: Condvar::new(),
        }
    }

    fn lock(&self) -> MutexGuard<'_, Watched> {
        self.watched.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn watch(&'static self, cell: &ChartCell) {
        let work = cell.work();
        let mut watched = self.lock();
        if watched.charts.iter().any(|other| other.is_of(&work)) {
            return;
        }
        watched.charts.push(work);
        self.wake(watched);
        cell.on_edit(move || self.wake(self.lock()));
    }

    /// The thread lives as long as there are charts, and every instance has one.
    fn watch_practice(&'static self, cell: &PracticeCell) {
        let work = cell.work();
        let mut watched = self.lock();
        if watched.practices.iter().any(|other| other.is_of(&work)) {
            return;
        }
        watched.practices.push(work);
        drop(watched);
        cell.on_edit(move || self.wake(self.lock()));
    }

    /// Wakes the thread, and starts it if it does not run. Returns false if it cannot be started.
    /// Then the caller does the work itself, and the next edit tries again.
    fn wake(&'static self, mut watched: MutexGuard<'_, Watched>) -> bool {
        watched.edited = true;
        watched.edited_at = Some(Instant::now());
        if !watched.runs && !watched.charts.is_empty() {
            let thread = thread::Builder::new().name("guidehand-worker".to_owned());
            watched.runs = thread.spawn(|| self.run()).is_ok();
        }
        self.woken.notify_one();
        watched.runs
    }

    fn run(&self) {
        while let Some((charts, practices, depth)) = self.living() {
            if !work(&charts, &practices, depth) {
                self.rest();
            }
        }
    }

    /// The charts and the practice of the living instances, and how much of the charts is to be planned
    /// now. None if there are no instances; the thread then ends.
    fn living(&self) -> Option<(Vec<ChartWork>, Vec<PracticeWork>, Depth)> {
        let mut watched = self.lock();
        watched.charts.retain(|chart| !chart.is_gone());
        watched.practices.retain(|practice| !practice.is_gone());
        watched.runs = !watched.charts.is_empty();
        watched.edited = false;
        let pauses = watched.edited_at.is_none_or(|at| at.elapsed() >= PAUSE);
        let depth = if pauses { Depth::All } else { Depth::InUse };
        let work = || (watched.charts.clone(), watched.practices.clone(), depth);
        watched.runs.then(work)
    }

    /// Waits for an edit, or for the next look.
    fn rest(&self) {
        let watched = self.lock();
        let rested = self
            .woken
            .wait_timeout_while(watched, INTERVAL, |watched| !watched.edited);
        drop(rested);
    }
}

/// Does one piece of work for each instance that has to read a text, plan the texture in use or make a
/// drill. If there is no such instance, does one piece of work for one instance, to the given depth.
/// Returns false if there was nothing to do.
fn work(charts: &[ChartWork], practices: &[PracticeWork], depth: Depth) -> bool {
    // One instance that fails must not end the work for the others.
    let step = |chart: &ChartWork, depth| guard::guarded(|| chart.step(depth)) == Some(true);
    let in_use = charts.iter().filter(|chart| step(chart, Depth::InUse));
    let in_use = in_use.count();
    let practises = |practice: &&PracticeWork| guard::guarded(|| practice.step()) == Some(true);
    let drills = practices.iter().filter(practises).count();
    in_use + drills > 0 || charts.iter().any(|chart| step(chart, depth))
}

#[cfg(test)]
mod tests;
