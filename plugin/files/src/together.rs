//! Several files that take their places all or none. Any thread that may wait for a disk. Imports
//! `beside`.

use crate::beside::Beside;
use std::fs;
use std::io;
use std::path::PathBuf;
use tempfile::TempPath;

/// Gives all of the files their names, or none.
///
/// # Errors
/// The file that cannot take its place, and why. The others are as they were.
pub fn take_places(files: Vec<Beside>) -> Result<(), (PathBuf, io::Error)> {
    let mut kept = Vec::new();
    for file in &files {
        let old = file.keep_old();
        kept.push(old.map_err(|error| (file.path().to_owned(), error))?);
    }
    let mut done: Vec<(PathBuf, Option<TempPath>)> = Vec::new();
    for (file, old) in files.into_iter().zip(kept) {
        let path = file.path().to_owned();
        if let Err(error) = file.take_place() {
            for (path, old) in done {
                // What cannot be brought back even now is left as it is.
                let _restored = match old {
                    Some(old) => old.persist(&path).map_err(|failed| failed.error),
                    None => fs::remove_file(&path),
                };
            }
            return Err((path, error));
        }
        done.push((path, old));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;
    use std::path::Path;
    use tempfile::TempDir;

    /// A file with new contents beside the one at a path.
    fn beside(path: &Path) -> Beside {
        let old = fs::metadata(path).ok().map(|old| old.permissions());
        let mut file = Beside::of(path, old).unwrap();
        file.file().write_all(b"new").unwrap();
        file.finish().unwrap();
        file
    }

    fn names(folder: &TempDir) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> = entries
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn all_files_take_their_places() {
        let folder = tempfile::tempdir().unwrap();
        let [old, new] = ["old", "new"].map(|name| folder.path().join(name));
        fs::write(&old, "before").unwrap();
        take_places(vec![beside(&old), beside(&new)]).unwrap();
        assert_eq!(fs::read(&old).unwrap(), b"new");
        assert_eq!(fs::read(&new).unwrap(), b"new");
        assert_eq!(names(&folder), ["new", "old"]);
    }

    /// The last file cannot take its place, because another program has taken the name.
    #[test]
    fn no_file_takes_its_place_if_one_cannot() {
        let folder = tempfile::tempdir().unwrap();
        let [old, new, taken] = ["old", "new", "taken"].map(|name| folder.path().join(name));
        fs::write(&old, "before").unwrap();
        let files = vec![beside(&old), beside(&new), beside(&taken)];
        fs::write(&taken, "theirs").unwrap();
        let (path, error) = take_places(files).unwrap_err();
        assert_eq!(
            (path, error.kind()),
            (taken.clone(), io::ErrorKind::AlreadyExists)
        );
        assert_eq!(fs::read(&old).unwrap(), b"before");
        assert_eq!(fs::read(&taken).unwrap(), b"theirs");
        assert_eq!(names(&folder), ["old", "taken"]);
    }

    #[test]
    fn a_file_that_takes_no_place_goes() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("old");
        fs::write(&path, "before").unwrap();
        drop(beside(&path));
        assert_eq!(fs::read(&path).unwrap(), b"before");
        assert_eq!(names(&folder), ["old"]);
    }
}
