//! What the cell and the worker share, and the work itself: reading and planning. Neither is done
//! under the lock. The worker's thread runs them, or whoever waits for the result. `cell` imports
//! it.

use super::inner::{Inner, Task};
use super::progress::{Depth, Planner};
use super::read;
use crate::engine::settings::{PlanFor, Shapes};
use crate::guard;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::Instant;

/// Tells what to plan for, and the shapes in use.
pub type LookUp = dyn Fn() -> (PlanFor, Shapes) + Send + Sync;
/// Wakes the worker; false if there is none.
pub type Ring = dyn Fn() -> bool + Send + Sync;
/// Tells the time.
pub type Watch = dyn Fn() -> Instant + Send + Sync;

/// One instance's chart, as its threads share it.
pub struct Shared {
    pub inner: Mutex<Inner>,
    /// A texture has been planned.
    pub planned: Condvar,
    pub plan: Box<Planner>,
    /// Tells what to plan for, and the shapes in use.
    pub plan_for_now: OnceLock<Box<LookUp>>,
    /// Wakes the worker; false if there is none.
    pub ring: OnceLock<Box<Ring>>,
    /// Tells the time in tests. Without it the system does.
    pub watch: OnceLock<Box<Watch>>,
    /// The instance is gone, and no work is left to do for it.
    pub gone: AtomicBool,
}

impl Shared {
    pub fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What time it is.
    pub fn now(&self) -> Instant {
        self.watch.get().map_or_else(Instant::now, |watch| watch())
    }

    /// Looks up what to plan for. This is done under the lock, so that the later of two callers
    /// has the newer values.
    fn look(&self, inner: &mut Inner) {
        if let Some(now) = self.plan_for_now.get() {
            (inner.progress.plan_for, inner.progress.in_use) = now();
        }
        inner.progress.flush();
    }

    /// Does one piece of work, and releases the lock meanwhile.
    fn run(&self, mut inner: MutexGuard<'_, Inner>, task: Task) {
        match task {
            Task::Read(unread) => {
                drop(inner);
                let reading = read::read(&unread);
                let outdated = self.lock().take(reading);
                drop(outdated);
            }
            Task::Plan(step) => {
                inner.planning = true;
                drop(inner);
                // A chart whose planning panics must not end the worker.
                let planned = guard::guarded(|| step.run(&*self.plan));
                let mut inner = self.lock();
                inner.planning = false;
                inner.put(&step, planned);
                drop(inner);
                self.planned.notify_all();
            }
        }
    }

    /// Reads the text, if it has not been read.
    pub fn read_text(&self) {
        loop {
            let inner = self.lock();
            let Some(unread) = inner.unread() else { return };
            self.run(inner, Task::Read(unread));
        }
    }

    /// Reads the text, and plans its chart in all textures. A text that is still being typed comes
    /// into force. Waits for a texture that another thread is planning.
    pub fn settle(&self) {
        self.lock().finish();
        loop {
            let mut inner = self.lock();
            self.look(&mut inner);
            let Some(task) = inner.next(Depth::All) else {
                return;
            };
            if inner.planning && matches!(task, Task::Plan(_)) {
                let waited = self.planned.wait_while(inner, |inner| inner.planning);
                drop(waited);
            } else {
                self.run(inner, task);
            }
        }
    }
}

/// The worker's end.
#[derive(Clone)]
pub struct ChartWork {
    shared: Arc<Shared>,
}

impl ChartWork {
    pub fn new(shared: Arc<Shared>) -> ChartWork {
        ChartWork { shared }
    }

    /// Whether both are ends of the same cell.
    #[must_use]
    pub fn is_of(&self, other: &ChartWork) -> bool {
        Arc::ptr_eq(&self.shared, &other.shared)
    }

    /// Whether the instance is gone.
    #[must_use]
    pub fn is_gone(&self) -> bool {
        self.shared.gone.load(Ordering::Acquire)
    }

    /// Does one piece of work, if there is any: reads a text, or plans a texture. Returns false if
    /// there was nothing to do. While another thread plans for this cell, planning is left to it.
    /// A text that has been typed comes into force first, if typing has rested.
    pub fn step(&self, depth: Depth) -> bool {
        if self.is_gone() {
            return false;
        }
        let mut inner = self.shared.lock();
        self.shared.look(&mut inner);
        inner.rest(self.shared.now());
        match inner.next(depth) {
            Some(task) if !inner.planning || matches!(task, Task::Read(_)) => {
                self.shared.run(inner, task);
                true
            }
            _ => false,
        }
    }
}
