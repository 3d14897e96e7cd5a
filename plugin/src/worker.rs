//! Plans charts anew when the register or a pinned key has changed, whoever
//! changed it. Imports `guard` and `params`.
//!
//! One thread for all instances in a process looks a few times a second; it ends
//! with the last instance. The audio thread has no part in it: to wake somebody
//! would be a system call.

use crate::guard;
use crate::params::GuidehandParams;
use std::sync::{Arc, Mutex, PoisonError, Weak};
use std::thread;
use std::time::Duration;

/// How often it looks. Until then the nearest voicings serve.
const INTERVAL: Duration = Duration::from_millis(100);

struct Watched {
    params: Vec<Weak<GuidehandParams>>,
    /// The thread is there.
    runs: bool,
}

static WATCHED: Mutex<Watched> = Mutex::new(Watched {
    params: Vec::new(),
    runs: false,
});

/// Looks after an instance from now on, as long as it lives. To be called when it
/// is activated; more than once does no harm.
pub fn watch(params: &Arc<GuidehandParams>) {
    let mut watched = WATCHED.lock().unwrap_or_else(PoisonError::into_inner);
    let weak = Arc::downgrade(params);
    if watched.params.iter().any(|other| other.ptr_eq(&weak)) {
        return;
    }
    watched.params.push(weak);
    if !watched.runs {
        let thread = thread::Builder::new().name("guidehand-planner".to_owned());
        // Without a thread the next activation plans, as does a loaded state.
        watched.runs = thread.spawn(run).is_ok();
    }
}

fn run() {
    loop {
        thread::sleep(INTERVAL);
        let living: Vec<Arc<GuidehandParams>> = {
            let mut watched = WATCHED.lock().unwrap_or_else(PoisonError::into_inner);
            watched.params.retain(|params| params.strong_count() > 0);
            if watched.params.is_empty() {
                watched.runs = false;
                return;
            }
            watched.params.iter().filter_map(Weak::upgrade).collect()
        };
        for params in living {
            // One instance that fails must not end the planning of the others.
            let _failed = guard::guarded(|| params.chart.plan_for(|| params.plan_for()));
        }
    }
}
