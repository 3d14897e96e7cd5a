//! The threads of this process, as the system tells of them. Imports nothing of the crate.

use std::collections::BTreeMap;
use std::fs;

/// Parts of the names of threads that Mesa's drivers run. They end with their window's thread, but
/// the system may tell of them for a moment longer.
const DRIVERS: [&str; 5] = ["llvmpipe-", ":disk$", ":sh", ":gl", ":gdrv"];

/// The threads of this process by their numbers, with their names, but for the graphics driver's.
/// None where the system does not tell.
#[must_use]
pub fn all() -> BTreeMap<u32, String> {
    let tasks = fs::read_dir("/proc/self/task").into_iter().flatten();
    let named = tasks.flatten().filter_map(|task| {
        let number = task.file_name().to_str()?.parse().ok()?;
        let name = fs::read_to_string(task.path().join("comm")).ok()?;
        Some((number, name.trim().to_owned()))
    });
    let is_ours = |name: &str| DRIVERS.iter().all(|part| !name.contains(part));
    named.filter(|(_, name)| is_ours(name)).collect()
}

/// The threads that there are now and that were not there before.
#[must_use]
pub fn more_than(before: &BTreeMap<u32, String>) -> BTreeMap<u32, String> {
    let mut now = all();
    now.retain(|number, _| !before.contains_key(number));
    now
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;
    use std::sync::mpsc;
    use std::thread;

    #[test]
    fn a_new_thread_is_told_by_its_name() {
        let before = all();
        let (end, ends) = mpsc::channel::<()>();
        let one = thread::Builder::new().name("just-for-this".to_owned());
        let (begin, begun) = mpsc::channel();
        let live = move || {
            begin.send(()).unwrap();
            ends.recv()
        };
        let one = one.spawn(live).unwrap();
        // A thread names itself before it does anything else.
        begun.recv().unwrap();
        let named = more_than(&before).into_values();
        assert_eq!(named.filter(|name| name == "just-for-this").count(), 1);
        drop(end);
        one.join().unwrap().unwrap_err();
    }
}
