//! Where the text of a source file comes from: the repository, or a test that plants it.
//! Paths start at the root of the repository and have slashes on every system.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use walkdir::WalkDir;

/// The files that a crate is read from.
pub enum Sources {
    /// The repository under this folder.
    Disk(PathBuf),
    /// The files of a test.
    Planted(BTreeMap<String, String>),
}

impl Sources {
    /// This repository.
    pub fn of_the_repository() -> Self {
        Self::Disk(Path::new(env!("CARGO_MANIFEST_DIR")).join(".."))
    }

    /// Files that a test makes up, as path and text.
    pub fn planted(files: &[(&str, &str)]) -> Self {
        let own = |&(path, text): &(&str, &str)| (path.to_owned(), text.to_owned());
        Self::Planted(files.iter().map(own).collect())
    }

    /// The text of a file, if there is such a file.
    pub fn text(&self, path: &str) -> Option<String> {
        match self {
            Self::Disk(root) => fs::read_to_string(root.join(path)).ok(),
            Self::Planted(files) => files.get(path).cloned(),
        }
    }

    /// The Rust files under a folder, sorted.
    pub fn under(&self, folder: &str) -> Vec<String> {
        match self {
            Self::Disk(root) => {
                let entries = WalkDir::new(root.join(folder)).sort_by_file_name();
                let paths = entries
                    .into_iter()
                    .map(|e| e.expect("an entry").into_path());
                let names = paths.map(|path| {
                    let path = path.strip_prefix(root).expect("a path under the root");
                    path.to_str().expect("a name in Unicode").replace('\\', "/")
                });
                names.filter(|name| name.ends_with(".rs")).collect()
            }
            Self::Planted(files) => {
                let inside = |path: &&String| {
                    let rest = path.strip_prefix(folder);
                    rest.is_some_and(|rest| rest.starts_with('/')) && path.ends_with(".rs")
                };
                files.keys().filter(inside).cloned().collect()
            }
        }
    }
}

/// Takes `.` and `..` out of a path.
pub fn plain(path: &str) -> String {
    let mut parts: Vec<&str> = Vec::new();
    for part in path.split('/') {
        match part {
            "." | "" => {}
            ".." => drop(parts.pop()),
            _ => parts.push(part),
        }
    }
    parts.join("/")
}

/// The folder that holds a file.
pub fn folder(path: &str) -> &str {
    path.rsplit_once('/').map_or("", |(folder, _)| folder)
}
