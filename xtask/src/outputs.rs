//! The files that a command writes, all of them or none. It imports no other file of this crate;
//! the commands that write what a user names import it.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail, ensure};
use guidehand_files::{Beside, followed, take_places};

/// Files with their contents.
#[derive(Debug, Default)]
pub struct Outputs {
    files: Vec<(PathBuf, Vec<u8>)>,
}

impl Outputs {
    /// Adds a file.
    pub fn add(&mut self, path: &Path, bytes: Vec<u8>) {
        self.files.push((path.to_owned(), bytes));
    }

    /// Writes the files, and makes the folders for them. Files that are there are replaced, all
    /// or none: if one cannot be written, the others are as they were. A pipe or a device is
    /// written to directly, when everything else is on the disk.
    pub fn write(self) -> Result<()> {
        let mut files = Vec::new();
        let mut direct = Vec::new();
        let mut taken = BTreeSet::new();
        for (path, bytes) in &self.files {
            let cannot = || format!("cannot write {}", path.display());
            ensure!(
                path.file_name().is_some(),
                "cannot write {path:?}: expected the name of a file"
            );
            match fs::metadata(path) {
                Ok(old) if old.is_dir() => bail!("{}: it is a folder", cannot()),
                Ok(old) if !old.is_file() => direct.push((path, bytes)),
                old => {
                    let target = followed(path);
                    make_room(&target)?;
                    ensure!(
                        taken.insert(place(&target).with_context(cannot)?),
                        "{}: it is asked for twice",
                        cannot()
                    );
                    let old = old.ok().map(|old| old.permissions());
                    let put = || {
                        let mut file = Beside::of(&target, old)?;
                        file.file().write_all(bytes)?;
                        file.finish()?;
                        Ok::<Beside, io::Error>(file)
                    };
                    files.push(put().with_context(cannot)?);
                }
            }
        }
        for (path, bytes) in direct {
            fs::write(path, bytes).with_context(|| format!("cannot write {}", path.display()))?;
        }
        take_places(files).or_else(|(path, error)| {
            Err(error).with_context(|| format!("cannot write {}", path.display()))
        })
    }
}

/// Writes one file, see [`Outputs::write`].
pub fn save(path: &Path, bytes: Vec<u8>) -> Result<()> {
    let mut outputs = Outputs::default();
    outputs.add(path, bytes);
    outputs.write()
}

/// The one path of a file whose folder is there.
fn place(path: &Path) -> io::Result<PathBuf> {
    let folder = path.parent();
    let folder = folder.filter(|folder| !folder.as_os_str().is_empty());
    let folder = fs::canonicalize(folder.unwrap_or(Path::new(".")))?;
    Ok(folder.join(path.file_name().unwrap_or_default()))
}

fn make_room(path: &Path) -> Result<()> {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => {
            fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))
        }
        _ => Ok(()),
    }
}
