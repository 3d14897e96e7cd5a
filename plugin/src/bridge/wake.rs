//! Asks the host to process, from any thread. A host may let a plugin sleep, and what the panel wants
//! to be heard is only heard where blocks are played. The entry of a format makes it, where hosts can
//! be asked; `audition` and `host` import it.

use std::fmt;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// A call to the host.
type Call = Box<dyn Fn() + Send>;

/// Asks the host of one instance to process, as long as there is that host. Without one it does
/// nothing. The audio thread never uses it.
#[derive(Clone, Default)]
pub struct Wake(Arc<Mutex<Option<Call>>>);

impl Wake {
    /// Asks by this call, which may come from any thread.
    #[must_use]
    pub fn new(call: impl Fn() + Send + 'static) -> Wake {
        Wake(Arc::new(Mutex::new(Some(Box::new(call)))))
    }

    /// Asks the host to process.
    pub fn ask(&self) {
        if let Some(call) = &*self.call() {
            call();
        }
    }

    /// The host is no longer to be asked. A call that is under way ends first.
    pub fn forget(&self) {
        *self.call() = None;
    }

    fn call(&self) -> MutexGuard<'_, Option<Call>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl fmt::Debug for Wake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Wake").finish_non_exhaustive()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicU32, Ordering};

    #[test]
    fn a_host_is_asked_until_it_is_forgotten() {
        let asked = Arc::new(AtomicU32::new(0));
        let counts = asked.clone();
        let wake = Wake::new(move || {
            counts.fetch_add(1, Ordering::Relaxed);
        });
        let shared = wake.clone();
        wake.ask();
        shared.ask();
        assert_eq!(asked.load(Ordering::Relaxed), 2);
        wake.forget();
        shared.ask();
        assert_eq!(asked.load(Ordering::Relaxed), 2);
        Wake::default().ask();
    }
}
