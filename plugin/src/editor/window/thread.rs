//! The ends of a window's threads. The toolkit (baseview 0.4.2) runs a window on X11 on a thread of
//! its own, which starts another one for the clipboard, and does not wait for them. A process that
//! ends while one of them is still in the graphics driver or in its own end crashes. So whoever
//! closes a window waits here: its threads bear a name of their own, and Linux tells of a thread
//! until it has ended, destructors and all. Elsewhere windows have no threads, and there is
//! nothing to wait for. The window's thread names itself, and the host's main thread waits;
//! `window`, `app` and `waker` import it.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use std::thread;
use std::time::{Duration, Instant};

/// How long a host waits for threads at most. None is known to take longer.
const LONGEST: Duration = Duration::from_secs(2);
/// The time between two looks.
const PAUSE: Duration = Duration::from_millis(1);

/// How many windows this process has opened; it wraps.
static WINDOWS: AtomicU32 = AtomicU32::new(0);

/// The name that the threads of one window share.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Family(String);

impl Family {
    /// A name that no other window has. Linux has room for 15 bytes.
    #[must_use]
    pub fn new() -> Family {
        let window = WINDOWS.fetch_add(1, Ordering::Relaxed) & 0xf_ffff;
        Family(format!("guidehand-{window:05x}"))
    }

    /// The name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.0
    }

    /// Gives this thread the name. The threads that it starts without a name inherit it.
    pub fn join(&self) {
        // Where the system has no such names, nobody waits for them.
        let _named = fs::write("/proc/thread-self/comm", &self.0);
    }
}

/// A thread of this process, as the system tells of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SystemThread {
    folder: PathBuf,
    name: String,
}

/// All threads of this process; none where the system does not tell.
#[must_use]
pub fn all() -> Vec<SystemThread> {
    let tasks = fs::read_dir("/proc/self/task").into_iter().flatten();
    let told = tasks.flatten().filter_map(|task| told(task.path()));
    told.collect()
}

fn told(folder: PathBuf) -> Option<SystemThread> {
    let name = fs::read_to_string(folder.join("comm")).ok()?;
    let name = name.trim().to_owned();
    Some(SystemThread { folder, name })
}

/// Waits until no thread of a window is left, when it is dropped.
pub struct EndsOf(pub Family);

impl Drop for EndsOf {
    fn drop(&mut self) {
        wait_while(|| all().iter().any(|thread| thread.name == self.0.0));
    }
}

/// Waits for the end of a window that has not come far enough to name its threads: for the threads
/// that are there now and were not there before, and that bear the name of the one that started
/// them, which is this one.
pub fn await_unnamed(before: &[SystemThread]) {
    let Some(this) = told(Path::new("/proc/thread-self").to_owned()) else {
        return;
    };
    let is_known = |thread: &SystemThread| before.iter().any(|b| b.folder == thread.folder);
    let mut new = all();
    new.retain(|thread| thread.name == this.name && !is_known(thread));
    wait_while(|| new.iter().any(|thread| thread.folder.exists()));
}

/// Waits while something is so, but no longer than a moment.
fn wait_while(is_so: impl Fn() -> bool) {
    let start = Instant::now();
    while is_so() && start.elapsed() < LONGEST {
        thread::sleep(PAUSE);
    }
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;
    use std::sync::mpsc;

    fn count(family: &Family) -> usize {
        all().iter().filter(|t| t.name == family.name()).count()
    }

    #[test]
    fn a_family_is_waited_for_with_what_it_has_started() {
        let family = Family::new();
        assert_ne!(family, Family::new());
        assert_eq!(family.name().len(), 15);
        let (tell, told) = mpsc::channel();
        let (end, ends) = mpsc::channel::<()>();
        let this = family.clone();
        // Dropping its handle leaves a thread to itself.
        drop(thread::spawn(move || {
            this.join();
            drop(thread::spawn(move || {
                tell.send(()).unwrap();
                let _ended = ends.recv();
            }));
        }));
        told.recv().unwrap();
        assert!(count(&family) > 0);
        drop(end);
        drop(EndsOf(family.clone()));
        assert_eq!(count(&family), 0);
    }

    #[test]
    fn a_thread_without_a_name_is_waited_for() {
        let before = all();
        let (end, ends) = mpsc::channel::<()>();
        drop(thread::spawn(move || ends.recv()));
        drop(end);
        await_unnamed(&before);
        let new = all().into_iter().filter(|t| !before.contains(t));
        let this = told(Path::new("/proc/thread-self").to_owned()).unwrap();
        assert_eq!(
            new.filter(|t| t.name == this.name && t.folder != this.folder)
                .count(),
            0
        );
    }
}
