//! One file that is written beside the one that it becomes. Any thread that may wait for a disk;
//! `together` imports it.

use std::fs::{self, File, Permissions};
use std::io;
use std::path::{Path, PathBuf};
use tempfile::{Builder, NamedTempFile, TempPath};

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
    pub(crate) fn keep_old(&self) -> io::Result<Option<TempPath>> {
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
