//! The worker: it reads and plans charts on a thread of its own, one for all instances in a
//! process. It does so at once when a text is edited, and looks ten times a second whether a
//! register, a pinned key or a texture has changed, whoever changed it. The audio thread has
//! no part in it: to wake somebody would be a system call. The thread ends with the last
//! instance.
//!
//! What is in use comes first, in all instances. The other textures are planned once nobody
//! edits any more, so that no edit waits for one that it makes worthless. Imports `bridge` and `guard`; `editor` and `host` import it.

use crate::bridge::chart::{ChartCell, ChartWork, Depth};
use crate::guard;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

/// How often it looks at the parameters. Until then the nearest voicings serve.
const INTERVAL: Duration = Duration::from_millis(100);

/// The pause after an edit before textures are planned that are not in use.
const PAUSE: Duration = Duration::from_millis(200);

/// The worker of this process.
static WORKER: Worker = Worker::new();

/// Looks after an instance from now on, as long as it lives. More than once does no harm.
pub fn watch(cell: &ChartCell) {
    WORKER.watch(cell);
}

struct Worker {
    watched: Mutex<Watched>,
    woken: Condvar,
}

struct Watched {
    charts: Vec<ChartWork>,
    /// The thread is there.
    runs: bool,
    /// Something has been edited since the thread last looked.
    rung: bool,
    /// When something was edited last.
    rung_at: Option<Instant>,
}

impl Worker {
    const fn new() -> Worker {
        Worker {
            watched: Mutex::new(Watched {
                charts: Vec::new(),
                runs: false,
                rung: false,
                rung_at: None,
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

    /// Wakes the thread, and starts it if it is not there; false if that fails. Then whoever
    /// edits does the work, and a later edit tries again.
    fn wake(&'static self, mut watched: MutexGuard<'_, Watched>) -> bool {
        watched.rung = true;
        watched.rung_at = Some(Instant::now());
        if !watched.runs && !watched.charts.is_empty() {
            let thread = thread::Builder::new().name("guidehand-worker".to_owned());
            watched.runs = thread.spawn(|| self.run()).is_ok();
        }
        self.woken.notify_one();
        watched.runs
    }

    fn run(&self) {
        while let Some((charts, depth)) = self.living() {
            if !work(&charts, depth) {
                self.rest();
            }
        }
    }

    /// The charts of the instances that live, and how much is to be planned of them now. None
    /// ends the thread.
    fn living(&self) -> Option<(Vec<ChartWork>, Depth)> {
        let mut watched = self.lock();
        watched.charts.retain(|chart| !chart.is_gone());
        watched.runs = !watched.charts.is_empty();
        watched.rung = false;
        let pauses = watched.rung_at.is_none_or(|at| at.elapsed() >= PAUSE);
        let depth = if pauses { Depth::All } else { Depth::InUse };
        watched.runs.then(|| (watched.charts.clone(), depth))
    }

    /// Waits for an edit, or for the next look.
    fn rest(&self) {
        let watched = self.lock();
        let rested = self
            .woken
            .wait_timeout_while(watched, INTERVAL, |watched| !watched.rung);
        drop(rested);
    }
}

/// Does a piece of work for each instance where something in use is to be planned. Where there
/// is none, it does one piece of work for one instance, to the given depth. False if there is
/// nothing to do.
fn work(charts: &[ChartWork], depth: Depth) -> bool {
    // One instance that fails must not end the work for the others.
    let step = |chart: &ChartWork, depth| guard::guarded(|| chart.step(depth)) == Some(true);
    let in_use = charts.iter().filter(|chart| step(chart, Depth::InUse));
    in_use.count() > 0 || charts.iter().any(|chart| step(chart, depth))
}

#[cfg(test)]
mod tests;
