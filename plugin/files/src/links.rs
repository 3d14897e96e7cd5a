//! Paths behind symbolic links. Any thread that may wait for a disk. Imports nothing of the crate.

use std::fs;
use std::path::{Path, PathBuf};

/// The longest chain of symbolic links that is followed, as in Linux (`path_resolution(7)`).
const MOST_LINKS: usize = 40;

/// The file that a path of symbolic links leads to, whether or not it is there. A longer chain
/// stays a link, which the system then refuses to open.
#[must_use]
pub fn followed(path: &Path) -> PathBuf {
    let mut path = path.to_owned();
    for _ in 0..MOST_LINKS {
        let Ok(target) = fs::read_link(&path) else {
            break;
        };
        path = path.parent().unwrap_or(Path::new("")).join(target);
    }
    path
}
