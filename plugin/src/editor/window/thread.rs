//! The end of a window's thread. The toolkit (baseview 0.4.2) runs a window on X11 on a thread of
//! its own, and does not wait for it if it stops soon enough. A process that ends while the thread
//! is still in the graphics driver crashes. So whoever closes a window waits here. Linux tells of
//! a thread until it has ended, destructors and all. Elsewhere windows have no threads, and there
//! is nothing to wait for. The host's main thread; `window` and `app` import it.

use std::fs;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

/// How long a host waits for a thread at most. None is known to take longer.
const LONGEST: Duration = Duration::from_secs(2);
/// The time between two looks.
const PAUSE: Duration = Duration::from_millis(1);

/// A thread of this process, as the system names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SystemThread(PathBuf);

/// The thread that asks; nothing where the system does not tell.
#[must_use]
pub fn current() -> Option<SystemThread> {
    let name = fs::read_link("/proc/thread-self").ok()?;
    Some(SystemThread(Path::new("/proc").join(name)))
}

/// All threads of this process; none where the system does not tell.
#[must_use]
pub fn all() -> Vec<SystemThread> {
    let process = fs::read_link("/proc/self").unwrap_or_default();
    let tasks = fs::read_dir(Path::new("/proc").join(process).join("task"));
    let names = tasks.into_iter().flatten().flatten();
    names.map(|task| SystemThread(task.path())).collect()
}

/// Waits for the ends of threads when it is dropped.
pub struct EndsOf(Vec<SystemThread>);

impl EndsOf {
    /// Of these threads.
    pub fn new(threads: impl IntoIterator<Item = SystemThread>) -> EndsOf {
        EndsOf(threads.into_iter().collect())
    }
}

impl Drop for EndsOf {
    fn drop(&mut self) {
        let start = Instant::now();
        while self.0.iter().any(|thread| thread.0.exists()) && start.elapsed() < LONGEST {
            thread::sleep(PAUSE);
        }
    }
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;
    use std::sync::mpsc;

    #[test]
    fn a_thread_is_told_until_it_has_ended() {
        let (tell, told) = mpsc::channel();
        let (end, ends) = mpsc::channel::<()>();
        let before = all();
        // Dropping its handle leaves a thread to itself.
        drop(thread::spawn(move || {
            tell.send(current()).unwrap();
            let _ended = ends.recv();
        }));
        let one = told.recv().unwrap().unwrap();
        assert!(all().contains(&one) && !before.contains(&one));
        drop(end);
        drop(EndsOf::new([one.clone()]));
        assert!(!all().contains(&one));
    }
}
