//! Files that are replaced whole or not at all: each is written beside the one that it becomes,
//! flushed to the disk, and given its name at the end. So a full disk leaves the old file as it was.
//! Runs on any thread that may wait for a disk. The plugin's `disk` and the commands import it.

#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        clippy::unwrap_used
    )
)]

use std::fs::{self, File, Permissions};
use std::io;
use std::path::{Path, PathBuf};
use tempfile::{Builder, NamedTempFile, TempPath};

/// The longest chain of symbolic links that is followed, as in Linux (`path_resolution(7)`).
const MOST_LINKS: usize = 40;

/// A file that is written beside the one that it becomes. It goes if it does not become one.
#[derive(Debug)]
pub struct Beside {
    part: NamedTempFile,
    path: PathBuf,
    old: Option<Permissions>,
}

impl Beside {
    /// Begins an empty file in the folder of `path`, which is no symbolic link. `old` are the
    /// permissions of the file that it replaces, if there is one.
    ///
    /// # Errors
    /// The folder takes no file.
    pub fn of(path: &Path, old: Option<Permissions>) -> io::Result<Beside> {
        let part = builder(old.as_ref()).tempfile_in(folder(path))?;
        Ok(Beside {
            part,
            path: path.to_owned(),
            old,
        })
    }

    /// The file, to be written to.
    pub fn file(&mut self) -> &mut File {
        self.part.as_file_mut()
    }

    /// The path of the file that it becomes.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Takes over the permissions of the old file, and waits until everything is on the disk.
    ///
    /// # Errors
    /// What the system says.
    pub fn finish(&self) -> io::Result<()> {
        if let Some(permissions) = &self.old {
            self.part.as_file().set_permissions(permissions.clone())?;
        }
        self.part.as_file().sync_all()
    }

    /// Gives it its name, in place of the old file.
    ///
    /// # Errors
    /// What the system says. [`io::ErrorKind::AlreadyExists`] if there was no old file, and another
    /// program has taken the name since.
    pub fn take_place(self) -> io::Result<()> {
        let is_new = self.old.is_none();
        if is_new {
            // An empty file takes the name first, so that no other program's file is replaced.
            File::create_new(&self.path)?;
        }
        self.part.persist(&self.path).map_err(|failed| {
            if is_new {
                // Nobody is told of it where even this fails.
                let _left = fs::remove_file(&self.path);
            }
            failed.error
        })?;
        Ok(())
    }

    /// Keeps the old file under another name, so that it can come back.
    fn keep_old(&self) -> io::Result<Option<TempPath>> {
        if self.old.is_none() {
            return Ok(None);
        }
        let kept = builder(None).make_in(folder(&self.path), |name| {
            // Some file systems know no second name for a file.
            fs::hard_link(&self.path, name).or_else(|error| match error.kind() {
                io::ErrorKind::AlreadyExists => Err(error),
                _ => fs::copy(&self.path, name).map(|_| ()),
            })
        })?;
        Ok(Some(kept.into_temp_path()))
    }
}

/// Gives all of the files their names, or none.
///
/// # Errors
/// The file that cannot take its place, and why. The others are as they were.
pub fn take_places(files: Vec<Beside>) -> Result<(), (PathBuf, io::Error)> {
    let mut kept = Vec::new();
    for file in &files {
        let old = file.keep_old();
        kept.push(old.map_err(|error| (file.path.clone(), error))?);
    }
    let mut done: Vec<(PathBuf, Option<TempPath>)> = Vec::new();
    for (file, old) in files.into_iter().zip(kept) {
        let path = file.path.clone();
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

fn folder(path: &Path) -> &Path {
    let folder = path.parent();
    let folder = folder.filter(|folder| !folder.as_os_str().is_empty());
    folder.unwrap_or(Path::new("."))
}

/// Makes files beside others.
#[cfg_attr(
    not(unix),
    expect(unused_variables, reason = "permissions are set at the end")
)]
fn builder(old: Option<&Permissions>) -> Builder<'static, 'static> {
    let mut builder = Builder::new();
    builder.prefix(".guidehand-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // The system takes away what new files of this process do not allow.
        let new = Permissions::from_mode(0o666);
        builder.permissions(old.cloned().unwrap_or(new));
    }
    builder
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;
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
